"""The table of a simulation: errors, coverage, shares and outcomes. Run by hand for 500 clients.

PYTHONPATH=. python tests/measure/table.py 500
    PYTHONPATH=. python tests/measure/table.py 100 review.sure_percent=90
    PYTHONPATH=. python tests/measure/table.py 100 by_hand_kcal=150
"""

import math
import sys
import time
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from statistics import fmean, median

from reviewed import SETTINGS, Course, book, reviewed

from assistant.casefiles import read_case
from assistant.model.values import Value

CASE = Path(__file__).parents[2] / "cases/four_days.yaml"


def clear_answers() -> Mapping[str, Value]:
    return read_case(CASE, book()[0]).answers


def share(yes: Iterable[bool]) -> float:
    marks = list(yes)
    return 100 * sum(marks) / len(marks) if marks else math.nan


def coverage(
    courses: list[Course], first: int, last: int, which: str
) -> tuple[float, float, float, int]:
    """Share of intervals that hold the truth, root mean square error, bias, number."""
    rows = [
        (getattr(w, which), w.true_maintenance)
        for c in courses for w in c.weeks
        if first <= w.number <= last and getattr(w, which) is not None
    ]  # fmt: skip
    errors = [said[0] - truth for said, truth in rows]
    held = share(abs(error) <= said[1] for error, (said, _) in zip(errors, rows, strict=True))
    return held, math.sqrt(fmean(e * e for e in errors)), fmean(errors), len(rows)


def wrong_early(courses: list[Course], last: int = 4) -> float:
    """Share of clients with a wrong change of food in the first weeks, %."""
    return share(any(w.energy_was_wrong for w in c.weeks if w.number <= last) for c in courses)


def in_band(courses: list[Course], first: int, last: int, goal: str | None = None) -> float:
    return share(
        w.in_band
        for c in courses for w in c.weeks
        if first <= w.number <= last and goal in {None, c.client.goal}
    )  # fmt: skip


def false_stalls(courses: list[Course]) -> tuple[float, float]:
    """Share of reviews, and of clients, called stalled while lifts truly rise enough, %."""
    rows = [(w.lifts == "stalled") for c in courses for w in c.weeks if not w.slow]
    people = [any(w.lifts == "stalled" and not w.slow for w in c.weeks) for c in courses]
    return share(rows), share(people)


def missed_stalls(courses: list[Course], patience: int = 10) -> tuple[float, int]:
    """Share of true stalls that last so many weeks and were not called in them, %, and their number."""
    marks = []
    for course in courses:
        run: list[bool] = []
        for week in course.weeks:
            if week.stalled:
                run.append(week.lifts in {"stalled", "falling"})
                if len(run) == patience or run[-1]:
                    marks.append(not any(run))
                    break
            else:
                run = []
    return share(marks), len(marks)


def falls_called(courses: list[Course], within: int = 6) -> tuple[float, int]:
    """Share of true falls that were called within so many weeks of their start, %, and their number."""
    marks = []
    for course in courses:
        from_week = next((w.number for w in course.weeks if w.falling), None)
        if from_week is None:
            continue
        seen = [w for w in course.weeks if from_week <= w.number < from_week + within]
        called = any(w.lifts == "falling" for w in seen)
        if called or len(seen) == within:
            marks.append(called)
    return share(marks), len(marks)


def false_falls(courses: list[Course], looked_back: int = 6) -> float:
    """Share of all reviews that call a fall where the true maxima are not lower than weeks before, %."""
    rows = []
    for course in courses:
        for at, week in enumerate(course.weeks):
            before = course.weeks[max(at - looked_back, 0)]
            rows.append(week.lifts == "falling" and week.strength >= before.strength - 0.01)
    return share(rows)


def main(count: int, by_hand_kcal: float = 0.0) -> None:
    """Print the table. by_hand_kcal: every other client's food is changed by hand for some weeks, up or down."""
    clear = clear_answers()
    before = time.process_time()
    hands = (0.0, by_hand_kcal, 0.0, -by_hand_kcal)
    courses = [
        c
        for seed in range(count)
        if (c := reviewed(seed, clear, by_hand_kcal=hands[seed % 4])) is not None
    ]
    used = time.process_time() - before
    fixed = [c for seed in range(count) if (c := reviewed(seed, clear, act=False)) is not None]
    reviews = sum(len(c.weeks) for c in courses)
    print(
        f"{len(courses)} clients of {count}, {reviews} reviews, {1000 * used / reviews:.1f} ms each"
    )
    for which in ("said", "window_only"):
        for first, last in ((3, 3), (4, 5), (6, 8), (9, 12), (13, 26), (3, 26)):
            held, rms, bias, number = coverage(courses, first, last, which)
            print(
                f"{which} weeks {first}-{last}: held {held:.1f} %, error {rms:.0f}, bias {bias:+.0f}, n {number}"
            )
    for goal in (None, "gain_muscle", "lose_fat", "maintain"):
        cells = [
            (in_band(x, 1, 4, goal), in_band(x, 5, 12, goal), in_band(x, 13, 26, goal))
            for x in (courses, fixed)
        ]
        print(f"in band {goal}: reviewed {cells[0]}, fixed {cells[1]}")
    print(
        f"wrong food change in 4 weeks: {wrong_early(courses):.1f} % of clients; in 6: {wrong_early(courses, 6):.1f} %"
    )
    changes = [w for c in courses for w in c.weeks if w.energy_change]
    of_pace = [w for w in changes if not w.for_the_lifts]
    print(f"food changes {len(changes)}, wrong {share(w.energy_was_wrong for w in changes):.1f} %")
    print(f"of the pace {len(of_pace)}, wrong {share(w.energy_was_wrong for w in of_pace):.1f} %")
    print(f"false stalls: {false_stalls(courses)}; missed: {missed_stalls(courses)}")
    print(
        f"falls called in six weeks: {falls_called(courses)}; false: {false_falls(courses):.1f} %"
    )
    print(Counter(w.decision for c in courses for w in c.weeks))
    for goal in ("gain_muscle", "lose_fat"):
        for name, group in (("reviewed", courses), ("fixed", fixed)):
            some = [c for c in group if c.client.goal == goal]
            lean, fat = fmean(c.lean_kg for c in some), fmean(c.fat_kg for c in some)
            print(
                f"{goal} {name}: lean {lean:+.2f} kg, fat {fat:+.2f} kg, median fat {median(c.fat_kg for c in some):+.2f}, n {len(some)}"
            )


if __name__ == "__main__":
    given = {k: float(v) for k, _, v in (a.partition("=") for a in sys.argv[2:])}
    by_hand = given.pop("by_hand_kcal", 0.0)
    SETTINGS.update(given)
    main(int(sys.argv[1]), by_hand)
