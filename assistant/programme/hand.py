"""What edits by hand say in the end: which lines have to stand, which must not, and in what form."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from assistant.model.values import WEEKDAYS
from assistant.model.wishes import EditKind, WeekEdit

Spot = tuple[str, str]


@dataclass(frozen=True)
class Hand:
    """The last word of the edits about each (exercise, day). Mappings hold the edit behind it.

    stands: has to stand there. gone: must not stand there; `instead` names who takes the place, where
    somebody does. sets: how many. somewhere: exercises that have to stand on any day. never: not again
    for this client. ranges: repetitions (or seconds) of an exercise. orders: places, the last one last.
    """

    edits: tuple[WeekEdit, ...] = ()
    stands: Mapping[Spot, WeekEdit] = field(default_factory=dict)
    gone: Mapping[Spot, WeekEdit] = field(default_factory=dict)
    instead: Mapping[Spot, str] = field(default_factory=dict)
    sets: Mapping[Spot, WeekEdit] = field(default_factory=dict)
    somewhere: Mapping[str, WeekEdit] = field(default_factory=dict)
    never: Mapping[str, WeekEdit] = field(default_factory=dict)
    ranges: Mapping[str, WeekEdit] = field(default_factory=dict)
    orders: tuple[WeekEdit, ...] = ()

    @cached_property
    def wanted(self) -> frozenset[str]:
        """Exercises that have to stand on some day."""
        return frozenset(self.somewhere) | {exercise for exercise, _ in self.stands}

    def wants(self, exercise: str, day: str) -> bool:
        """True if the exercise stands there because of an edit."""
        return (exercise, day) in self.stands or exercise in self.somewhere

    def sets_on(self, exercise: str, day: str) -> int | None:
        """The sets said by hand, or None."""
        edit = self.sets.get((exercise, day))
        return None if edit is None else edit.numbers[0]

    def range_of(self, exercise: str) -> tuple[int, int] | None:
        """The range said by hand for an exercise, in its measure, or None."""
        edit = self.ranges.get(exercise)
        return None if edit is None else (edit.numbers[0], edit.numbers[1])

    def in_its_place(self, exercise: str, day: str) -> str:
        """Who stands where the exercise stood: itself if nothing is said, empty if nobody."""
        while (exercise, day) in self.gone:
            exercise = self.instead.get((exercise, day), "")
        return exercise

    def touches(self, day: str) -> bool:
        """True if an edit can have changed something on the day."""
        by_day = {*self.stands, *self.gone, *self.sets}
        return bool(self.somewhere or self.ranges) or any(each == day for _, each in by_day)


def hand_of(edits: Iterable[WeekEdit]) -> Hand:
    """Take the edits one after the other; a later one has the last word about its exercise and day."""
    made = _Making()
    taken = tuple(edits)
    for edit in taken:
        made.take(edit)
    return Hand(
        taken, made.stands, made.gone, made.instead, made.sets, made.somewhere, made.never,
        made.ranges, tuple(made.orders),
    )  # fmt: skip


class _Making:
    """A hand while the edits are read."""

    def __init__(self) -> None:
        self.stands: dict[Spot, WeekEdit] = {}
        self.gone: dict[Spot, WeekEdit] = {}
        self.instead: dict[Spot, str] = {}
        self.sets: dict[Spot, WeekEdit] = {}
        self.somewhere: dict[str, WeekEdit] = {}
        self.never: dict[str, WeekEdit] = {}
        self.ranges: dict[str, WeekEdit] = {}
        self.orders: list[WeekEdit] = []

    def take(self, edit: WeekEdit) -> None:
        how: Mapping[EditKind, Callable[[WeekEdit], None]] = {
            "replace": self._replace,
            "move": self._move,
            "remove": self._remove,
            "add": self._stay,
            "pin": self._stay,
            "sets": self._count,
            "repetitions": lambda each: self.ranges.update({each.exercise: each}),
            "order": self._place,
            "never": lambda each: self.never.update({each.exercise: each}),
        }
        how[edit.kind](edit)

    def _replace(self, edit: WeekEdit) -> None:
        self._remove(edit)
        for day in edit.days or WEEKDAYS:
            self.instead[edit.exercise, day] = edit.other
            self._come(edit.other, day, edit if edit.days else None)
        if not edit.days:
            self.somewhere[edit.other] = edit

    def _move(self, edit: WeekEdit) -> None:
        self._remove(edit)
        self._come(edit.exercise, edit.to, edit)

    def _remove(self, edit: WeekEdit) -> None:
        for day in edit.days or WEEKDAYS:
            self._leave(edit.exercise, day, edit)
        if not edit.days:
            self.somewhere.pop(edit.exercise, None)

    def _count(self, edit: WeekEdit) -> None:
        spots = [(edit.exercise, day) for day in edit.days or WEEKDAYS]
        self.sets.update(dict.fromkeys(spots, edit))
        if edit.days:
            self.stands.update((spot, edit) for spot in spots if spot not in self.gone)

    def _place(self, edit: WeekEdit) -> None:
        spot = (edit.exercise, edit.days)
        self.orders = [each for each in self.orders if (each.exercise, each.days) != spot]
        self.orders.append(edit)

    def _leave(self, name: str, day: str, edit: WeekEdit) -> None:
        self.gone[name, day] = edit
        for said in (self.stands, self.sets):
            said.pop((name, day), None)
        self.instead.pop((name, day), None)

    def _come(self, name: str, day: str, edit: WeekEdit | None) -> None:
        """edit: None where it may stand there again, but need not."""
        self.gone.pop((name, day), None)
        self.instead.pop((name, day), None)
        if edit is not None:
            self.stands[name, day] = edit
            if edit.numbers:
                self.sets[name, day] = edit

    def _stay(self, edit: WeekEdit) -> None:
        for day in edit.days:
            self._come(edit.exercise, day, edit)
        if not edit.days:
            self.somewhere[edit.exercise] = edit
            for day in WEEKDAYS:
                self._come(edit.exercise, day, None)
            if edit.numbers:
                self.sets.update({(edit.exercise, day): edit for day in WEEKDAYS})
