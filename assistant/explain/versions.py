"""Two versions of a client's plan beside each other, in words."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.explain.gap_words import label_of, value_words
from assistant.model.documents.page import LinePart
from assistant.model.kept import KeptWeek
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Status, Value, split_key
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_hidden

_FACTS = "facts"
# What a review works out for itself on its day is no part of the plan.
_OF_A_REVIEW = "review_"


@dataclass(frozen=True)
class Changed:
    """One thing that is other than before; before or after is empty where there was or is none."""

    label: str
    before: str
    after: str

    @property
    def words(self) -> str:
        """The change as one line."""
        return f"{self.label}: {self.before or 'none'} -> {self.after or 'none'}"


def changes(
    before: Mapping[str, Any], after: Mapping[str, Any], narrator: Narrator
) -> tuple[Changed, ...]:
    """Return what the plan's lines say differently in two digests, in the order of the page.

    before, after: digests as `plan_digest` gives them. What the screen withholds today, or in either of
    the two, is not named: neither figure is shown.
    """
    # Flags have names for a coach alone.
    screen = _screen(before, after, narrator) if narrator.audience == "coach" else ()
    return (*screen, *_figures(before, after, narrator))


def week_changes(
    before: KeptWeek | None, after: KeptWeek | None, narrator: Narrator
) -> tuple[Changed, ...]:
    """Return which lines of the week came, went or got other sets, day by day."""
    old, new = _lines(before), _lines(after)
    days = dict.fromkeys(day for day, _ in (*old, *new))
    order = [day for day in narrator.kb.book.domains["weekday"] if day in days]
    found = []
    for day in order:
        names = dict.fromkeys(name for where, name in (*old, *new) if where == day)
        for name in names:
            one, other = old.get((day, name)), new.get((day, name))
            if one != other:
                row = narrator.kb.exercises.by_id.get(name)
                label = f"{narrator.phrases.label(day)}, {row.name if row else name}"
                found.append(Changed(label, _sets(one), _sets(other)))
    if before is not None and after is not None and before.style != after.style:
        label = "repetitions of the block"
        styles = [narrator.phrases.label(each.style) for each in (before, after)]
        found.insert(0, Changed(label, *styles))
    return tuple(found)


def _screen(
    before: Mapping[str, Any], after: Mapping[str, Any], narrator: Narrator
) -> Iterator[Changed]:
    for label, of in (("screen", _level), ("flags", _flags), ("to be seen", _referrals)):
        one, other = of(before, narrator), of(after, narrator)
        if one != other:
            yield Changed(label, one, other)


def _level(digest: Mapping[str, Any], narrator: Narrator) -> str:
    return narrator.phrases.label(digest.get("level", "none"))


def _flags(digest: Mapping[str, Any], narrator: Narrator) -> str:
    return ", ".join(
        f"{narrator.phrases.label(flag['id'])} ({flag['severity']})"
        for flag in digest.get("flags", ())
    )


def _referrals(digest: Mapping[str, Any], narrator: Narrator) -> str:
    listed = digest.get("referrals", ())
    return ", ".join(narrator.phrases.label(each["to"]) for each in listed)


def _figures(
    before: Mapping[str, Any], after: Mapping[str, Any], narrator: Narrator
) -> Iterator[Changed]:
    old, new = before.get(_FACTS, {}), after.get(_FACTS, {})
    withheld = frozenset((*before.get("withheld", ()), *after.get("withheld", ())))
    spoken_of = _on_the_page(narrator.kb)
    alike = narrator.kb.parameter_value("plan.alike_percent", narrator.on).value
    keys = [key for key in (*old, *new) if split_key(key)[0] in spoken_of]
    for key in sorted(dict.fromkeys(keys), key=lambda key: (spoken_of[split_key(key)[0]], key)):
        if narrator.hides(key) or is_hidden(narrator.kb, key, withheld, narrator.audience):
            continue
        one, other = _words(narrator, key, old), _words(narrator, key, new)
        if one != other and not _alike(old.get(key), new.get(key), alike):
            yield Changed(label_of(narrator, key), one, other)


def _alike(one: Any, other: Any, percent: float) -> bool:
    """Tell whether two figures are so near that nobody would eat or train otherwise by them."""
    if not isinstance(one, int | float) or not isinstance(other, int | float):
        return False
    return abs(one - other) * 100 <= percent * max(abs(one), abs(other))


def _on_the_page(kb: KnowledgeBase) -> dict[FactKey, int]:
    """Return the facts that lines of the plan speak of, with their place on the page."""
    facts = [
        fact
        for section in kb.plan.sections
        if not section.id.startswith(_OF_A_REVIEW)
        for part in section.parts
        if isinstance(part, LinePart)
        for fact in part.about
        if kb.facts[split_key(fact)[0]].origin == "derived" and fact not in kb.plan.moving
    ]
    return {fact: place for place, fact in enumerate(dict.fromkeys(split_key(f)[0] for f in facts))}


def _words(narrator: Narrator, key: FactKey, facts: Mapping[str, Any]) -> str:
    plain = facts.get(key)
    if plain is None or split_key(key)[0] not in narrator.kb.facts:
        return ""
    value: Value = tuple(plain) if isinstance(plain, list) else plain
    if isinstance(value, str) and value in set(Status):
        value = Status(value)
    return value_words(narrator, split_key(key)[0], value)


def _lines(week: KeptWeek | None) -> dict[tuple[str, str], int]:
    if week is None:
        return {}
    return {(day, line.exercise): line.sets for day, lines in week.days.items() for line in lines}


def _sets(sets: int | None) -> str:
    return "" if sets is None else "1 set" if sets == 1 else f"{sets} sets"
