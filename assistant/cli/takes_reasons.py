"""What the commands take that say why."""

from assistant.cli.options import (
    DB,
    FOR,
    OUT,
    PERSON,
    RUN,
    Command,
    Commands,
    count,
    file,
    form,
    option,
    record_file,
    switch,
)

COMMANDS: dict[str, Command | Commands] = {
    "why": (
        "explain a line or a fact of a plan",
        "why:run",
        (
            *PERSON,
            option(
                "asked",
                "a name from the margin of the plan (food.protein, mon 1), or words: glutes sessions",
                nargs="+",
                metavar="WORDS",
            ),
            switch("--all", "everything, down to answers and sources"),
            FOR,
            *RUN,
        ),
    ),
    "audit": (
        "all that a plan rests on, on one page",
        "audit:run",
        (*PERSON, form("text", "html"), OUT, *record_file("the client's weeks"), *RUN),
    ),
    "evidence": (
        "what a plan, or the whole book, rests on least; what to read next",
        "evidence:run",
        (
            option(
                "who",
                "client in the record, or a case file; without one the whole book",
                nargs="?",
                metavar="CLIENT-OR-CASE",
            ),
            DB,
            file("--cases", "of the book: folder of case files to weigh by", "DIR"),
            count("--most", "of the book: how many to show", 15),
            form("text", "html", "csv"),
            file("--take-back", "table of --format csv that a reviewer filled in, kept in --rules"),
            OUT,
            *RUN,
        ),
    ),
    "why-not": (
        "say why a rule or a value is not in the plan",
        "why_not:run",
        (
            *PERSON,
            option(
                "asked",
                'e.g. FRQ-020[lats], energy.surplus_kcal_per_day, phase.now=build or "barbell row"',
                metavar="RULE|FACT|EXERCISE",
            ),
            option("--on", "of an exercise: the day, e.g. tue", dest="on_day", metavar="DAY"),
            count("--most", "how many rules to show", 4),
            FOR,
            *RUN,
        ),
    ),
    "what-if": (
        "say what a change would make of the plan",
        "what_if:run",
        (
            *PERSON,
            option(
                "changes",
                "e.g. sleep=8h, days+=sat, minutes=45, protein.aim_per_lb=top",
                nargs="*",
                metavar="CHANGE",
            ),
            option("--then-as-of", "the other day", metavar="DATE"),
            file("--then-rules", "the other rule book", "DIR"),
            file("--then-house", "other settings"),
            FOR,
            *RUN,
        ),
    ),
    "flip": (
        "find the smallest change of answers that changes a conclusion",
        "flip:run",
        (
            *PERSON,
            option("fact", "e.g. dose.sessions_per_week[glute_max]", metavar="FACT"),
            option(
                "target",
                "e.g. 3, '>=3', yes, has:lats (default: other)",
                nargs="?",
                metavar="TARGET",
            ),
            count("--most", "most combinations to try", 20_000),
            FOR,
            *RUN,
        ),
    ),
    "picture": (
        "draw how a conclusion came about",
        "picture:run",
        (
            *PERSON,
            option("asked", "e.g. energy.target_kcal_per_day", metavar="LINE-OR-FACT"),
            form("svg", "mermaid", "text"),
            file("--out", "write to a new file"),
            FOR,
            *RUN,
        ),
    ),
}
