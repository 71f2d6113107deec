"""Lines of a check-in as people type them: read, or refused in one line; shown as they read back."""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.intake.checkin.book import CheckinBook, checkin_book
from assistant.intake.checkin.typed_lines import Situation, day_and_rest, read_lines
from assistant.intake.checkin.written import written
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.intake.speech import Speech
from assistant.model.documents.checkin import Reads
from assistant.model.entries import Entry
from assistant.model.knowledge import KnowledgeBase

SUNDAY = dt.date(2026, 1, 18)


@pytest.fixture(scope="module")
def book(kb: KnowledgeBase) -> CheckinBook:
    return checkin_book(kb, dt.date(2026, 1, 31))


@pytest.fixture(scope="module")
def situation(book: CheckinBook) -> Situation:
    return Situation(book, SUNDAY, (SUNDAY - dt.timedelta(days=3), SUNDAY), ("hip",))


def said(reads: Reads, text: str, situation: Situation) -> set[tuple[object, ...]]:
    found = read_lines(reads, text, situation, UnitSystem.METRIC)
    return {(e.measure, e.day.day, e.detail, e.value, e.repetitions, e.reserve) for e in found}


@pytest.mark.parametrize(
    ("reads", "text", "lines"),
    [
        ("weights", "63,4", {("weight_kg", 18, "", 63.4, None, None)}),
        ("weights", "sat 63.4; yesterday 63.4", {("weight_kg", 17, "", 63.4, None, None)}),
        ("weights", "2026-01-05 63 kg", {("weight_kg", 5, "", 63.0, None, None)}),
        ("weights", "Monday: 63", {("weight_kg", 12, "", 63.0, None, None)}),
        ("girths", "waist 72, upper arm 31", {("girth_cm", 18, "waist", 72.0, None, None),
                                              ("girth_cm", 18, "upper_arm", 31.0, None, None)}),
        ("eating", "2150/110, fri 9000 kj", {("energy_kcal", 18, "", 2150.0, None, None),
                                             ("protein_g", 18, "", 110.0, None, None),
                                             ("energy_kcal", 16, "", 9000 / 4.184, None, None)}),
        ("sleep", "7 h 30", {("sleep_hours", 18, "", 7.5, None, None)}),
        ("days", "none", set()),
        ("days", "wed", {("cycle_start", 14, "", 1.0, None, None)}),
        ("pains", "knee 3/10", {("pain", 18, "knee", 3.0, None, None),
                                ("pain", 18, "hip", 0.0, None, None)}),
        ("pains", "none", {("pain", 18, "hip", 0.0, None, None)}),
        ("sessions", "all", {("session", 15, "", 1.0, None, None),
                             ("session", 18, "", 1.0, None, None)}),
        ("sessions", "sun", {("session", 15, "", 0.0, None, None),
                             ("session", 18, "", 1.0, None, None)}),
        ("top_sets", "squat 80 x 8 @2", {("top_set", 18, "squat_back_barbell", 80.0, 8, 2.0)}),
        ("top_sets", "thu Romanian deadlift 82,5x10",
         {("top_set", 15, "rdl_barbell", 82.5, 10, None)}),
    ],
)  # fmt: skip
def test_lines_as_people_type_them(
    reads: Reads, text: str, lines: set[object], situation: Situation
) -> None:
    assert said(reads, text, situation) == lines


@pytest.mark.parametrize(
    ("reads", "text", "told"),
    [
        ("weights", "634", "not possible"),
        ("weights", "5/1 63", "two ways"),
        ("weights", "2026-02-01 63", "after today"),
        ("weights", "2026-13-01 63", "calendar"),
        ("weights", "mon 63, mon 64", "twice"),
        ("weights", "heavy", "not understood"),
        ("girths", "72", "like waist 72"),
        ("girths", "wasit 72", "did you mean `waist`"),
        ("eating", "2", "not possible"),
        ("eating", "2,150", "can mean"),
        ("sleep", "25", "not possible"),
        ("pains", "knee 11", "not possible"),
        ("pains", "knee 2.5", "not a whole number"),
        ("pains", "ear 3", "not a joint"),
        ("sessions", "mon 5", "not a day"),
        ("top_sets", "squad 80 x 8", "not in the book"),
        ("top_sets", "squat 80", "write it like"),
        ("top_sets", "squat 80 x 90", "not possible"),
        ("top_sets", "squat 80 x 8 @20", "not possible"),
    ],
)
def test_what_cannot_be_read_is_told_in_one_line(
    reads: Reads, text: str, told: str, situation: Situation
) -> None:
    with pytest.raises(Refusal) as caught:
        read_lines(reads, text, situation, UnitSystem.METRIC)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


@settings(max_examples=30, deadline=None)
@given(
    reads=st.sampled_from(["weights", "girths", "eating", "top_sets"]),
    rows=st.lists(st.tuples(st.integers(0, 13), st.floats(41, 149)), min_size=1, max_size=5,
             unique_by=lambda pair: pair[0]),
)  # fmt: skip
def test_what_is_shown_reads_back_as_the_same(
    reads: Reads, rows: list[tuple[int, float]], situation: Situation
) -> None:
    entries: list[Entry] = []
    for back, value in rows:
        day = SUNDAY - dt.timedelta(days=back)
        if reads == "weights":
            entries.append(Entry("weight_kg", day, value))
        elif reads == "girths":
            entries.append(Entry("girth_cm", day, value, "waist"))
        elif reads == "eating":
            entries += [Entry("energy_kcal", day, value * 20), Entry("protein_g", day, value)]
        else:
            entries.append(Entry("top_set", day, value, "leg_press", 8, 1.5))
    back_again = read_lines(reads, written(entries, reads), situation, UnitSystem.METRIC)
    assert [e.spot for e in back_again] == [e.spot for e in entries]
    for ours, theirs in zip(entries, back_again, strict=True):
        assert theirs.value == pytest.approx(ours.value, rel=1e-9)
        assert (theirs.repetitions, theirs.reserve) == (ours.repetitions, ours.reserve)


def test_a_weekday_is_the_last_one_up_to_today() -> None:
    """Compared with the calendar of the standard library."""
    names = ("Monday", "tue", "weds", "thurs", "friday", "sat", "SUN")
    for number, name in enumerate(names):
        day, rest = day_and_rest(f"{name} 63.4", SUNDAY, Speech())
        assert day.weekday() == number
        assert 0 <= (SUNDAY - day).days <= 6
        assert rest == "63.4"
