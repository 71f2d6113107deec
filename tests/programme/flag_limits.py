"""What each flag asks of exercises and doses, told a second time and read from the exercise rows.

Nothing of `rules/limits.yaml` and of the rules that bring limits into force is used here. The lists
follow the house's safety facts, sections 1 to 4 (readiness, populations, stop signs, first weeks), and
the sources named in `rules/sources/limits.yaml`; where the line between two exercises lies is judgement.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from assistant.model.programme import Line, Programme
from programme.checker import ZONES_OUT, credits_of, rows, taken


@dataclass(frozen=True)
class Asked:
    """What a flag takes (kinds of `checker.taken`) and what it asks of the dose.

    reserve: fewest repetitions in reserve. session_sets: most sets of a muscle in a session.
    hold_s: longest hold in seconds. sessions: False where no lifting is planned at all.
    """

    takes: tuple[str, ...] = ()
    reserve: int = 0
    session_sets: float = 99.0
    hold_s: int = 999
    sessions: bool = True


ASKED = {
    "postpartum_under_6_weeks": Asked(sessions=False),
    "postpartum_6_to_12_weeks": Asked(
        (
            "impact",
            "breath_holding",
            "spine_bending",
            "belly_pressure",
            "heavy_on_spine",
            "light_only",
        ),
        reserve=4,
        session_sets=4,
    ),
    "pregnant": Asked(("impact", "breath_holding", "spine_bending"), reserve=4, hold_s=15),
    "osteoporosis": Asked(("spine_bending",)),
    "osteoporosis_with_fracture": Asked(
        ("spine_bending", "impact", "heavy_on_spine", "breath_holding", "unsteady"), reserve=3
    ),
    "bp_raised": Asked(("breath_holding",), reserve=3, hold_s=15),
    "bp_not_measured": Asked(("breath_holding",), reserve=3, hold_s=15),
    "bp_high": Asked(("breath_holding",), reserve=4, hold_s=15),
    "pelvic_floor_symptom": Asked(("impact", "breath_holding", "belly_pressure"), reserve=3),
    "hernia_or_bulge": Asked(
        ("breath_holding", "belly_pressure", "spine_bending", "heavy_on_spine"), reserve=3
    ),
    "eye_pressure_risk": Asked(("head_down", "breath_holding", "impact"), reserve=4, hold_s=15),
    "anticoagulant": Asked(("impact", "unsteady", "load_over_face")),
    "epilepsy": Asked(("load_over_face", "load_on_shoulders", "hanging", "unsteady")),
    "standing_intolerance": Asked(("on_feet", "hanging"), reserve=4),
    "joint_dislocations": Asked(("end_range", "hanging"), reserve=3),
    "fall_risk": Asked(("impact", "unsteady")),
    "tendon_medicine": Asked(("impact", "hard_lowering", "breath_holding"), reserve=3),
    "concussion_return": Asked(("impact", "head_down", "load_over_face", "unsteady"), reserve=4),
    "sickle_trait": Asked(("long_sets",), reserve=3),
    "past_heat_collapse": Asked(("long_sets",), reserve=3),
    "past_muscle_breakdown": Asked(("hard_lowering",), reserve=4, session_sets=4),
    "lymphoedema": Asked(reserve=3, session_sets=4),
    "cancer_treatment": Asked(reserve=4, session_sets=4),
    "bone_metastases": Asked(
        ("impact", "heavy_on_spine", "spine_bending", "breath_holding", "unsteady"), reserve=4
    ),
    "effort_worsening": Asked(("long_sets",), reserve=4, session_sets=2),
    "heart_structure_known": Asked(("breath_holding", "hanging"), reserve=4, hold_s=15),
    "new_to_exercise": Asked(reserve=4),
    "under_18": Asked(reserve=3),
    "surgery_recent": Asked(("breath_holding",), reserve=3),
}
PREGNANT_LATER = Asked(("flat_on_back", "lying_on_belly", "belly_pressure", "unsteady", "hanging"))
BIRTH_BY_SECTION = Asked(("lying_on_belly", "hanging"), hold_s=15)
FIRST_WEEKS = Asked(reserve=4, session_sets=2)
NEXT_WEEKS = Asked(session_sets=4)


def asked_of(flags: Collection[str], answers: dict[str, object], *, novice: bool) -> list[Asked]:
    """Everything asked of a person with these flags and answers; an open answer asks the most."""
    found = [ASKED[flag] for flag in flags if flag in ASKED]
    if "pregnant" in flags and answers.get("screen.pregnancy_trimester") != 1:
        found.append(PREGNANT_LATER)
    by_section = answers.get("screen.birth_by_section")
    if "postpartum_6_to_12_weeks" in flags and by_section is not False:
        found.append(BIRTH_BY_SECTION)
    weeks = answers.get("client.weeks_on_programme")
    known = weeks if isinstance(weeks, int | float) and not isinstance(weeks, bool) else 0
    if novice or "new_to_exercise" in flags:
        found += [FIRST_WEEKS] if known < 2 else [NEXT_WEEKS] if known < 4 else []
    return found


def exercise_faults(exercise: str, asked: Iterable[Asked]) -> list[str]:
    """Why this person may not do the exercise at all, one word each."""
    kinds = {kind for one in asked for kind in one.takes}
    found = [f"{exercise}: {kind}" for kind in sorted(kinds) if taken(kind, exercise)]
    out = {zone for kind in kinds for zone in ZONES_OUT.get(kind, ())}
    if out.issuperset(rows()[exercise]["rep_zones"]):
        found.append(f"{exercise}: no zone is left")
    return found


def line_faults(line: Line, asked: list[Asked]) -> list[str]:
    """What a printed line, its stand-ins and its hints ask against the limits."""
    found = exercise_faults(line.exercise, asked)
    for stand_in in line.substitutes:
        found += [f"stand-in {text}" for text in exercise_faults(stand_in.exercise, asked)]
    out = {zone for one in asked for kind in one.takes for zone in ZONES_OUT.get(kind, ())}
    if line.zone in out:
        found.append(f"{line.exercise}: planned in the {line.zone} zone")
    reserve = max((one.reserve for one in asked), default=0)
    if line.rir < reserve:
        found.append(f"{line.exercise}: {line.rir} in reserve, {reserve} asked")
    if line.measure == "seconds" and line.high > min((one.hold_s for one in asked), default=999):
        found.append(f"{line.exercise}: held for {line.high} s")
    return found + _hint_faults(line, asked, reserve)


def _hint_faults(line: Line, asked: list[Asked], reserve: int) -> list[str]:
    """The way to a load: it never leads nearer to the limit, and names no exercise that is taken."""
    found = []
    _, searched, rest = line.load_note.partition(" until ")
    if searched and int(rest.split()[0]) < max(reserve, line.rir):
        found.append(f"{line.exercise}: the hint says {rest}")
    _, named, harder = line.load_note.partition("next step: ")
    if named:
        exercise = next(name for name, row in rows().items() if row["name"] == harder)
        found += [f"hint {text}" for text in exercise_faults(exercise, asked)]
    return found


def week_faults(programme: Programme, asked: list[Asked]) -> list[str]:
    """What a whole week asks against the limits: lines, and sets of a muscle in a session."""
    if any(not one.sessions for one in asked):
        return ["a lifting session is planned"] if programme.sessions else []
    found = [
        text for s in programme.sessions for line in s.lines for text in line_faults(line, asked)
    ]
    most = min((one.session_sets for one in asked), default=99.0)
    for session in programme.sessions:
        done: dict[str, float] = {}
        for line in session.lines:
            for muscle, share in credits_of(line.exercise).items():
                done[muscle] = done.get(muscle, 0.0) + share * line.sets
        found += [
            f"{session.day}: {muscle} gets {sets:g} sets, {most:g} at most"
            for muscle, sets in done.items()
            if sets > most + 1e-9
        ]
    return found
