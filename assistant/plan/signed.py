"""Who changes something and why, in one line each: no change is kept without."""

from assistant.model.documents.overrides import Reasons
from assistant.model.errors import InputProblems, Problem

LONGEST_TEXT = 500


def checked_words(by: str, reason: str, reasons: Reasons) -> tuple[str, str]:
    """Return who and why in one line each. Raises InputProblems naming the option."""
    for place, text in (("--by", by), ("--reason", reason)):
        if not text.strip() or len(text) > LONGEST_TEXT or not text.isprintable():
            wrong = f"allowed: one line of 1 to {LONGEST_TEXT} printable characters; a change needs its reason"
            raise InputProblems([Problem(place, "bad-text", wrong)])
    if not reasons.tells(reason):
        text = f"`{reason}` tells nobody why; {reasons.wanted}"
        raise InputProblems([Problem("--reason", "empty-reason", text)])
    return " ".join(by.split()), " ".join(reason.split())
