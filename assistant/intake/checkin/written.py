"""What lines a check-in reads: what they measure, how to type them, how they are written back.

Text that is written back is read by the same reader; it is shown, kept, and taken up again.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from assistant.intake.speech import Speech
from assistant.model.documents.checkin import Reads
from assistant.model.entries import Entry, Measure

_IN_ENGLISH = Speech()


def written(entries: Sequence[Entry], reads: Reads, speech: Speech = _IN_ENGLISH) -> str:
    """Return entries as text that the same reader reads, in SI units and in a language."""
    if reads in {"sessions", "pains"}:  # what is not named is missed, or does not hurt
        entries = [entry for entry in entries if entry.value]
    if not entries:
        return speech.name("none")
    if reads == "eating":
        return ", ".join(_write_eating(entries, speech))
    return ", ".join(KINDS[reads].write(entry, speech) for entry in entries)


def _number(value: float | None, speech: Speech) -> str:
    return speech.number(f"{value or 0.0:.10g}")


def _write_set(entry: Entry, speech: Speech) -> str:
    return f"{_day(entry, speech)} {speech.exercise(entry.detail)} {sets_in_words(entry, speech)}"


def sets_in_words(entry: Entry, speech: Speech = _IN_ENGLISH) -> str:
    """Return the sets of a lift as they are typed: `80 kg x 10,10,9 @2 + 70 kg x 12`."""
    alike = groupby(entry.sets, key=lambda each: (each.load_kg, each.reserve))
    groups = []
    for (load, reserve), sets in alike:
        left = "" if reserve is None else f" @{_number(reserve, speech)}"
        times = ",".join(str(each.repetitions) for each in sets)
        groups.append(f"{_number(load, speech)} kg x {times}{left}")
    return " + ".join(groups)


def _write_eating(entries: Sequence[Entry], speech: Speech) -> list[str]:
    protein = {entry.day: entry for entry in entries if entry.measure == "protein_g"}
    parts = []
    for entry in entries:
        if entry.measure == "energy_kcal":
            beside = protein.get(entry.day)
            more = f"/{_number(beside.value, speech)}" if beside is not None else ""
            parts.append(f"{_day(entry, speech)} {_number(entry.value, speech)}{more}")
    return parts


@dataclass(frozen=True)
class Kind:
    """One kind of line. how: what to type, in words. write: one entry as text."""

    measure: Measure
    how: str
    write: Callable[[Entry, Speech], str]


def _day(entry: Entry, _: Speech) -> str:
    return entry.day.isoformat()


def _named(entry: Entry, speech: Speech, unit: str = "") -> str:
    return f"{speech.name(entry.detail)} {_number(entry.value, speech)}{unit}"


KINDS: dict[Reads, Kind] = {
    "pains": Kind("pain", "joint and number, or none", _named),
    "weights": Kind(
        "weight_kg",
        "a weight, or day and weight",
        lambda entry, speech: f"{_day(entry, speech)} {_number(entry.value, speech)} kg",
    ),
    "girths": Kind(
        "girth_cm",
        "site and girth",
        lambda entry, speech: f"{_day(entry, speech)} {_named(entry, speech, ' cm')}",
    ),
    "eating": Kind("energy_kcal", "day and kcal, or kcal/protein", _day),
    "sleep": Kind(
        "sleep_hours", "hours, like 7.5", lambda entry, speech: f"{_number(entry.value, speech)} h"
    ),
    "days": Kind("cycle_start", "a day, or none", _day),
    "sessions": Kind("session", "all, none, or days like mon, wed", _day),
    "top_sets": Kind(
        "top_set", "lift, load x repetitions of each set, @ how many were left", _write_set
    ),
}
