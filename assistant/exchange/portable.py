"""What travels: a person's answers and the day, and the account of what stays at home."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.model.case import Case
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value
from assistant.model.wishes import WeekWishes


@dataclass(frozen=True)
class Portable:
    """Answers of a person on a day. name: empty where it does not travel.

    left_out: one line for each thing that the file lacks, to be told to whoever makes it.
    """

    name: str
    as_of: dt.date
    answers: Mapping[str, Value]
    left_out: tuple[str, ...] = ()


def portable(case: Case, *, with_name: bool, whole: bool = False) -> Portable:
    """Return what of a case may travel. `whole`: the form has a place for decisions and wishes."""
    left_out = []
    if not with_name:
        left_out.append("the name (add --with-name to send it along)")
    if SESSION_ONLY_FACTS & case.answers.keys():
        left_out.append("the answer about thoughts of self-harm, which stands in no file")
    if case.decisions and not whole:
        left_out.append("decisions about flags")
    if case.week != WeekWishes() and not whole:
        left_out.append("wishes for the week")
    if case.expect or case.expect_reasons:
        left_out.append("what a test expects of the plan")
    kept = {f: value for f, value in case.answers.items() if f not in SESSION_ONLY_FACTS}
    return Portable(case.name if with_name else "", case.as_of, kept, tuple(left_out))
