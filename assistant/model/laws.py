"""What no rule book may soften: the answers that stop everything, and the flags they raise.

This list is code on purpose. A book's editors change a flag and its tests in one go; here they meet
somebody else's eye. Each entry gives, for a person who is otherwise clear, answers that must stop.
"""

from collections.abc import Mapping

from assistant.model.values import Status, Value

STOPS: Mapping[str, Mapping[str, Value]] = {
    "symptom_now": {"screen.symptom_now": ("chest_pain",)},
    "cauda_equina_sign": {"screen.saddle_or_bladder_change": True},
    "rhabdo_sign": {"screen.muscle_breakdown_sign": True},
    "toxic_fat_burner": {"screen.purging_or_misuse": ("dinitrophenol",)},
    "bmi_under_13": {"client.height_cm": 165.0, "client.weight_kg": 35.0},
    "bmi_under_16": {"client.height_cm": 165.0, "client.weight_kg": 40.0},
    "pregnancy_warning_sign": {"screen.pregnant": True, "screen.pregnancy_warning_sign": True},
    "self_harm_thoughts": {"screen.self_harm_thoughts": True},
    "new_weakness": {"screen.new_weakness": True},
    "urgent_body_sign": {"screen.urgent_body_sign": ("calf_swelling",)},
    "suspected_fracture": {"screen.suspected_fracture": True},
    "bp_stop": {"screen.bp_systolic": 180.0, "screen.bp_diastolic": 80.0},
    "hypo_recent": {"screen.severe_low_sugar_last_24h": True},
    "purging_with_symptoms": {
        "screen.purging_or_misuse": ("laxatives",),
        "screen.purging_symptoms": True,
    },
    "weight_medicine_unwell": {"screen.weight_medicine_unwell": True},
    "hernia_stuck": {"screen.conditions": ("hernia_or_bulge",), "screen.hernia_stuck": True},
    "head_knock_on_thinners": {
        "screen.medicines": ("anticoagulant",),
        "screen.head_knock_recent": True,
    },
    "under_16": {"client.age_years": 15.0},
    "minor_guardian_no": {"client.age_years": 16.0, "screen.guardian_agrees": False},
    "minor_guardian_open": {"client.age_years": 17.0, "screen.guardian_agrees": Status.UNKNOWN},
    "age_unknown": {"client.age_years": Status.DECLINED},
    # What a record says: a body mass index of 16.9, and half or one and a half kilograms lost a week.
    "thin_and_losing": {
        "client.height_cm": 165.0,
        "record.last_weight_kg": 46.0,
        "record.loss_each_week_kg": 0.5,
    },
    "thin_and_losing_fast": {
        "client.height_cm": 165.0,
        "record.last_weight_kg": 46.0,
        "record.loss_each_week_kg": 1.5,
    },
    "sudden_gain_signs": {"record.signs_felt": ("swelling",)},
}
# Lists in which every single item stops.
EACH_STOPS = ("screen.symptom_now", "screen.urgent_body_sign")
# What a stop leaves.
LEFT_BY_A_STOP = frozenset({"referral_note", "safety_message"})
# What no rule of a gym's own folder concludes: the screen, the gates, limits and the floor of the food, and
# decisions on flags. Endings with a dot are all facts that begin so.
LOCKED = ("screen.", "context.", "plan.left_out", "training.limits", "training.lifting_waits",
          "energy.floor_kcal_per_day", "energy.by_hand_low_kcal_per_day")  # fmt: skip
# What a gym's own folder may hold beside rules, tables and flags: kinds of files, and documents with their fields.
HOUSE_KINDS = ("rule", "tables", "flag", "facts", "parameters", "sources", "questions", "language",
               "how_to", "how_to_said", "pose")  # fmt: skip
HOUSE_DOCUMENTS: Mapping[str, frozenset[str]] = {
    "exercises": frozenset({"exercises", "equipment", "equipment_sets"}),
    "wording": frozenset({"units", "grammar", "counted", "labels", "typed_for"}),
}
# What silence on a question of a tier takes out at least.
SILENCE: Mapping[str, frozenset[str]] = {
    "A": frozenset({"exercise_any", "vigorous_effort", "max_tests", "impact_work"}),
    "B": frozenset({"energy_deficit", "weight_goal", "body_measures", "bmi_shown"}),
    "C": frozenset({"max_tests"}),
}
