"""The nearest known name, for "did you mean"."""

import difflib
from collections.abc import Iterable

MAX_SHOWN = 60


def did_you_mean(name: str, known: Iterable[str], otherwise: str = "") -> str:
    """Return `; did you mean ...?` if some known name is close, else `otherwise`."""
    close = closest(name, known)
    return f"; did you mean `{close[0]}`?" if close else otherwise


def closest(name: str, known: Iterable[str]) -> list[str]:
    """Return the known name that is close, in a list of one, or an empty list."""
    return difflib.get_close_matches(name, sorted(known), n=1, cutoff=0.6)


def shown(value: object) -> str:
    """A value as it stands in a message: short, on one line, in the file's own spelling."""
    if value is True:
        return "true"
    if value is False:
        return "false"
    if value is None:
        return "null"
    text = " ".join(str(value).split())
    return text if len(text) <= MAX_SHOWN else f"{text[:MAX_SHOWN]}…"
