"""What the commands take that read, check, try and send out the rule book, or tell of the program itself."""

from pathlib import Path

from assistant.cli.options import (
    DB,
    HOUSE,
    ON_RECORD,
    OUT,
    PERSON,
    QUIET,
    RULES,
    RUN,
    WITH_RECORD,
    Command,
    Commands,
    count,
    file,
    form,
    option,
    switch,
)

_CHECKS = [
    "schema",
    "conflicts",
    "lint",
    "laws",
    "tests",
    "coverage",
    "mutation",
    "reachability",
    "engines",
    "sensitivity",
    "direction",
    "evidence",
    "against",
]
_SEVERITIES = ("stop", "withhold", "caution", "inform")
_ANSWERS = ("number", "integer", "boolean", "choice", "choices", "date", "text")
_SCHEMAS = [
    "plan",
    "attention",
    "book",
    "calendar",
    "check",
    "checkin",
    "exchange",
    "exercises",
    "facts",
    "figures",
    "flag",
    "flags",
    "grades",
    "how_to",
    "how_to_said",
    "language",
    "limits",
    "message",
    "muscles",
    "overrides",
    "parameters",
    "pose",
    "programme",
    "proportions",
    "questions",
    "reviews",
    "rule",
    "sources",
    "table",
    "wording",
]
_HOUSE = file("--house")
_WITH_NAME = switch("--with-name", "send the client's name along")
_NEW = (
    "begin a rule, a flag, an exercise or a question",
    "rules_new:run_new",
    (
        option(
            "kind",
            "rule, flag, exercise or question",
            choices=("rule", "flag", "exercise", "question"),
            metavar="KIND",
        ),
        option("name", "e.g. VOL-140, sore_thumb, row_ring, client.naps", metavar="NAME"),
        option("--reads", "may repeat", action="append", default=[], metavar="FACT"),
        option("--stage", "of a rule: the stage it runs in, also its folder"),
        option("--title", "of a rule", default=""),
        option("--sets", "of a rule: the fact it concludes", metavar="FACT"),
        option("--calculate", "of a rule: the calculator that works it out", metavar="NAME"),
        option("--severity", "of a flag", choices=_SEVERITIES),
        option("--pattern", "of an exercise: its movement pattern", metavar="PATTERN"),
        option("--section", "of a question: where it is asked"),
        option("--type", "of an answer", default="boolean", choices=_ANSWERS),
        option(
            "--tier", "of a safety answer: what its silence costs", choices=("A", "B", "C", "free")
        ),
        RULES,
    ),
)

_TRY = (
    option("file", "a rule, a decision table, a flag, a list of numbers, or a house's own folder", type=Path, metavar="FILE"),
    file("--cases", "folder of case files", "DIR"),
    WITH_RECORD,
    file("--log", "the plans of a decision log, too"),
    RULES,
    HOUSE,
    QUIET,
)  # fmt: skip
_RULES = {
    "list": (
        "one line for each rule and number",
        "rules:run_list",
        (
            option(
                "text", "in ids, titles and texts; or ids by 'SCR-*'", nargs="?", metavar="TEXT"
            ),
            option("--stage", "only rules of this stage"),
            option("--grade", "only rules of this certainty"),
            option("--reads", "only rules that read this fact", metavar="FACT"),
            option("--sets", "only rules that conclude this fact", metavar="FACT"),
            option("--source", "only rules that cite this source", metavar="ID"),
            RULES,
            _HOUSE,
        ),
    ),
    "show": ("a rule as a card", "rules:run_show", (option("rule", metavar="ID"), RULES, _HOUSE)),
    "new": _NEW,
    "try": (
        "run a rule file beside the book: whose plans would move, how, and what breaks",
        "rules_try:run",
        _TRY,
    ),
    "set": (
        "set a number for this house, within its range",
        "rules:run_set",
        (
            option("parameter", metavar="PARAMETER"),
            option("value", metavar="VALUE", type=float),
            file("--house", "your settings", required=True),
            option("--by", "who sets it", required=True),
            option("--reason", "why", required=True),
            option("--day", "day of the change (default: today)", metavar="DATE"),
            file("--cases", "folder of case files to try", "DIR"),
            switch("--try", "show, write nothing", dest="only_try"),
            RULES,
        ),
    ),
}
_EXCHANGE = {
    "export": (
        "write a case as FHIR, CSV or JSON",
        "exchange:run_export",
        (
            *PERSON,
            option("--to", "form of the file", choices=("fhir", "csv", "json"), required=True),
            option(
                "--what",
                "part to send: fhir all|questions|plan, csv answers|week",
                choices=("all", "answers", "plan", "questions", "week"),
            ),
            _WITH_NAME,
            option("--client-id", "what tells this client from others", metavar="ID"),
            OUT,
            *RUN,
        ),
    ),
    "import": (
        "make a case of a FHIR or CSV file",
        "exchange:run_import",
        (
            file("file", "file from elsewhere"),
            option("--from", "its form", dest="form", choices=("fhir", "csv"), required=True),
            file("--out", "case file to make", "CASE", required=True),
            option("--name", "the client's name (default: the file's)", metavar="NAME"),
            option("--as-of", "day of the answers (default: the file's)", metavar="DATE"),
            RULES,
        ),
    ),
    "measures": (
        "weights and girths of a client's record, as FHIR",
        "exchange:run_measures",
        (option("client", "name in the record", metavar="CLIENT"), _WITH_NAME, OUT, *ON_RECORD),
    ),
    "rules": (
        "the rules of each stage with their sources, as FHIR",
        "exchange:run_rules",
        (OUT, RULES, HOUSE),
    ),
    "dmn": (
        "the book's decision tables as DMN 1.3",
        "exchange:run_dmn",
        (
            option(
                "table", "a table's id (default: all)", nargs="?", default="all", metavar="TABLE"
            ),
            OUT,
            option("--as-of", "day whose numbers count", metavar="DATE"),
            RULES,
            HOUSE,
        ),
    ),
}

COMMANDS: dict[str, Command | Commands] = {
    "check": (
        "check the rule book itself",
        "check:run",
        (
            option("--only", f"only these checks: {', '.join(_CHECKS)}", metavar="CHECK,..."),
            form("text", "json", "sarif"),
            option(
                "--rule",
                "only the tests of this rule and how sharp they are; also a pattern such as 'SCR-*'",
                action="append",
                metavar="ID",
            ),
            RULES,
            file("--house", "your own numbers, or your folder over the book", "PATH"),
            file("--against", "compare with this rule book", "DIR"),
            file("--cases", "folder of case files", "DIR"),
            file("--on", "the cases of a batch in place of case files and people", "PARTS"),
            count(
                "--people",
                "how many invented people (default: 3000; 10000 for a proof)",
                3000,
            ),
            count("--first", "number of the first one", 0),
            QUIET,
        ),
    ),
    "schema": (
        "print the JSON Schema of plans or of rule files",
        "schema:run",
        (option("name", "what to describe", choices=_SCHEMAS), RULES, OUT),
    ),
    "mcp": (
        "the rule book for a program that asks (Model Context Protocol)",
        "mcp:run",
        (
            option(
                "who",
                "whom may be asked about: a case file, or a client of the record (default: nobody)",
                nargs="*",
                metavar="CLIENT-OR-CASE",
            ),
            DB,
            RULES,
            HOUSE,
        ),
    ),
    "where": (
        "which files and folders are used, and what moves each",
        "where:run",
        (form("text", "json"), DB, RULES),
    ),
    "completion": (
        "a script by which a shell completes what is typed",
        "completion:run",
        (option("shell", "which shell", choices=("bash", "zsh")),),
    ),
    "man": ("the manual page of all commands, as roff", "man:run", ()),
    "rules": Commands("list, show, begin rules; set a number", "ACTION", _RULES, usual="list"),
    "exchange": Commands(
        "answers and sessions for other programs, and back",
        "export|import|measures|rules|dmn",
        _EXCHANGE,
    ),
}
