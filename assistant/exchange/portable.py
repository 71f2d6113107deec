"""What travels: a person's answers and the day, the account of what stays at home, a case as JSON."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant.casefiles import check_answers
from assistant.exchange.terms import Json
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value, as_json
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


class Gathered:
    """Raw answers read from a file, where each stands, and everything that is wrong."""

    def __init__(self, kb: KnowledgeBase, place: str) -> None:
        self.kb = kb
        self.file = place
        self.raw: dict[str, Any] = {}
        self.places: dict[str, str] = {}
        self.problems: list[Problem] = []
        self.left_out: list[str] = []
        self.name = ""
        self.as_of: dt.date | None = None

    def checked(self) -> Portable:
        """Return what was read. Raises InputProblems with everything that is wrong."""
        place_of = self.places.get
        answers, wrong = check_answers(self.raw, self.kb, lambda field: place_of(field, self.file))
        if self.problems or wrong:
            raise InputProblems([*self.problems, *wrong])
        assert self.as_of is not None  # its lack is a problem
        return Portable(self.name, self.as_of, answers, tuple(self.left_out))


def portable(case: Case, *, with_name: bool, whole: bool = False) -> Portable:
    """Return what of a case may travel. `whole`: the form has a place for decisions and wishes."""
    left_out = []
    if not with_name:
        left_out.append("the name (add --with-name to send it along)")
    if SESSION_ONLY_FACTS & case.answers.keys():
        left_out.append("the answer about thoughts of self-harm, which stands in no file")
    if case.decisions and not whole:
        left_out.append("decisions about flags")
    if case.overrides and not whole:
        left_out.append("changes by hand")
    if case.week != WeekWishes() and not whole:
        left_out.append("wishes for the week")
    if case.expect or case.expect_reasons:
        left_out.append("what a test expects of the plan")
    kept = {f: value for f, value in case.answers.items() if f not in SESSION_ONLY_FACTS}
    return Portable(case.name if with_name else "", case.as_of, kept, tuple(left_out))


NO_NAME = "Unnamed client"


def case_json(case: Case, sent: Portable) -> Json:
    """Return a case that the commands read like any case file."""
    made: Json = {
        "name": sent.name or NO_NAME,
        "as_of": sent.as_of.isoformat(),
        "answers": {fact: as_json(value) for fact, value in sent.answers.items()},
    }
    if wishes := case.week.as_written():
        made["week"] = wishes
    if case.decisions:
        made["decisions"] = [decision.as_written() for decision in case.decisions]
    if case.overrides:
        made["overrides"] = [change.as_written() for change in case.overrides]
    return made
