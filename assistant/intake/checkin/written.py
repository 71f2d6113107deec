"""What lines a check-in reads: what they measure, how to type them, how they are written back.

Text that is written back is read by the same reader; it is shown, kept, and taken up again.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from assistant.model.documents.checkin import Reads
from assistant.model.entries import Entry, Measure


def written(entries: Sequence[Entry], reads: Reads) -> str:
    """Return entries as text that the same reader reads, in SI units."""
    if reads in {"sessions", "pains"}:  # what is not named is missed, or does not hurt
        entries = [entry for entry in entries if entry.value]
    if not entries:
        return "none"
    if reads == "eating":
        return ", ".join(_write_eating(entries))
    return ", ".join(KINDS[reads].write(entry) for entry in entries)


def _number(value: float | None) -> str:
    return f"{value or 0.0:.10g}"


def _write_set(entry: Entry) -> str:
    name = entry.detail.replace("_", " ")
    return f"{entry.day.isoformat()} {name} {sets_in_words(entry)}"


def sets_in_words(entry: Entry) -> str:
    """Return the sets of a lift as they are typed: `80 kg x 10,10,9 @2 + 70 kg x 12`."""
    alike = groupby(entry.sets, key=lambda each: (each.load_kg, each.reserve))
    groups = []
    for (load, reserve), sets in alike:
        left = "" if reserve is None else f" @{reserve:g}"
        times = ",".join(str(each.repetitions) for each in sets)
        groups.append(f"{_number(load)} kg x {times}{left}")
    return " + ".join(groups)


def _write_eating(entries: Sequence[Entry]) -> list[str]:
    protein = {entry.day: entry for entry in entries if entry.measure == "protein_g"}
    parts = []
    for entry in entries:
        if entry.measure == "energy_kcal":
            beside = protein.get(entry.day)
            more = f"/{_number(beside.value)}" if beside is not None else ""
            parts.append(f"{entry.day.isoformat()} {_number(entry.value)}{more}")
    return parts


@dataclass(frozen=True)
class Kind:
    """One kind of line. how: what to type, in words. write: one entry as text."""

    measure: Measure
    how: str
    write: Callable[[Entry], str]


def _day(entry: Entry) -> str:
    return entry.day.isoformat()


def _named(entry: Entry, unit: str = "") -> str:
    return f"{entry.detail.replace('_', ' ')} {_number(entry.value)}{unit}"


KINDS: dict[Reads, Kind] = {
    "pains": Kind("pain", "joint and number, or none", _named),
    "weights": Kind(
        "weight_kg",
        "a weight, or day and weight",
        lambda entry: f"{_day(entry)} {_number(entry.value)} kg",
    ),
    "girths": Kind(
        "girth_cm", "site and girth", lambda entry: f"{_day(entry)} {_named(entry, ' cm')}"
    ),
    "eating": Kind("energy_kcal", "day and kcal, or kcal/protein", _day),
    "sleep": Kind("sleep_hours", "hours, like 7.5", lambda entry: f"{_number(entry.value)} h"),
    "days": Kind("cycle_start", "a day, or none", _day),
    "sessions": Kind("session", "all, none, or days like mon, wed", _day),
    "top_sets": Kind("top_set", "lift, load x reps of each set, @reserve", _write_set),
}
