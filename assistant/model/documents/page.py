"""plan.yaml: what a plan's page says and in which order."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Annotated, Literal, get_args

from pydantic import Field, Tag

from assistant.model.base import Document, Fault, RuleFile, repeated, told_apart
from assistant.model.documents.next_loads import NextLoadWords
from assistant.model.documents.page_words import (
    AcceptingWords,
    ByHandWords,
    HouseWords,
    Phrases,
    WarningWords,
)
from assistant.model.marks import (
    FACT_BEGINNING,
    Fact,
    Names,
    Output,
    Plain,
    Slots,
    Text,
    placeholders,
)
from assistant.model.rules import Audience
from assistant.model.values import split_key

ELEMENT = "element"
FactSentence = Annotated[Text, Slots((ELEMENT,), facts=True)]
OnlyFor = Literal["coach", "client"]
PlanPart = Literal["first", "next", "week", "more"]


class LinePart(Document):
    """A line of text. It appears if every fact its text names has a value this reader may see.

    about: the facts the line speaks of, the deciding one first; its derivation gives the reason.
    each: a domain; the line is repeated for each element, placeholders `{fact[element]}`.
    sort_by: for `each`, the fact (with `[element]`) whose declared order ranks the lines, highest first.
    only_for: an audience. if_true: a yes/no fact that must hold.
    """

    line: Text
    about: Annotated[tuple[Fact, ...], Field(min_length=1)]
    coach: FactSentence
    client: FactSentence | None = None
    each: Annotated[str, Names("domain")] | None = None
    sort_by: Fact | None = None
    only_for: OnlyFor | None = None
    if_true: Fact | None = None


class NotesPart(Document):
    """Every yes/no fact with this prefix that holds, said by its rule's own sentence.

    if_true: a yes/no fact that must hold for any of them to be said.
    """

    notes: Annotated[str, Names(FACT_BEGINNING)]
    only_for: OnlyFor | None = None
    if_true: Fact | None = None


class ReasonsPart(Document):
    """One line for each rule of a table that had a say in a list fact, in the rule's own sentence."""

    reasons: Fact
    table: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]


class GapsPart(Document):
    """Facts the plan would like to have: what is missing or left out is said by name."""

    gaps: tuple[Fact, ...]


class SpecialPart(Document):
    """A part with its own composer: flags and referrals, unanswered questions, assumptions."""

    special: Literal["screen", "unanswered", "assumptions", "left_out", "caution", "decisions"]


Part = Annotated[
    Annotated[LinePart, Tag("<line>")]
    | Annotated[NotesPart, Tag("<notes>")]
    | Annotated[ReasonsPart, Tag("<reasons>")]
    | Annotated[GapsPart, Tag("<gaps>")]
    | Annotated[SpecialPart, Tag("<special>")],
    told_apart(
        "one of {line: ...}, {notes: ...}, {reasons: ...}, {gaps: ...}, {special: ...}",
        *("line", "notes", "reasons", "gaps", "special"),
    ),
]


class SectionLayout(Document):
    """One titled section. `when_stopped`: also shown when the screen says stop."""

    id: Text
    coach_title: Plain
    client_title: Plain
    note: str = ""
    when_stopped: bool = False
    parts: tuple[Part, ...]


class Silent(Document):
    """Lines that would speak against what is left out: for both readers, or for one of them."""

    both: tuple[Text, ...] = ()
    coach: tuple[Text, ...] = ()
    client: tuple[Text, ...] = ()


class Cards(Document):
    """Which lines stand on the cards beside the next session, by id; `*` at the end for any rest.

    aim: what the plan goes for, in one row of the short text. meanwhile: what holds for training. no_sessions: said where there is no week. food: said with figures
    (food_figures) and without. move: besides the sessions. people: whom to see.
    """

    aim: tuple[Text, ...] = ()
    meanwhile: tuple[Text, ...] = ()
    no_sessions: tuple[Text, ...] = ()
    food_figures: tuple[Text, ...] = ()
    food: tuple[Text, ...] = ()
    move: tuple[Text, ...] = ()
    sleep: tuple[Text, ...] = ()
    people: tuple[Text, ...] = ()
    dates: tuple[Text, ...] = ()


class PlanLayout(RuleFile):
    """All sections, in order; ids are unique.

    order: the parts in which a reader meets the plan. cards: the lines beside the next session.
    next_loads, accepting, by_hand, warnings, house: None in a book that says nothing of these. silent: by output, the lines that go with it.
    silent_under: the same by limit of training. moving: facts that move with the days by themselves, so
    that they set no two versions of a plan apart. headlines: what an audit says the smallest change of.
    """

    sections: tuple[SectionLayout, ...]
    phrases: Phrases
    order: tuple[PlanPart, ...] = get_args(PlanPart)
    cards: Cards = Cards()
    next_loads: NextLoadWords | None = None
    accepting: AcceptingWords | None = None
    by_hand: ByHandWords | None = None
    warnings: WarningWords | None = None
    house: HouseWords | None = None
    silent: dict[Output, Silent] = {}
    silent_under: dict[Annotated[str, Names("limit")], Silent] = {}
    moving: tuple[Fact, ...] = ()
    headlines: tuple[Fact, ...] = ()

    def silenced(
        self, withheld: Collection[str], limits: Collection[str], audience: Audience
    ) -> frozenset[str]:
        """Return the ids of lines that say nothing to this reader while these outputs and limits stand."""
        shelves = [self.silent[output] for output in withheld if output in self.silent]
        shelves += [self.silent_under[limit] for limit in limits if limit in self.silent_under]
        return frozenset(
            line for each in shelves for line in (*each.both, *getattr(each, audience))
        )

    def lines(self) -> Iterator[tuple[tuple[str | int, ...], LinePart]]:
        """Yield every line with its path."""
        for number, section in enumerate(self.sections):
            for place, part in enumerate(section.parts):
                if isinstance(part, LinePart):
                    yield ("sections", number, "parts", place), part

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return the lines, for whoever changes one."""
        return {"line of the plan": [part.line for _, part in self.lines()]}

    def faults(self) -> Iterator[Fault]:
        """Yield ids that stand twice and elements of a line that is not repeated."""
        yield from repeated((("order", number), part) for number, part in enumerate(self.order))
        rows = enumerate(self.sections)
        yield from repeated((("sections", number, "id"), section.id) for number, section in rows)
        yield from repeated(((*path, "line"), part.line) for path, part in self.lines())
        yield from self._unsaid()
        for path, part in self.lines():
            yield from _element_faults(path, part)

    def _unsaid(self) -> Iterator[Fault]:
        """Yield lines to be silent about that no part of the page can say."""
        parts = [part for section in self.sections for part in section.parts]
        known = {part.line for _, part in self.lines()}
        known |= {
            f"gap.{fact}" for part in parts if isinstance(part, GapsPart) for fact in part.gaps
        }
        beginnings = tuple(part.notes for part in parts if isinstance(part, NotesPart))
        shelves = [("silent", *each) for each in self.silent.items()]
        shelves += [("silent_under", *each) for each in self.silent_under.items()]
        for field, key, silent in shelves:
            for voice in ("both", "coach", "client"):
                for number, name in enumerate(getattr(silent, voice)):
                    if name not in known and not name.startswith(beginnings):
                        text = f"`{name}` is no line of this page"
                        yield Fault((field, key, voice, number), "unknown-line", text)


def _element_faults(path: tuple[str | int, ...], part: LinePart) -> Iterator[Fault]:
    if part.each is not None:
        return
    named = [("about", name) for name in (*part.about, part.sort_by, part.if_true) if name]
    named += [
        (voice, name)
        for voice in ("coach", "client")
        for name in placeholders(getattr(part, voice) or "")
    ]
    for field, name in named:
        bare = name.removesuffix(":range").removesuffix(":unit")
        if bare == ELEMENT or split_key(bare)[1] == ELEMENT:
            text = f"`{name}` is filled for each element; say which with `each`"
            yield Fault((*path, field), "bad-placeholder", text)
            return
