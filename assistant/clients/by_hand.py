"""A line of a client's plan changed by hand: what it moves, how it is kept, which changes stand."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

from assistant.casefiles.overrides import read_overrides
from assistant.clients.desk import Desk
from assistant.clients.kept import Why, told_anew
from assistant.clients.person import Person
from assistant.explain.versions import changes
from assistant.knowledge.parsed import Parsed
from assistant.model.case import Override
from assistant.model.errors import InputProblems, Problem
from assistant.model.values import split_key
from assistant.model.version import Version
from assistant.plan.by_hand import (
    Room,
    checked_change,
    fact_of,
    ground_of,
    room_for,
    standing_changes,
    value_of,
)
from assistant.plan.digest import plan_digest
from assistant.plan.signed import checked_words
from assistant.plan.visibility import visible_conclusions
from assistant.records.store import Records

Overrides = tuple[Override, ...]


@dataclass(frozen=True)
class ByHand:
    """A change that is kept. state: whether it holds today, in words. hides: its figure is shown nowhere."""

    change: Override
    state: str
    hides: bool

    @property
    def to(self) -> str:
        """The new value as it is shown; empty where it is held back."""
        value = self.change.to
        return "" if self.hides else value if isinstance(value, str) else f"{value:g}"


def with_overrides(person: Person, overrides: Overrides) -> Person:
    """Return the person with these changes by hand and no others."""
    return replace(person, case=replace(person.case, overrides=overrides))


def with_one_more(
    person: Person, line: str, to: str, *, by: str, reason: str, until: dt.date | None = None
) -> Overrides:
    """Return the changes with one more, which takes the place of an earlier one of its line.

    to: the new value as it was typed, in SI units. Raises InputProblems.
    """
    kb, on = person.planner.kb, person.planner.on
    value = value_of(to, fact_of(line, kb), kb)
    others = tuple(each for each in person.case.overrides if each.line != line)
    checked_change(line, value, ground_of(kb, with_overrides(person, others).run(), on), kb)
    change = Override(line, value, by or "-", reason or "-", on, until)
    problems: list[Problem] = []
    read_overrides([change.as_written()], kb, Parsed("--line", {}, {}), problems, kept=True)
    if problems:
        raise InputProblems(problems)
    return (*others, change)


def without(person: Person, change: Override) -> Overrides:
    """Return the changes without one. Raises InputProblems where it is not there any more."""
    if change not in person.case.overrides:
        text = "this change was withdrawn meanwhile; nothing was kept"
        raise InputProblems([Problem("--withdraw", "unknown-change", text)])
    return tuple(each for each in person.case.overrides if each != change)


def moves(before: Person, after: Person) -> list[str]:
    """Return the figures that differ between the plans of two persons, as the coach reads them."""
    kb, on = before.planner.kb, before.planner.on
    old, new = before.run(), after.run()
    narrator = before.planner.narrator(new, "coach").beside(old)
    moved = changes(plan_digest(kb, old, on), plan_digest(kb, new, on), narrator)
    return [each.words for each in moved] or ["No figure of the plan moves."]


def keep(
    desk: Desk,
    records: Records,
    name: str,
    changed: Callable[[Person], Overrides],
    by: str,
    reason: str,
) -> Version:
    """Keep other changes by hand, with who and why, as a version of the plan. Raises InputProblems.

    changed: gives the changes that then stand, of the client as they stand when it is kept.
    """
    why = Why("override", *checked_words(by, reason, desk.kb.overrides.reasons))
    return desk.keep(
        records, name, lambda now: told_anew(now, why, agrees=True, overrides=changed(now))
    )


def listed(person: Person) -> list[ByHand]:
    """Return every change that is kept, in the order they were made."""
    kb, on = person.planner.kb, person.planner.on
    narrator = person.narrator("coach")
    aside = {change.line: why for change, why in narrator.run.set_aside}
    in_force = standing_changes(person.case.overrides, kb, on)
    rows = []
    for change in person.case.overrides:
        state = "holds"
        if change not in in_force:
            is_over = change.until is not None and change.until < on
            state = "over" if is_over else "not yet, or replaced by a later one"
        elif change.line in aside:
            state = f"set aside today: {aside[change.line]}"
        # A figure that is held back is shown nowhere, not even as what somebody once typed.
        rows.append(ByHand(change, state, narrator.hides(fact_of(change.line, kb))))
    return rows


def open_lines(person: Person) -> dict[str, Room]:
    """Return the lines of the plan that may be changed today, and how far."""
    kb, on = person.planner.kb, person.planner.on
    run = person.run()
    ground = ground_of(kb, run, on)
    elements = {
        fact_id: [element for key in visible_conclusions(kb, run, "coach")
                  for name, element in (split_key(key),) if name == fact_id and element]
        for fact_id in (split_key(limit.fact)[0] for limit in kb.overrides.lines.values())
    }  # fmt: skip
    found = {}
    for line, limit in kb.overrides.lines.items():
        fact_id, element = split_key(limit.fact)
        names = [line] if element is None else [f"{line}[{e}]" for e in elements[fact_id]]
        for name in names:
            try:
                found[name] = room_for(name, ground, kb)
            except InputProblems:
                continue
    return found
