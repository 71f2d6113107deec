"""What the commands take that make a plan, its week and what goes with it."""

from pathlib import Path

from assistant.cli.options import (
    ALONE,
    BY,
    DB,
    FOR,
    FULL,
    NO_WEEK,
    ON_RECORD,
    OUT,
    PEOPLE,
    PERSON,
    QUIET,
    RULES,
    RUN,
    SEED,
    Command,
    Commands,
    count,
    file,
    form,
    option,
    record_file,
    switch,
)

_GROUP = "calendar (--format ics)"
_ENGLISH = "en"
_CALENDAR = (
    option("--timezone", "where the client is: Europe/London", _GROUP, metavar="ZONE"),
    option("--time", "when sessions begin, local time", _GROUP, metavar="HH:MM"),
    count("--weeks", "weeks to fill (default: the block)", group=_GROUP),
    file("--replaces", "calendar file of the plan before this one", group=_GROUP),
    option(
        "--client-id",
        "what tells this client from others (default: the name)",
        _GROUP,
        metavar="ID",
    ),
)
_PAGE = (
    file("--out", "write to a file"),
    option(
        "--language",
        "language of the client's page, e.g. de (with --format html --for client)",
        default=_ENGLISH,
        metavar="CODE",
    ),
    *record_file(
        "dated rows of the client's weeks: adds what they call for, and trends on the page"
    ),
)
_WEEK = (
    SEED,
    option("--missed", "what becomes of the week, e.g. tue", metavar="DAY"),
)
_LOG_SHEET = (
    switch("--log-sheet", "the block as a sheet for the client to fill in with a pen"),
    form("text", "html"),
    OUT,
    option("--language", "language of the log sheet, e.g. de", default=_ENGLISH, metavar="CODE"),
)
_LOG = file(
    "--log",
    "write the decision down (default file: in your own data folder)",
    nargs="?",
    const=Path(),
)
_EXERCISE = option("exercise", "id or words of a name", metavar="EXERCISE")
_ON = option("--on", "the day, e.g. mon; more of them as mon,thu", dest="on_day", action="append",
             metavar="DAY")  # fmt: skip
_SETS = option("--sets", "how many sets", type=int, metavar="N")
_NUMBER = option("number", "how many", type=int, metavar="N")
_KEEPING = (
    option("--by", "who changes it; needed to keep it", default="", metavar="WHO"),
    option("--reason", "why, in your words; needed to keep it", default="", metavar="WHY"),
    switch("--repair", "let the rest of the week be arranged anew around it"),
    *ON_RECORD,
)

_EDIT = {
    "replace": (
        "another exercise in its place",
        "edit:run_change",
        (_EXERCISE, option("other", "the one that comes", metavar="OTHER"), _ON, *_KEEPING),
    ),
    "add": ("an exercise more on a day", "edit:run_change", (_EXERCISE, _ON, _SETS, *_KEEPING)),
    "remove": ("leave an exercise out", "edit:run_change", (_EXERCISE, _ON, *_KEEPING)),
    "move": (
        "from one day to another",
        "edit:run_change",
        (_EXERCISE, _ON, option("--to", "the day", dest="to_day", metavar="DAY"), *_KEEPING),
    ),
    "sets": ("how many sets", "edit:run_change", (_EXERCISE, _NUMBER, _ON, *_KEEPING)),
    "repetitions": (
        "from and to how many repetitions, or seconds of a hold",
        "edit:run_change",
        (
            _EXERCISE,
            option("low", "from", type=int, metavar="LOW"),
            option("high", "to", type=int, metavar="HIGH"),
            *_KEEPING,
        ),
    ),
    "order": (
        "its place in the session, from 1",
        "edit:run_change",
        (_EXERCISE, _NUMBER, _ON, *_KEEPING),
    ),
    "pin": (
        "it stays, also in the next blocks",
        "edit:run_change",
        (_EXERCISE, _ON, _SETS, *_KEEPING),
    ),
    "never": ("not again for this client", "edit:run_change", (_EXERCISE, *_KEEPING)),
    "list": ("what is changed by hand", "edit:run_list", ON_RECORD),
    "withdraw": (
        "take a change back, by its number in the list",
        "edit:run_withdraw",
        (option("number", "its number", type=int, metavar="NUMBER"), *_KEEPING),
    ),
}
COMMANDS: dict[str, Command | Commands] = {
    "intake": (
        "ask the questions and write a case file",
        "intake:run",
        (
            ALONE,
            switch("--imperial", "start in pounds and inches"),
            file("--answers", "answers from a file; no screen"),
            file("--out", "where the case is written", "CASE.yaml"),
            file("--journal", "where the draft is kept"),
            option(
                "--words",
                "with --self: the four words that open an intake begun before",
                metavar="WORDS",
            ),
            option("--as-of", "day of the case (default: today)", metavar="DATE"),
            option("--name", "name on the case; read by no rule", default="Unnamed"),
            RULES,
            QUIET,
        ),
    ),
    "plan": (
        "print the plan of clients or case files",
        "plan:run",
        (
            *PEOPLE,
            form("text", "json", "html", "ics"),
            FULL,
            NO_WEEK,
            *_WEEK,
            *_PAGE,
            *_CALENDAR,
            FOR,
            *RUN,
            _LOG,
        ),
    ),
    "week": (
        "print the week as sessions",
        "week:run",
        (
            *PERSON,
            option(
                "--about", "why this exercise is in the week, or why it is not", metavar="EXERCISE"
            ),
            *_WEEK,
            *_LOG_SHEET,
            *record_file("dated rows of the client's weeks beside a case file, for the next loads"),
            *RUN,
        ),
    ),
    "review": (
        "what the weeks say, and the one thing to change",
        "review:run",
        (
            *PERSON,
            *record_file(
                "dated rows of weights, food, sets and notes (CSV, a workbook, YAML or JSON)"
            ),
            switch("--message", "a short message to the client instead, to send or to change"),
            option(
                "--language", "language of the message, e.g. de", default=_ENGLISH, metavar="CODE"
            ),
            switch("--accept", "keep what is decided as agreed, in the record"),
            BY,
            option("--reason", "in your words, kept with the plan", default=""),
            FOR,
            *RUN,
        ),
    ),
    "phases": (
        "build, hold and fat loss laid back from the date",
        "phases:run",
        (*PERSON, FOR, *RUN),
    ),
    "referral": ("print a note for the professional", "referral:run", (*PERSON, *RUN)),
    "exercise": (
        "how an exercise is done, as a card",
        "exercise:run",
        (
            option("name", "an id or words of its name", nargs="*", metavar="NAME"),
            option("--deck", "a card for each exercise of this week", metavar="CLIENT-OR-CASE"),
            option("--language", "language of the card, e.g. de", default=_ENGLISH, metavar="CODE"),
            switch("--client", "leave out what is for the coach"),
            form("text", "html"),
            OUT,
            DB,
            *RUN,
        ),
    ),
    "batch": (
        "make the plans of many cases, resumable",
        "batch:run",
        (
            file("cases", "one case a line, as JSON; or the word report", "CASES.jsonl"),
            file("folder", "after report: whose parts are counted", "FOLDER", nargs="?"),
            file("--out", "folder for the plans, as parts in Parquet", "DIR"),
            option(
                "--each", "one file a plan, too, in this form", choices=("text", "json", "html")
            ),
            count(
                "--workers",
                "processes (default: one for each core; 0: this one, with no shelter from a crash)",
            ),
            option("--cluster", "on Dask: a scheduler's address, or local", metavar="ADDRESS"),
            count("--lines", "lines a part (default: 250, with sessions 25)"),
            FULL,
            NO_WEEK,
            SEED,
            option(
                "--seconds-per-case",
                "stop a case that takes longer (default: 600)",
                type=float,
                default=600.0,
                metavar="S",
            ),
            switch("--profile", "say where the time went"),
            FOR,
            *RUN,
        ),
    ),
    "edit": Commands(
        "change the week by hand: see the price, keep it with a reason", "CHANGE", _EDIT, PERSON[:1]
    ),
}
