"""What a plan's page says and in which order: read from rules/plan.yaml, so a coach can change it."""

from collections.abc import Collection
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationError, model_validator

from assistant.model.base import Document
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Audience


class LinePart(Document):
    """A line of text. It appears if every fact its text names has a value this reader may see.

    about: the facts the line speaks of, the deciding one first; its derivation gives the reason.
    each: a domain; the line is repeated for each element, placeholders `{fact[element]}`.
    sort_by: for `each`, the fact (with `[element]`) whose declared order ranks the lines, highest first.
    only_for: an audience. if_true: a yes/no fact that must hold.
    """

    line: str
    about: Annotated[tuple[str, ...], Field(min_length=1)]
    coach: str
    client: str | None = None
    each: str | None = None
    sort_by: str | None = None
    only_for: Literal["coach", "client"] | None = None
    if_true: str | None = None


class NotesPart(Document):
    """Every yes/no fact with this prefix that holds, said by its rule's own sentence."""

    notes: str
    only_for: Literal["coach", "client"] | None = None


class GapsPart(Document):
    """Facts the plan would like to have: what is missing or left out is said by name."""

    gaps: tuple[str, ...]


class SpecialPart(Document):
    """A part with its own composer: flags and referrals, unanswered questions, assumptions."""

    special: Literal["screen", "unanswered", "assumptions", "left_out", "caution", "decisions"]


Part = LinePart | NotesPart | GapsPart | SpecialPart


class SectionLayout(Document):
    """One titled section. `when_stopped`: also shown when the screen says stop."""

    id: str
    coach_title: str
    client_title: str
    note: str = ""
    when_stopped: bool = False
    parts: tuple[Part, ...]


class Silent(Document):
    """Ids of lines that would speak against what is left out: for both readers, or for one of them."""

    both: tuple[str, ...] = ()
    coach: tuple[str, ...] = ()
    client: tuple[str, ...] = ()


class PlanLayout(Document):
    """All sections, in order; line ids are unique. silent: by output, the lines that go with it."""

    sections: tuple[SectionLayout, ...]
    phrases: dict[str, str]
    silent: dict[str, Silent] = {}

    def silenced(self, withheld: Collection[str], audience: Audience) -> frozenset[str]:
        """Return the ids of lines that say nothing to this reader while these outputs are left out."""
        shelves = [self.silent[output] for output in withheld if output in self.silent]
        return frozenset(
            line for each in shelves for line in (*each.both, *getattr(each, audience))
        )

    @model_validator(mode="after")
    def _unique_lines(self) -> Self:
        ids = [p.line for s in self.sections for p in s.parts if isinstance(p, LinePart)]
        doubled = {name for name in ids if ids.count(name) > 1}
        if doubled:
            raise ValueError(f"line id `{min(doubled)}` stands twice")
        return self


def read_layout(kb: KnowledgeBase) -> PlanLayout:
    """Return the layout in the knowledge base.

    Raises InputProblems with one line for each thing that is wrong in rules/plan.yaml.
    """
    raw: Any = kb.documents.get("plan")
    if raw is None:
        raise InputProblems([Problem("rules/plan.yaml", "missing-file", "the plan has no layout")])
    try:
        layout = PlanLayout.model_validate(as_tuples(raw))
    except ValidationError as error:
        raise InputProblems(
            [
                Problem(
                    "rules/plan.yaml", "bad-layout", f"{'.'.join(map(str, e['loc']))}: {e['msg']}"
                )
                for e in error.errors()
            ]
        ) from None
    return layout


def as_tuples(raw: Any) -> Any:
    """Turn parsed lists into tuples, which the strict models ask for."""
    if isinstance(raw, list):
        return tuple(as_tuples(item) for item in raw)
    if isinstance(raw, dict):
        return {key: as_tuples(value) for key, value in raw.items()}
    return raw
