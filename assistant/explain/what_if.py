"""The difference of two whole plans, said as changes with their reasons.

The two may differ in answers, in numbers of the rule book, in the day or in the rule book itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.explain.causes import Cause, Causes, Side, number_changes
from assistant.explain.gap_words import label_of, value_words
from assistant.model.facts import FactType
from assistant.model.plan import Line, Plan, PlanSection
from assistant.model.values import FactKey, Status, Value, split_key
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped


@dataclass(frozen=True)
class Change:
    """One thing that was put in: its name and its value before and after, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class LineChange:
    """One line of the plan that is other than before; None where there was or is no such line."""

    id: str
    before: str | None
    after: str | None
    causes: tuple[Cause, ...]


@dataclass(frozen=True)
class SectionChange:
    """Changed lines of one section of the plan."""

    title: str
    lines: tuple[LineChange, ...]


@dataclass(frozen=True)
class Difference:
    """What was put in, what came out, and how much stayed as it was.

    reasons_only: ids of lines whose words stayed while the rule behind them changed.
    lost, won: names of figures that one of the two plans gives and the other leaves out; the
    figures themselves are shown of neither.
    stopped: the screen stops one of the two plans, so only what it says is compared.
    roots: names of what was put in that leads to any conclusion that differs.
    """

    put_in: tuple[Change, ...]
    sections: tuple[SectionChange, ...]
    unchanged: int
    reasons_only: tuple[str, ...]
    elsewhere: tuple[str, ...]
    lost: tuple[str, ...]
    won: tuple[str, ...]
    stopped: bool
    roots: tuple[str, ...] = ()


def difference(before: Side, after: Side, always_shown: frozenset[str]) -> Difference:
    """Return the difference of two plans made for the same reader.

    always_shown: ids of the sections that stay on the page under a stop.
    """
    stopped = is_stopped(before.narrator.run) or is_stopped(after.narrator.run)
    causes = Causes(before, after)
    sections: list[SectionChange] = []
    unchanged, reasons_only = 0, []
    for title, old, new in _sections(before.plan, after.plan):
        section_id = (old or new or PlanSection("", "", ())).id
        if stopped and section_id not in always_shown:
            continue
        lines = []
        for one, other in _pairs(old, new):
            line = other or one
            assert line is not None  # a pair has at least one of both
            if one and other and one.text == other.text:
                unchanged += 1
                if one.rule != other.rule:
                    reasons_only.append(line.id)
                continue
            texts = (one.text if one else None, other.text if other else None)
            lines.append(LineChange(line.id, *texts, causes.of_line(one, other)))
        if lines:
            sections.append(SectionChange(title, tuple(lines)))
    return Difference(
        put_in=tuple(_put_in(before, after)),
        sections=tuple(sections),
        unchanged=unchanged,
        reasons_only=tuple(reasons_only),
        elsewhere=() if stopped else tuple(_elsewhere(causes, before, after)),
        lost=_given_only(before, after),
        won=_given_only(after, before),
        stopped=stopped,
        roots=() if stopped else causes.all_roots(),
    )


def _sections(
    before: Plan, after: Plan
) -> Iterator[tuple[str, PlanSection | None, PlanSection | None]]:
    old = {section.id: section for section in before.sections}
    new = {section.id: section for section in after.sections}
    for section_id in dict.fromkeys([*old, *new]):
        one, other = old.get(section_id), new.get(section_id)
        yield (other or old[section_id]).title, one, other


def _pairs(
    old: PlanSection | None, new: PlanSection | None
) -> Iterator[tuple[Line | None, Line | None]]:
    """Yield lines of the same id beside each other, in the order of the page."""
    before = {line.id: line for line in (old.lines if old else ())}
    after = {line.id: line for line in (new.lines if new else ())}
    for line_id in dict.fromkeys([*after, *before]):
        yield before.get(line_id), after.get(line_id)


def _put_in(before: Side, after: Side) -> Iterator[Change]:
    old, new = before.narrator, after.narrator
    if old.on != new.on:
        yield Change("day of the plan", old.on.isoformat(), new.on.isoformat())
    if old.kb.content_hash != new.kb.content_hash:
        yield Change("rule book", _book(old), _book(new))
    for key in _answer_keys(before, after):
        one, other = before.given.get(key), after.given.get(key)
        if one != other:
            hidden = old.hides(key) or new.hides(key)
            words = [("left out" if hidden else _answer(new, key, v)) for v in (one, other)]
            yield Change(label_of(new, key), *words)
    for number in number_changes(old.kb, old.on, new.kb, new.on):
        yield Change(f"{number.title} ({number.id})", number.before, number.after)


def _answer_keys(before: Side, after: Side) -> list[FactKey]:
    known = after.narrator.kb.facts
    return [k for k in sorted({*before.given, *after.given}) if split_key(k)[0] in known]


def _book(narrator: Narrator) -> str:
    return f"{narrator.kb.book.version}, logic {narrator.kb.logic_hash[:12]}"


def _answer(narrator: Narrator, key: FactKey, value: Value | None) -> str:
    told = Status.UNKNOWN if value is None else value
    return value_words(narrator, split_key(key)[0], told)


def _given_only(side: Side, other: Side) -> tuple[str, ...]:
    """Name the conclusions that one plan shows a coach and the screen takes from the other."""
    if side.narrator.audience != "coach":
        return ()
    kb = side.narrator.kb
    own, others = side.plan.facts, other.plan.facts
    declared = [
        kb.facts[split_key(k)[0]] for k in own if k not in others and side.narrator.hides(k)
    ]
    figures = [each for each in declared if each.type is not FactType.BOOLEAN]
    # What the screen works out for itself is no figure of the plan.
    return tuple(dict.fromkeys(f.label for f in figures if not f.id.startswith("screen.")))


def _elsewhere(causes: Causes, before: Side, after: Side) -> Iterator[str]:
    """Name conclusions that changed but stand on no line of either plan."""
    shown = {key for side in (before, after) for s in side.plan.sections for line in s.lines
             for key in line.facts}  # fmt: skip
    families = {split_key(key)[0] for key in shown}
    narrator = after.narrator
    for fact_id in sorted({split_key(key)[0] for key in causes.changed}):
        declared = narrator.kb.facts.get(fact_id)
        if declared is None or declared.origin != "derived" or fact_id in families:
            continue
        if narrator.hides(fact_id) or before.narrator.hides(fact_id):
            continue
        yield declared.label
