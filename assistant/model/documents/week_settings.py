"""A coach's preferences and limits for a week: programme.yaml, and the numbers of parameters/programme.yaml.

Every value here is data: the names say what each number does, the rules say why and from where.
"""

from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document
from assistant.model.documents.exercises import CountedMuscle, Equipment, PatternName
from assistant.model.documents.muscles import Region
from assistant.model.marks import Names, Plain

Level = Annotated[str, Names("choice of training.level")]
Style = Annotated[str, Names("choice of block.next_style")]
DayType = Annotated[str, Names("day type")]
ZoneName = Annotated[str, Names("zone")]
Zones = tuple[ZoneName, ...]


class ClockSettings(Document):
    """Seconds that things take in a session."""

    seconds_per_repetition: float
    change_sides_s: int
    warm_up_s: int
    short_warm_up_s: int
    short_warm_up_up_to_minutes: int
    ramp_set_s: int
    ramp_sets_heavy_zone: int
    ramp_sets_free_bar: int
    ramp_sets_first_lift: int
    ramp_sets_new_muscles: int
    general_warm_up_at_least_s: int
    free_bar_equipment: tuple[Equipment, ...]


class SessionSize(Document):
    """How many exercises a session of so many minutes holds, and how many of them two sets long."""

    up_to_minutes: int
    exercises_max: int
    short_lines_max: int


class LimitSettings(Document):
    """Hard limits of a session and a week."""

    sets_per_exercise_min: int
    sets_per_compound_min: int
    sets_per_exercise_max: int
    big_lift_sets_first: int
    two_set_compounds_up_to_minutes: int
    excess_free_percent: int
    session_sizes: Annotated[tuple[SessionSize, ...], Field(min_length=1)]
    exercises_per_session_min: int
    exercises_per_short_session_min: int
    exercises_per_short_session_max: int
    one_day_patterns: tuple[PatternName, ...]
    same_exercise_days_per_week: int
    high_axial_sets_per_session: int
    high_axial_sets_per_week: int
    target_tolerance_sets: float
    patterns_twice_a_day: tuple[PatternName, ...]
    short_session_max_skill: int


class SpacingSettings(Document):
    """When a muscle counts as trained, and as trained hard."""

    hard_day_above_sets: float
    session_counts_from_sets: float


class ZoneOrder(Document):
    """Which zone comes first for each kind of exercise."""

    compound: Zones
    single_joint: Zones
    trunk: Zones

    def __getitem__(self, kind: str) -> tuple[str, ...]:
        """Return the order for a kind of movement pattern."""
        order: tuple[str, ...] = getattr(self, kind)
        return order


class ZoneSettings(Document):
    """Repetition ranges printed for each zone, and which zone a block style asks for first."""

    repetitions: dict[str, tuple[int, int]]
    hold_s: tuple[int, int]
    preference: dict[Style, ZoneOrder]


class ScoreSettings(Document):
    """Points by which a coach ranks exercises."""

    best_credit: int
    priority_credit: int
    growth_trial: int
    activity_study: int
    loadability: tuple[int, int, int]
    novice_loadability_percent: int
    skill_above_comfort: int
    comfortable_skill: dict[Level, int]
    long_length_peak: int
    balance_demand: int
    balance_demand_from_age_60: int
    older_from_years: int
    high_axial: int
    sore_joint: int
    quick_two_sided: int
    quick_setup_up_to_s: int
    liked: int
    disliked: int
    kept_anchor: int
    stale_helper: int
    body_weight_drill: int
    light_leg_lift: int
    support_work: int


class PoolSettings(Document):
    """How many exercises of a pattern the solver looks at."""

    days_per_choice: int
    more_for_priority: int
    per_muscle: int
    per_muscle_in_tight_weeks: int


class LoadSettings(Document):
    """How loads are chosen and rounded."""

    equipment_step_kg: dict[Annotated[str, Names("kind of load")], float]
    empty_kg: dict[Equipment, float]
    ramp_first_percent: int
    ramp_last_percent: int
    ramp_first_repetitions: int
    ramp_last_repetitions: int
    spared_lifts_rir_at_least: int
    search_start_rir: int
    search_sets: int
    search_load_step_percent: int


class ProgressionSettings(Document):
    """Double progression, the block's effort and the easier week."""

    load_step_percent_min: float
    load_step_percent_max: float
    widen_repetitions: int
    rir_first_half_extra: int
    easier_week_sets_percent: int
    easier_week_load_percent: int
    easier_week_rir: int
    style_order: tuple[Style, ...]
    anchors_per_priority: int
    anchors_kept_weeks: int
    helpers_changed_per_block: dict[Level, int]
    missed_merge_sets_per_exercise: int
    sets_below_to_lower: int
    load_old_weeks: int
    load_back_percent: float
    load_back_after_easier_percent: float
    block_weeks: tuple[int, int]


class LevelSettings(Document):
    """What a training level allows."""

    max_skill: int
    comfortable_exercises_per_week: int
    repeated_big_lift: int
    no_loaded_lift: int


class Family(Document):
    """A group of movement patterns of which a week should hold at least one."""

    id: str
    name: Plain
    patterns: Annotated[tuple[PatternName, ...], Field(min_length=1)]


class Angle(Family):
    """One direction from which a priority muscle should be trained, in weeks of so many days or more."""

    needs_sets: int
    from_days: int = 1


class MuscleGroup(Document):
    """Muscles that public guidance counts as one."""

    id: str
    name: Plain
    muscles: Annotated[tuple[CountedMuscle, ...], Field(min_length=1)]


class PublicMinimum(Document):
    """On how many days a week public guidance wants each group trained."""

    days: int
    groups: tuple[MuscleGroup, ...]


class TightWeeks(Document):
    """Weeks of so few minutes that small muscles are asked for less than their floor."""

    up_to_minutes: int
    floor_sets: float
    muscles: tuple[CountedMuscle, ...]


class Shape(Document):
    """A named week layout: the type of each training day, in order."""

    id: str
    types: Annotated[tuple[DayType, ...], Field(min_length=1)]
    why: Plain


class PhaseSettings(Document):
    """One phase of the search: its order, its reason, its weights and its share of time."""

    id: Literal["whole_body", "priorities", "targets", "quality"]
    title: Plain
    why: Plain
    must_prove: bool
    deterministic_time: Annotated[float, Field(gt=0)]
    keep_within: int
    improve_by: tuple[Literal["relatives", "days", "regions"], ...]
    improvement_tries: int
    improvement_time: float
    weights: dict[str, int]


class WeekSettings(Document):
    """What a week is built from and what it is judged by."""

    levels: dict[Level, LevelSettings]
    families: tuple[Family, ...]
    loaded_kinds: tuple[Family, ...]
    angles: dict[CountedMuscle, tuple[Angle, ...]]
    push_patterns: tuple[PatternName, ...]
    pull_patterns: tuple[PatternName, ...]
    shapes: tuple[Shape, ...]
    day_regions: dict[Annotated[str, Names("choice of week.day_type")], tuple[Region, ...]]
    day_parts: dict[DayType, tuple[Family, ...]]
    day_wishes: dict[DayType, tuple[Family, ...]]
    tight_weeks: TightWeeks
    public_minimum: PublicMinimum
    phases: tuple[PhaseSettings, ...]
    priority_order_factors: tuple[int, ...]
    same_movement: tuple[tuple[PatternName, ...], ...]
    kit_of_a_gym: tuple[Equipment, ...]
    loads_without_kilograms: tuple[Equipment, ...]
    loads_in_the_hands: tuple[Equipment, ...]
    remedy_order: tuple[Literal["minutes", "equipment", "day", "fewer_priorities"], ...]
    remedy_equipment: tuple[Equipment, ...]
    remedy_minutes: int
    remedy_search_time: float

    def angles_of(self, muscle: str, days: int) -> tuple[Angle, ...]:
        """Return the directions a priority muscle is asked for in a week of so many training days."""
        return tuple(each for each in self.angles.get(muscle, ()) if days >= each.from_days)


class Settings(Document):
    """Everything that is set for a week, without the grounds."""

    clock: ClockSettings
    limits: LimitSettings
    spacing: SpacingSettings
    zones: ZoneSettings
    score: ScoreSettings
    pool: PoolSettings
    loads: LoadSettings
    progression: ProgressionSettings
    week: WeekSettings
