"""Generated records for the laws of signs: weights that hold, fall or rise, moods, pains, agreements."""

import dataclasses
from dataclasses import dataclass

from hypothesis import strategies as st
from records import day

from assistant.model.history import (
    Agreement,
    DayNote,
    History,
    Pain,
    SignMark,
    Weighing,
)

LAST = 55
JOINTS = ("knee", "low_back", "shoulder", "hip", "wrist", "elbow")


@dataclass(frozen=True)
class Worse:
    """One more entry, or one that is worse than before, as a change of a record."""

    kind: str
    day: int
    joint: str
    value: int
    percent: float


@st.composite
def records(draw: st.DrawFn) -> History:
    """A record of up to eight weeks whose weight holds or changes in two straight parts."""
    start = draw(st.sampled_from((45.0, 48.0, 52.0, 60.0, 75.0)))
    turn = draw(st.integers(7, LAST))
    paces = [draw(st.sampled_from((-1.6, -1.1, -0.6, 0.0, 0.0, 0.5, 0.9))) for _ in range(2)]
    every = draw(st.sampled_from((1, 1, 2, 7)))
    until = draw(st.integers(40, LAST))
    weights, weight = [], start
    for number in range(LAST + 1):
        weight *= 1 + paces[number > turn] / 700
        if number % every == 0 and number <= until:
            weights.append(Weighing(day(number), round(weight, 2)))
    days = st.integers(0, LAST)
    moods = draw(st.dictionaries(days, st.integers(1, 5), max_size=12))
    pains = draw(
        st.dictionaries(st.tuples(days, st.sampled_from(JOINTS)), st.integers(0, 10), max_size=6)
    )
    clear = draw(st.integers(-1, LAST))
    signs = draw(st.dictionaries(st.tuples(days, st.sampled_from(("swelling", "breathlessness"))),
                                 st.booleans(), max_size=2))  # fmt: skip
    return History(
        weighings=tuple(weights),
        notes=tuple(DayNote(day(n), mood_1_to_5=mood) for n, mood in sorted(moods.items())),
        pains=tuple(
            Pain(day(n), joint, pain, asked_clear=n < clear)
            for (n, joint), pain in sorted(pains.items())
        ),
        signs=tuple(SignMark(day(n), sign, felt) for (n, sign), felt in sorted(signs.items())),  # type: ignore[arg-type]
    )


worse_entries = st.builds(
    Worse,
    kind=st.sampled_from(("pain", "mood", "sign", "weight")),
    day=st.integers(0, LAST),
    joint=st.sampled_from(JOINTS),
    value=st.integers(4, 10),
    percent=st.floats(0.3, 5.0),
)

agreements = st.builds(
    Agreement,
    day=st.just(day(LAST)),
    energy_target_kcal_per_day=st.sampled_from((None, 1800.0, 2100.0, 2600.0)),
    phase=st.sampled_from((None, "hold", "build", "cut")),
    block_starts=st.booleans(),
    sets_changed=st.booleans(),
    easier_week=st.booleans(),
    log_mended=st.booleans(),
)


def with_worse(history: History, worse: Worse) -> History:
    """Return the record with the worse entry.

    Pain that counts is added, or takes the place of less; a day becomes low; a sign is felt; the last
    weight is lower than it was.
    """
    on = day(worse.day)
    if worse.kind == "pain":
        before = [p for p in history.pains if (p.day, p.joint) == (on, worse.joint)]
        # Less than was told before would be good news, and the last word on a joint counts.
        told = [p.pain_0_to_10 for p in history.pains if p.joint == worse.joint and p.day <= on]
        value = max([worse.value, *told])
        others = [pain for pain in history.pains if pain not in before]
        more = Pain(on, worse.joint, value)
        return dataclasses.replace(history, pains=_sorted([*others, more]))
    if worse.kind == "mood":
        kept = [note for note in history.notes if note.day != on]
        low = DayNote(on, mood_1_to_5=1 if worse.value > 6 else 2)
        was = [note for note in history.notes if note.day == on]
        if was and (was[0].mood_1_to_5 or 5) < (low.mood_1_to_5 or 5):
            return history
        return dataclasses.replace(history, notes=_sorted([*kept, low]))
    if worse.kind == "sign":
        kept_signs = [mark for mark in history.signs if mark.day != on]
        felt = [SignMark(on, "swelling", felt=True), SignMark(on, "breathlessness", felt=True)]
        return dataclasses.replace(history, signs=_sorted([*kept_signs, *felt]))
    *rest, last = history.weighings
    lower = Weighing(last.day, round(last.weight_kg * (1 - worse.percent / 100), 2))
    return dataclasses.replace(history, weighings=(*rest, lower))


def _sorted(rows: list[object]) -> tuple[object, ...]:  # type: ignore[misc]
    return tuple(sorted(rows, key=lambda row: row.day))  # type: ignore[attr-defined]
