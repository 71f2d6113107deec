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
    for this client. ranges: repetitions (or seconds) of an exercise. orders: places by exercise and
    days, the last one said last.
    """

    edits: tuple[WeekEdit, ...] = ()
    stands: dict[Spot, WeekEdit] = field(default_factory=dict)
    gone: dict[Spot, WeekEdit] = field(default_factory=dict)
    instead: dict[Spot, str] = field(default_factory=dict)
    sets: dict[Spot, WeekEdit] = field(default_factory=dict)
    somewhere: dict[str, WeekEdit] = field(default_factory=dict)
    never: dict[str, WeekEdit] = field(default_factory=dict)
    ranges: dict[str, WeekEdit] = field(default_factory=dict)
    orders: dict[tuple[str, tuple[str, ...]], WeekEdit] = field(default_factory=dict)

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
    hand = Hand(tuple(edits))
    for edit in hand.edits:
        _HOW[edit.kind](hand, edit)
    return hand


def _replace(hand: Hand, edit: WeekEdit) -> None:
    _remove(hand, edit)
    for day in edit.days or WEEKDAYS:
        hand.instead[edit.exercise, day] = edit.other
        _come(hand, edit.other, day, edit if edit.days else None)
    if not edit.days:
        hand.somewhere[edit.other] = edit


def _move(hand: Hand, edit: WeekEdit) -> None:
    _remove(hand, edit)
    _come(hand, edit.exercise, edit.to, edit)


def _remove(hand: Hand, edit: WeekEdit) -> None:
    for day in edit.days or WEEKDAYS:
        _leave(hand, edit.exercise, day, edit)
    if not edit.days:
        hand.somewhere.pop(edit.exercise, None)


def _count(hand: Hand, edit: WeekEdit) -> None:
    spots = [(edit.exercise, day) for day in edit.days or WEEKDAYS]
    hand.sets.update(dict.fromkeys(spots, edit))
    if edit.days:
        hand.stands.update((spot, edit) for spot in spots if spot not in hand.gone)


def _place(hand: Hand, edit: WeekEdit) -> None:
    # The last one said stands last.
    hand.orders.pop((edit.exercise, edit.days), None)
    hand.orders[edit.exercise, edit.days] = edit


def _leave(hand: Hand, name: str, day: str, edit: WeekEdit) -> None:
    hand.gone[name, day] = edit
    for said in (hand.stands, hand.sets):
        said.pop((name, day), None)
    hand.instead.pop((name, day), None)


def _come(hand: Hand, name: str, day: str, edit: WeekEdit | None) -> None:
    """edit: None where it may stand there again, but need not."""
    hand.gone.pop((name, day), None)
    hand.instead.pop((name, day), None)
    if edit is not None:
        hand.stands[name, day] = edit
        if edit.numbers:
            hand.sets[name, day] = edit


def _stay(hand: Hand, edit: WeekEdit) -> None:
    for day in edit.days:
        _come(hand, edit.exercise, day, edit)
    if not edit.days:
        hand.somewhere[edit.exercise] = edit
        for day in WEEKDAYS:
            _come(hand, edit.exercise, day, None)
        if edit.numbers:
            hand.sets.update({(edit.exercise, day): edit for day in WEEKDAYS})


def _range(hand: Hand, edit: WeekEdit) -> None:
    hand.ranges[edit.exercise] = edit


def _not_again(hand: Hand, edit: WeekEdit) -> None:
    hand.never[edit.exercise] = edit


_HOW: Mapping[EditKind, Callable[[Hand, WeekEdit], None]] = {
    "replace": _replace,
    "move": _move,
    "remove": _remove,
    "add": _stay,
    "pin": _stay,
    "sets": _count,
    "repetitions": _range,
    "order": _place,
    "never": _not_again,
}
