"""Lines of a check-in written back as text that their reader reads, to be shown, kept, taken up."""

from collections.abc import Callable, Sequence

from assistant.model.documents.checkin import Reads
from assistant.model.entries import Entry


def written(entries: Sequence[Entry], reads: Reads) -> str:
    """Return entries as text that the same reader reads, in SI units."""
    if reads in {"sessions", "pains"}:  # what is not named is missed, or does not hurt
        entries = [entry for entry in entries if entry.value]
    if not entries:
        return "none"
    if reads == "eating":
        return ", ".join(_write_eating(entries))
    return ", ".join(_WRITERS[reads](entry) for entry in entries)


def _number(value: float | None) -> str:
    return f"{value or 0.0:.10g}"


def _write_set(entry: Entry) -> str:
    name = entry.detail.replace("_", " ")
    reserve = "" if entry.reserve is None else f" @{entry.reserve:g}"
    return (
        f"{entry.day.isoformat()} {name} {_number(entry.value)} kg x {entry.repetitions}{reserve}"
    )


def _write_eating(entries: Sequence[Entry]) -> list[str]:
    protein = {entry.day: entry for entry in entries if entry.measure == "protein_g"}
    parts = []
    for entry in entries:
        if entry.measure == "energy_kcal":
            beside = protein.get(entry.day)
            more = f"/{_number(beside.value)}" if beside is not None else ""
            parts.append(f"{entry.day.isoformat()} {_number(entry.value)}{more}")
    return parts


_WRITERS: dict[Reads, Callable[[Entry], str]] = {
    "weights": lambda e: f"{e.day.isoformat()} {_number(e.value)} kg",
    "girths": lambda e: f"{e.day.isoformat()} {e.detail.replace('_', ' ')} {_number(e.value)} cm",
    "sleep": lambda e: f"{_number(e.value)} h",
    "days": lambda e: e.day.isoformat(),
    "pains": lambda e: f"{e.detail.replace('_', ' ')} {_number(e.value)}",
    "top_sets": _write_set,
    "sessions": lambda e: e.day.isoformat(),
}
