"""`whyplan man`: the manual page, from what the commands say they take."""

import argparse
from collections.abc import Iterable, Iterator

from assistant import __version__
from assistant.cli.options import EITHER, Command, Commands, Option
from assistant.cli.registry import ABOUT, CAUTION, COMMANDS, EXIT_CODES

_ENVIRONMENT = {
    "XDG_DATA_HOME": "The folder in which the folder `whyplan` with all that is a user's own lies; "
    "`whyplan where` names each file in it.",
    "XDG_CACHE_HOME": "The same for what can be made again.",
    "NO_COLOR": "If it is set and not empty, nothing is coloured.",
    "PGPASSWORD": "The password of a record on PostgreSQL, so that it stands in no command; so do the "
    "other variables of libpq.",
}


def run(_: argparse.Namespace) -> int:
    """Print the page."""
    print("\n".join(page()))
    return 0


def page() -> Iterator[str]:
    """Give the lines of the page, as roff."""
    yield f'.TH WHYPLAN 1 "" "whyplan {__version__}" "User commands"'
    yield ".ad l"

    yield from (".SH NAME", f"whyplan \\- {_said(ABOUT)}")
    yield from (".SH SYNOPSIS", ".B whyplan", ".I COMMAND", "\\&.\\|.\\|.", ".br")
    yield ".B whyplan \\-\\-version"
    yield from (".SH DESCRIPTION", _said(CAUTION))
    yield "Every command takes \\fB\\-h\\fR (\\fB\\-\\-help\\fR)."
    yield ".SH COMMANDS"
    for name, command in COMMANDS.items():
        yield from _command(f"whyplan {name}", command)
    yield from (".SH EXIT STATUS", *_listed((str(code), what) for code, what in EXIT_CODES.items()))
    yield from (".SH ENVIRONMENT", *_listed(_ENVIRONMENT.items()))


def _command(name: str, command: Command | Commands) -> Iterator[str]:
    if not isinstance(command, Commands):
        about, _, options = command
        yield from (f'.SS "{_typed(name)}"', _said(about[:1].upper() + about[1:] + "."))
        for group in dict.fromkeys(each.group for each in options):
            if group not in {"", EITHER}:
                yield from (".PP", _said(f"{group}:"))
            its = (each for each in options if each.group == group)
            yield from _listed((_invocation(each), each.settings["help"] or "") for each in its)
        return
    for kind, its_own in command.kinds.items():
        words = [name, *(str(each.settings.get("metavar")) for each in command.first), kind]
        yield from _command(" ".join(words), its_own)


def _invocation(each: Option) -> str:
    """Return an option as it is typed, with what follows it."""
    settings = each.settings
    if settings.get("action") == "store_true":
        return each.flag
    named = settings.get("metavar") or each.flag.lstrip("-").upper()
    if settings.get("choices") and not settings.get("metavar"):
        named = "{" + ",".join(settings["choices"]) + "}"
    one = " ".join(named) if isinstance(named, tuple) else str(named)
    many = {"?": f"[{one}]", "*": f"[{one} ...]", "+": f"{one} ..."}.get(
        str(settings.get("nargs")), one
    )
    return f"{each.flag} {many}" if each.flag.startswith("-") else many


def _listed(rows: Iterable[tuple[str, str]]) -> Iterator[str]:
    for term, text in rows:
        yield from (".TP", f".B {_typed(term)}", _said(text))


def _typed(text: str) -> str:
    """Return words to be typed as they stand: a roff hyphen is no minus."""
    return _said(text).replace("-", "\\-")


def _said(text: str) -> str:
    """Return a sentence that roff reads as no request."""
    plain = text.replace("\\", "\\e").replace('"', "\\(dq").replace("`", "\\(cq")
    return f"\\&{plain}" if plain[:1] in {".", "'", ""} else plain
