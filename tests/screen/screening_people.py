"""Generated people for the laws of the screen: a base person with a few answers that differ."""

from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st
from lengths import at_length
from screening import EXAMPLES

Person = tuple[str, dict[str, Any]]
# Generated people in the long checks.
MANY = at_length(10_000, in_ci=200)

# The opening tick list, item by item.
CONDITIONS = (
    "aneurysm", "heart_device", "inherited_heart_condition", "sudden_death_in_family", "sickle_trait",
    "epilepsy", "cancer_treatment", "bone_metastases", "lymphoedema", "worse_after_effort",
    "faint_or_racing_on_standing", "concussion_recent", "hernia_or_bulge", "retinopathy", "glaucoma",
    "eye_operation_recent", "past_muscle_breakdown", "past_heat_collapse", "sleep_apnoea",
    "lasting_insomnia", "alcohol_heavy",
)  # fmt: skip

# What an answer looks like when it is a red flag. A list answer gains the item.
RED: Mapping[str, tuple[Any, ...]] = {
    "age": (17, 15.0),
    "disease": ("heart", "kidney", "diabetes_type_1"),
    "symptom_now": ("chest_pain", "face_droop"),
    "symptom_recent": ("palpitations", "ankle_swelling"),
    "urgent_body_sign": ("calf_swelling", "head_knock"),
    "saddle_or_bladder_change": (True,),
    "muscle_breakdown_sign": (True,),
    "new_weakness": (True,),
    "suspected_fracture": (True,),
    "bp_systolic": (140, 160, 180),
    "bp_diastolic": (90, 100, 110),
    "medicines": (
        "insulin",
        "lithium",
        "sulfonylurea",
        "anticoagulant",
        "fluoroquinolone",
        "fat_burner",
    ),
    "eating_disorder": ("past", "current_in_care", "current_no_care"),
    "eating_answer_withdrawn": (True,),
    "purging_or_misuse": ("laxatives", "dinitrophenol"),
    "purging_symptoms": (True,),
    "eats_past_stopping": (True,),
    "close_people_disagree": (True,),
    "mind_taken_up": (True,),
    "rules_spoil_mood": (True,),
    "pays_for_food_with_training": (True,),
    "large_recent_loss": (True,),
    "measuring_feels": ("rather_not", "upsetting"),
    "hides_body_or_skips_things": (True,),
    "feels_too_small_others_disagree": (True,),
    "gives_up_life_for_physique": (True,),
    "trains_when_hurt_or_ill": (True,),
    "distress_at_missed_session": (True,),
    "performance_drugs": ("current", "stopped_under_12_months"),
    "low_mood_two_weeks": (True,),
    "self_harm_thoughts": (True,),
    "bmi": (18.4, 17.0, 15.0, 12.5),
    "goal_bmi": (18.0,),
    "unplanned_loss_percent_6_months": (6,),
    "months_without_period": (2, 3, 12),
    "cycle_longer_than_35_days": (True,),
    "energy_availability": (33, 29),
    "bone_stress_injuries_2_years": (1, 2),
    "low_energy_signs": (2, 5),
    "pregnant": (True,),
    "pregnancy_warning_sign": (True,),
    "weeks_since_birth": (3, 8),
    "breastfeeding": (True,),
    "severe_low_sugar_last_24h": (True,),
    "thyroid": ("uncontrolled",),
    "osteoporosis": ("yes_no_fracture", "with_vertebral_fracture"),
    "surgery_weeks_ago": (4,),
    "bariatric_surgery": (True,),
    "weight_medicine": ("prescribed_followed", "unsupervised"),
    "weight_medicine_unwell": (True,),
    "pelvic_floor_symptom": (True,),
    "joint_dislocations": (True,),
    "falls_last_year": (2,),
    "ill_today": (True,),
    "conditions": CONDITIONS,
    "hernia_stuck": (True,),
    "head_knock_recent": (True,),
    "seizure_last_year": (True,),
    "first_period_absent": (True,),
    "low_desire": (True,),
    "training_months_lost_to_bone": (6,),
    "insulin_for_physique": (True,),
    "goal_under_pressure": (True,),
}

# Answers that are no red flag but decide what others mean.
CONTEXT: Mapping[str, tuple[Any, ...]] = {
    "age": (45,),  # an unknown blood pressure counts from forty
    "pregnancy_trimester": (3,),
    "birth_by_section": (True,),
    "goal": ("build_muscle", "maintain", "lose_fat"),
    "active_last_3_months": (False,),
    "wants_vigorous": (False,),
    "cleared_months_ago": (8, 14),
    "change_since_clearance": (True,),
    "hormonal_contraception": (True,),
    "pcos_in_care": (True,),
    "maternity_team_agrees": (True,),
    "guardian_agrees": (True,),
    "bone_stress_high_risk_site": (True,),
    "highest_adult_bmi": (32,),
    "weeks_of_trend": (4,),
    "weight_change_percent_per_week": (-1.5, 0.6, 0.8),
}

# Answers that a new one makes moot: the intake then does not ask them (safety questions of the cycle
# while pregnant or nursing, adult weight lines under 18), and a wish under a line gives way to the line
# itself, as the worked examples say. The laws compare people for whom they are moot before and after.
MOOT: Mapping[str, Mapping[str, Any]] = {
    "pregnant": {
        "months_without_period": "not_applicable",
        "cycle_longer_than_35_days": "not_applicable",
        "highest_adult_bmi": "none",
    },
    "breastfeeding": {
        "months_without_period": "not_applicable",
        "cycle_longer_than_35_days": "not_applicable",
    },
    "age": {"bmi": "not_applicable", "goal_bmi": "none", "highest_adult_bmi": "none"},
    "bmi": {"goal_bmi": "none"},
}
SILENCE = ("unknown", "declined")
DISTURBED = tuple({**RED, **CONTEXT})


def base_value(base: str, key: str) -> Any:
    """Return what a base person answers."""
    return EXAMPLES["base_answers"][base][key]


def with_red(person: Person, key: str, red: Any) -> Person:
    """Return the person with one more red flag."""
    base, changes = person
    now = changes.get(key, base_value(base, key))
    value = sorted({*now, red}) if isinstance(now, list) else red
    return base, {**changes, key: value}


def is_clear(person: Person, key: str) -> bool:
    """Return whether the person's answer is the clear one of the base."""
    base, changes = person
    return key not in changes or changes[key] == base_value(base, key)


def possible_values(base: str, key: str) -> tuple[Any, ...]:
    """Return what a disturbed answer may be: red, context, or silence."""
    lists = isinstance(base_value(base, key), list)
    red = [[value] if lists else value for value in RED.get(key, ())]
    return (*red, *CONTEXT.get(key, ()), *SILENCE)


@st.composite
def people(draw: st.DrawFn, most: int = 6) -> Person:
    """A base person with up to `most` answers that are red, unusual, unknown or declined."""
    base = draw(st.sampled_from(("woman", "man")))
    keys = draw(st.lists(st.sampled_from(DISTURBED), max_size=most, unique=True))
    return base, {key: draw(st.sampled_from(possible_values(base, key))) for key in keys}
