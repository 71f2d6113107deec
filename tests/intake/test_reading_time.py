"""How many answers the first questions take, and how long they take to read, for eight invented people.

`pytest -n 0 -s tests/intake/test_reading_time.py` prints the table of DEVELOPERS.md. Minutes are words / 200 and 4 s
an answer (`assistant/intake/reading.py`): an estimate of ours, measured on nobody.
"""

from collections.abc import Mapping

import pytest
from intake_walks import quiet_answer, walk
from test_tick_law import form_before
from tick_lists import form

from assistant.intake.form import Form, Slot
from assistant.intake.reading import minutes_for, minutes_left

ADULT = {
    "client.age_years": "35",
    "screen.active_last_3_months": "yes",
    "screen.wants_vigorous": "yes",
    "client.available_days": "mon, wed, fri",
    "client.weeks_on_programme": "8",
    "client.shape_goal": "v shape",
    "ticks.wishes": "A shape in mind",
}
WOMAN = ADULT | {"client.age_years": "29", "screen.cycle_or_birth_applies": "yes"}
MORE: Mapping[str, Mapping[str, str]] = {
    "healthy man of 35": ADULT,
    "healthy woman of 29": WOMAN,
    "beginner of 52 with a sore knee": ADULT | {
        "client.age_years": "52", "client.training_age_months": "0", "client.weeks_on_programme": "none",
        "client.sore_joints": "knee", "screen.active_last_3_months": "no"},
    "woman of 31, pregnant": WOMAN | {"screen.pregnant": "yes", "screen.pregnancy_trimester": "2",
        "screen.maternity_team_agrees": "yes"},
    "man of 63 with diabetes and tablets": ADULT | {
        "client.age_years": "63", "screen.disease": "diabetes type 2", "screen.cleared_months_ago": "2",
        "ticks.health": "1, 2", "screen.bp_systolic": "138", "screen.bp_diastolic": "84",
        "screen.medicines": "metformin, ramipril, atorvastatin"},
    "woman of 24 with worries about eating": WOMAN | {
        "client.age_years": "24", "client.goal": "lose fat", "ticks.food": "1, 5, 6", "ticks.body": "2, 5",
        "screen.eats_past_stopping": "yes", "screen.mind_taken_up": "yes", "screen.rules_spoil_mood": "yes",
        "screen.distress_at_missed_session": "yes", "screen.hides_body_or_skips_things": "yes"},
    "lifter of 27 with figures and a date": ADULT | {
        "client.age_years": "27", "client.training_age_months": "6 years", "ticks.wishes": "1, 2, 4, 5",
        "client.priority_muscles": "shoulders, back", "client.goal_weight_kg": "82 kg",
        "client.target_date": "1 September 2026", "client.cut_before_date": "yes", "ticks.figures": "2, 4, 5, 6",
        "screen.weeks_of_trend": "20", "screen.weight_change_percent_per_week": "0.1",
        "client.intake_kcal_per_day": "2900", "client.protein_g_per_day": "160", "client.waist_cm": "82",
        "client.hip_cm": "98", "client.shoulder_cm": "125", "client.neck_cm": "39", "client.thigh_cm": "60",
        "client.body_fat_percent": "14"},
    "woman of 47 with many conditions": WOMAN | {
        "client.age_years": "47", "screen.disease": "heart, kidneys", "screen.cleared_months_ago": "1",
        "screen.conditions": "epilepsy, hernia or bulge, glaucoma", "ticks.health": "1, 2, 5, 6, 8, 10, 12",
        "screen.bp_systolic": "142", "screen.bp_diastolic": "88", "screen.medicines": "apixaban, bisoprolol",
        "screen.thyroid": "stable", "screen.surgery_weeks_ago": "30", "screen.osteoporosis": "1",
        "screen.pelvic_floor_symptom": "yes", "screen.falls_last_year": "twice", "ticks.cycle": "3, 4",
        "screen.hormonal_contraception": "yes", "screen.months_without_period": "does not apply"},
}  # fmt: skip


def measured(person: Mapping[str, str], of: Form) -> tuple[int, float]:
    """Return the answers that a person alone gives to a form, and the minutes for it."""

    def text_for(slot: Slot) -> str:
        return person.get(slot.fact) or quiet_answer(slot)

    *asked, _ = walk(of, "self", text_for)
    return len(asked), minutes_for((state.form.slots[state.position] for state in asked), "self")


@pytest.fixture(scope="module")
def table() -> dict[str, tuple[int, float, int, float]]:
    return {
        who: (*measured(said, form()), *measured(said, form_before())) for who, said in MORE.items()
    }


def test_a_healthy_adult_gives_few_answers_and_reads_for_a_short_time(
    table: dict[str, tuple[int, float, int, float]],
) -> None:
    print("\n| who | answers | minutes | one by one: answers | minutes |\n|---|---|---|---|---|")
    for who, (answers, minutes, before, minutes_before) in table.items():
        print(f"| {who} | {answers} | {minutes:.0f} | {before} | {minutes_before:.0f} |")
    # How much a sore joint hurts, when, on which side and in which movement are four answers more.
    for who, more in (
        ("healthy man of 35", 0),
        ("healthy woman of 29", 0),
        ("beginner of 52 with a sore knee", 4),
    ):
        answers, minutes, *_ = table[who]
        assert answers <= 45 + more, who
        assert minutes <= 12, who


def test_nobody_gives_more_answers_than_one_by_one(
    table: dict[str, tuple[int, float, int, float]],
) -> None:
    for who, (answers, minutes, before, minutes_before) in table.items():
        assert answers < before, who
        assert minutes < minutes_before, who


def test_minutes_left_fall_while_a_person_answers() -> None:
    states = walk(form(), "self", lambda slot: ADULT.get(slot.fact) or quiet_answer(slot))[:-1]
    left = [minutes_left(state) for state in states]
    assert left[0] <= 15
    assert left[-1] == 1
