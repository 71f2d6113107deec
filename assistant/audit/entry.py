"""What an entry holds: a decision (a plan that was made), or a coach's change of one."""

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field, ValidationError

from assistant.engine.lookup import WITHHELD_FACTS, left_out
from assistant.model.base import Document
from assistant.model.chain import canonical_json
from assistant.model.errors import InputProblems, Problem

FORMAT = 1
PlainValue = bool | float | str | tuple[str, ...]


class BookMark(Document):
    """The rule book a decision was made with.

    house: a coach's own settings, by parameter. laid_over: what a gym's own folder laid over the book, by
    name, with who answers for it.
    """

    version: str
    logic_hash: str
    content_hash: str
    house: dict[str, float]
    laid_over: dict[str, str] | None = None


class FlagDecision(Document):
    """A dated decision about a flag, as in the case file. since, until: days.

    role, seen: not there in entries from before they were asked for.
    """

    kind: Literal["set_aside", "cleared"]
    flag: str
    by: str
    reason: str
    since: str
    until: str
    role: str = ""
    seen: dict[str, PlainValue] | None = None


class OverrideMade(Document):
    """A change by hand that stood when a plan was made, as in the case file.

    was: what the rules said instead; None where the change was set aside, and in entries from before it was kept.
    """

    line: str
    to: float | str
    by: str
    reason: str
    since: str
    until: str | None = None
    was: PlainValue | None = None


class FactShown(Document):
    """A conclusion the coach was shown, with its range if it has one."""

    value: PlainValue
    low: float | None = None
    high: float | None = None


class LineShown(Document):
    """A line of the coach's plan: the rule behind it, its facts, and a fingerprint of its words."""

    rule: str
    facts: tuple[str, ...]
    words: str


class WeekMade(Document):
    """The sessions that were printed, and what was asked for beside the answers.

    sessions: the lines of each day, shortened. hash: of the sessions in full. kept: the week kept in the
    client's record, which these sessions came from. lighter: a lighter week ran. with_exercise, on_day: of
    logs from before edits by hand, which forced an exercise so.
    """

    seed: int
    with_exercise: str | None = None
    on_day: str | None = None
    missed: str | None = None
    kept: dict[str, Any] | None = None
    lighter: bool = False
    sessions: dict[str, tuple[str, ...]]
    hash: str


class Outcome(Document):
    """What the rules made of a case. Rules are named `RULE` or `RULE[element]`."""

    plan_hash: str
    facts: dict[str, FactShown]
    lines: dict[str, LineShown]
    flags: tuple[str, ...]
    fired: tuple[str, ...]
    blocked_by: tuple[str, ...]
    needs: tuple[str, ...]
    overridden: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def level(self) -> str:
        """The level of the screen, `none` where it raised nothing."""
        shown = self.facts.get("screen.level")
        return str(shown.value) if shown is not None else "none"

    @property
    def withheld(self) -> frozenset[str]:
        """The outputs that the plan leaves out."""
        return left_out({key: self.facts[key].value for key in WITHHELD_FACTS if key in self.facts})


class Sealed(Document):
    """What every entry has. written: when, in UTC, for people; nothing depends on it."""

    format: Literal[1]
    sequence: int = Field(ge=1)
    written: str
    previous: str
    hash: str
    set_aside: dict[str, int | str] | None = None


class DecisionEntry(Sealed):
    """A plan that was made: for whom (a tag, never a name), from what, by which rules, and what came out.

    measured: facts of the client's record that went into it. wishes: the `week` part of the case, as written there.
    overrides: changes by hand; not there in entries from before they bound later plans. week: None where no sessions were printed.
    """

    kind: Literal["decision"]
    id: str
    client: str
    audience: Literal["coach", "client"]
    as_of: str
    book: BookMark
    engine: str
    answers: dict[str, PlainValue]
    measured: dict[str, FactShown]
    wishes: dict[str, Any]
    decisions: tuple[FlagDecision, ...]
    overrides: tuple[OverrideMade, ...] = ()
    outcome: Outcome
    week: WeekMade | None = None


class OverrideEntry(Sealed):
    """A coach's change of one line of an earlier decision."""

    kind: Literal["override"]
    decision: int = Field(ge=1)
    decision_id: str
    line: str
    fact: str
    rule: str
    was: PlainValue
    to: PlainValue
    by: str
    reason: str


Entry = DecisionEntry | OverrideEntry
_KINDS: Mapping[Any, type[Entry]] = {"decision": DecisionEntry, "override": OverrideEntry}


def shaped(entries: tuple[Mapping[str, Any], ...], shown_as: str) -> tuple[Entry, ...]:
    """Return entries in their shape. Raises InputProblems for one that is of another kind."""
    found: list[Entry] = []
    problems: list[Problem] = []
    for number, entry in enumerate(entries, start=1):
        shape = _KINDS.get(entry.get("kind"))
        if shape is None:
            wrong = "it is neither a decision nor an override"
            problems.append(misshapen(shown_as, number, wrong))
            continue
        try:
            found.append(shape.model_validate_json(canonical_json(dict(entry))))
        except ValidationError as error:
            first = error.errors()[0]
            where = ".".join(str(part) for part in first["loc"])
            problems.append(misshapen(shown_as, number, f"`{where}`: {first['msg']}"))
        except ValueError:
            problems.append(misshapen(shown_as, number, "a number in it is none"))
    if problems:
        raise InputProblems(problems)
    return tuple(found)


def misshapen(shown_as: str, number: int, wrong: str) -> Problem:
    """Return what is wrong with an entry that no longer has, or never had, its shape."""
    text = f"the entry has another shape than this version writes ({wrong}); read it with the version that wrote it"
    return Problem(f"{shown_as}:{number}", "bad-entry", text)
