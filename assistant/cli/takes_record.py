"""What the commands take that keep clients for months: the record, the log, the check-in; servers and who may sign in."""

from assistant.cli.options import (
    ALONE,
    BY,
    CLIENT,
    DATES,
    DB,
    EITHER,
    ENGINE,
    HOUSE,
    LOOPBACK,
    ON_RECORD,
    OUT,
    QUIET,
    RECORD,
    RULES,
    USUAL_PORT,
    WITH_RECORD,
    Command,
    Commands,
    count,
    file,
    form,
    option,
    switch,
)

WHICH_LOG = file("--log", "which log (default: in your own data folder)")
_OVERRIDE = (
    CLIENT,
    option("--line", "line of the plan, e.g. food.protein", metavar="LINE"),
    option("--to", "the new value, in SI units", metavar="VALUE"),
    option("--until", "last day it counts (default: until withdrawn)", metavar="DATE"),
    switch("--list", "what is changed by hand, and whether it holds today"),
    option("--withdraw", "take back the change of this number", type=int, metavar="N"),
    BY,
    option("--reason", "why; with it and --by the change is kept", default=""),
    *ON_RECORD,
)
_DECIDE = (
    CLIENT,
    option("--set-aside", "a coach sets this caution aside for a while", metavar="FLAG"),
    option("--cleared", "a professional has cleared this flag", metavar="FLAG"),
    option("--role", "as what they decide", default="", metavar="ROLE"),
    option("--until", "last day it counts", metavar="DATE"),
    option("--seen", "answers a professional saw", nargs="+", metavar="FACT=VALUE"),
    switch("--list", "what is decided"),
    option("--withdraw", "take back the decision of this number", type=int, metavar="N"),
    BY,
    option("--reason", "why", default=""),
    *ON_RECORD,
)
_CLIENT = {
    "add": (
        "add a client with the answers of a case file",
        "client:run_add",
        (
            option("name", metavar="NAME"),
            file("--case", "case file (YAML)", "CASE", required=True),
            BY,
            *ON_RECORD,
        ),
    ),
    "update": (
        "take in new answers, and make the plan again",
        "client:run_update",
        (CLIENT, file("--case", "case file (YAML)", "CASE"), BY, *ON_RECORD),
    ),
    "plan": (
        "the version of the plan that runs, and what changed when",
        "client_plan:run_plan",
        (
            CLIENT,
            switch("--history", "all versions with date, who and why"),
            option("--between", "two versions", nargs=2, type=int, metavar=("ONE", "OTHER")),
            switch("--imperial", "show pounds and inches"),
            *ON_RECORD,
        ),
    ),
    "away": (
        "travel, a holiday or an illness: what the week is then",
        "client_away:run_away",
        (
            CLIENT,
            option("kind", nargs="?", choices=("travel", "holiday", "ill")),
            option("--since", "first day", metavar="DATE"),
            option("--until", "last day (default: the first)", metavar="DATE"),
            option("--equipment", "what is there on travel, e.g. bands_home", metavar="KIT"),
            switch("--withdraw", "take back the one that begins on --since"),
            BY,
            *ON_RECORD,
        ),
    ),
    "override": (
        "change a line of the plan by hand, until it is withdrawn",
        "client_override:run_override",
        _OVERRIDE,
    ),
    "decide": (
        "a person's decision about a warning, with its reason",
        "client_decide:run_decide",
        _DECIDE,
    ),
    "list": ("who is in the record", "client:run_list", RECORD),
    "show": ("what stands in the record of a client", "client:run_show", (CLIENT, *RECORD)),
    "export": (
        "everything held about a client, as JSON",
        "client:run_export",
        (
            CLIENT,
            file("--out", "a new file (default: print it)"),
            switch("--case", "a case file of what stands answered, decided and wished"),
            *ON_RECORD,
        ),
    ),
    "forget": (
        "take a client out for good, also from backups",
        "client:run_forget",
        (CLIENT, switch("--yes", "do not ask"), *RECORD),
    ),
    "check": ("whether the history is what was written", "client:run_check", RECORD),
}
_LOG = {
    "list": (
        "one line for each past decision",
        "log:run_list",
        (WHICH_LOG, option("--name", "only this client's decisions", metavar="NAME")),
    ),
    "show": (
        "one past decision in full",
        "log:run_show",
        (WHICH_LOG, count("number", "its number in the log"), RULES),
    ),
    "verify": (
        "look for anything changed after it was written",
        "log:run_verify",
        (WHICH_LOG, option("--head", "as printed under a plan", metavar="SEQ:HASH")),
    ),
    "replay": (
        "make every past decision again and tell what moves",
        "log:run_replay",
        (
            WHICH_LOG,
            file("--rules", "with another rule book", "DIR"),
            file("--house", "with other settings of your own"),
            file("--was", "the rule book of then, to name what was edited since", "DIR"),
            ENGINE,
            count("--only", "one decision, with all its changes"),
            switch("--week", "solve the sessions again too (seconds each)"),
            QUIET,
        ),
    ),
    "override": (
        "write down a change of one line, with its reason",
        "log:run_override",
        (
            WHICH_LOG,
            count("number", "number of the decision"),
            option("--line", "line of the plan, e.g. food.protein", required=True),
            option("--to", "the new value, in SI units", required=True, metavar="VALUE"),
            option("--by", "who decides, by role", required=True, metavar="WHO"),
            option("--reason", "why", required=True),
            RULES,
        ),
    ),
    "report": (
        "over many clients: how often rules fire, what is changed by hand and why, who was seen",
        "log_report:run",
        (WHICH_LOG, WITH_RECORD, form("text", "csv", "html"), OUT, RULES, HOUSE),
    ),
}
_NAME = option("name", metavar="NAME")
_PRINT = switch("--print-password", "make a password and print it once")

_NAME = option("name", metavar="NAME")
_PRINT = switch("--print-password", "make a password and print it once")
_TEAM = {
    "add": (
        "let somebody sign in",
        "team:run_add",
        (
            _NAME,
            option(
                "--role", "what they may see", choices=("client", "coach", "trainer"), required=True
            ),
            option("--client", "for the role client: whose record", metavar="CLIENT"),
            _PRINT,
            *RECORD,
        ),
    ),
    "list": ("who may sign in", "team:run_list", RECORD),
    "remove": ("take an account away", "team:run_remove", (_NAME, *RECORD)),
    "password": ("set a new password", "team:run_password", (_NAME, _PRINT, *RECORD)),
}


_REACH = (
    option(
        "--port",
        f"where it listens (default: {USUAL_PORT}); 0 for any free one",
        type=int,
        metavar="N",
    ),
    switch("--team", "for several people: accounts, links for clients; needs PostgreSQL"),
    option("--host", "with --team: address to listen at", default=LOOPBACK, metavar="ADDRESS"),
    file("--tls-cert", "with --team: certificate of the server"),
    file("--tls-key", "with --team: key of the certificate"),
    option(
        "--server-name",
        "with --tls-cert: its name, and :PORT where browsers see another",
        metavar="HOSTNAME",
    ),
    option("--behind-proxy", "with --team: name that your TLS proxy serves", metavar="HOSTNAME"),
)

COMMANDS: dict[str, Command | Commands] = {
    "checkin": (
        "take in weights, sessions, lifts and the rest",
        "checkin:run",
        (
            CLIENT,
            file("--from", "read a table: CSV, a workbook, YAML or JSON", "FILE", dest="file"),
            switch("--imperial", "plain numbers are lb and in"),
            ALONE,
            DATES,
            switch("--keep", "where the record says otherwise, it stays", EITHER),
            switch("--replace", "where the record says otherwise, the file counts", EITHER),
            switch("--sure", "values that were asked about are right"),
            switch("--partly", "take what is clear, leave the lines told about"),
            *ON_RECORD,
        ),
    ),
    "today": (
        "who needs the coach first, and why",
        "today:run",
        (
            switch("--all", "also clients without a reason"),
            option("--format", choices=("text", "json"), default="text"),
            RULES,
            HOUSE,
            *RECORD,
        ),
    ),
    "serve": (
        "the same in a browser, on this machine or for a team",
        "serve:run",
        (
            switch("--self", "one client at home, with a record of their own", dest="alone"),
            *_REACH,
            switch("--no-browser", "print the link only"),
            option("--language", "of a client's pages, e.g. de", default="en", metavar="CODE"),
            switch("--imperial", "pounds and inches"),
            option(
                "--name", "who you are; written beside what you change", default="", metavar="WHO"
            ),
            file(
                "--folder", "where drafts and the PIN are kept (default: your data folder)", "DIR"
            ),
            DB,
            option("--as-of", "day that counts as today", metavar="DATE"),
            RULES,
            file("--house", "your own settings; the first number you set makes the file"),
            file("--log", "the decision log that a head trainer may look at"),
        ),
    ),
    "client": Commands("keep clients: add, list, show, export, forget", "WHAT", _CLIENT),
    "log": Commands("the decision log: past plans, checked and made again", "COMMAND", _LOG),
    "team": Commands("who may sign in to a team's server", "COMMAND", _TEAM),
}
