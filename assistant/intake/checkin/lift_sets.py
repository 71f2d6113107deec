"""The sets of a lift as a person types them: `80 x 10,10,9 @2 + 70 x 12`, one entry a lift and day."""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator, Sequence

from assistant.intake.quantities import Refusal, read_number, tidy
from assistant.intake.speech import Sentence
from assistant.model.documents.checkin import CheckinDocument
from assistant.model.entries import Entry
from assistant.model.history import LiftSet

SETS_EXAMPLE = Sentence("back squat 80 x 8 @2, or 80 x 10,10,9 @2 for all sets")
_ALIKE = (
    r"(?P<load>\d+(?:[.,]\d+)? ?[a-z]*) ?(?:x|\*|\N{MULTIPLICATION SIGN}) ?"
    r"(?P<reps>\d+(?: ?, ?\d+)*)(?: ?@ ?(?P<reserve>\d+(?:[.,]\d+)?)(?: ?rir)?)?"
)
_GROUP = re.compile(_ALIKE)
_BARE_GROUP = re.sub(r"\?P<\w+>", "?:", _ALIKE)
_SETS = rf"{_BARE_GROUP}(?: ?\+ ?{_BARE_GROUP})*"
_LINE = re.compile(rf"(?P<name>.*?[^\d\s.,]) +(?P<sets>{_SETS})")
_BARE_REPETITIONS = re.compile(r"\d{1,2}(?: ?@.*)?")


def with_bare_repetitions(parts: Sequence[str]) -> list[str]:
    """Join parts of a line that are repetitions alone to the set before them: `80 x 10, 10, 9`."""
    joined: list[str] = []
    for part in parts:
        if joined and _BARE_REPETITIONS.fullmatch(tidy(part)):
            joined[-1] += f",{part}"
        else:
            joined.append(part)
    return joined


def name_and_sets(text: str) -> tuple[str, str]:
    """Return the lift's name and its sets as they stand in a part of a line; empty where there is no such thing."""
    match = _LINE.fullmatch(tidy(text))
    return ("", "") if match is None else (match["name"], match["sets"])


def read_sets(text: str, load: Callable[[str], float], book: CheckinDocument) -> Iterator[LiftSet]:
    """Yield the sets of a text; one reserve holds for all repetitions before it. Raises Refusal.

    load: reads a load with its unit, in kg.
    """
    for part in tidy(text).split("+"):
        match = _GROUP.fullmatch(part.strip())
        if match is None:
            told = "`{typed}` is no set; write it like 80 x 10,10,9 @2"
            raise Refusal(told, typed=part.strip())
        reserve = float(read_number(match["reserve"])) if match["reserve"] else None
        least, most = book.reserve
        if reserve is not None and not least <= reserve <= most:
            told = "{count} left is not possible; allowed: {low} to {high}"
            raise Refusal(told, count=reserve, low=least, high=most)
        for typed in match["reps"].split(","):
            repetitions, (low, high) = int(typed), book.repetitions
            if not low <= repetitions <= high:
                told = "{count} repetitions are not possible; allowed: {low} to {high}"
                raise Refusal(told, count=repetitions, low=low, high=high)
            yield LiftSet(load(match["load"]), repetitions, reserve)


def day_of_sets(day: dt.date, exercise: str, sets: Iterable[LiftSet]) -> Entry:
    """Return the sets of a lift on a day as one entry: the heaviest, most repeated one at the top."""
    done = list(sets)
    top = max(done, key=lambda each: (each.load_kg, each.repetitions + (each.reserve or 0.0)))
    done.remove(top)
    return Entry("top_set", day, top.load_kg, exercise, top.repetitions, top.reserve, tuple(done))
