"""The coach's preferences and limits for a week, as read from `rules/programme.yaml`.

Every value here is data: the names say what each number does, the document says why and from where.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class ClockSettings:
    """Seconds that things take in a session."""

    seconds_per_repetition: float
    change_sides_s: int
    warm_up_s: int
    short_warm_up_s: int
    short_warm_up_up_to_minutes: int
    ramp_set_s: int
    ramp_sets_heavy_zone: int
    ramp_sets_free_bar: int
    free_bar_equipment: tuple[str, ...]


@dataclass(frozen=True)
class SessionSize:
    """How many exercises a session of so many minutes holds, and how many of them two sets long."""

    up_to_minutes: int
    exercises_max: int
    short_lines_max: int


@dataclass(frozen=True)
class LimitSettings:
    """Hard limits of a session and a week."""

    sets_per_exercise_min: int
    sets_per_compound_min: int
    sets_per_exercise_max: int
    two_set_compounds_up_to_minutes: int
    excess_free_percent: int
    session_sizes: tuple[SessionSize, ...]
    exercises_per_session_min: int
    exercises_per_short_session_min: int
    exercises_per_short_session_max: int
    one_day_patterns: tuple[str, ...]
    same_exercise_days_per_week: int
    high_axial_sets_per_session: int
    high_axial_sets_per_week: int
    target_tolerance_sets: float
    patterns_twice_a_day: tuple[str, ...]
    short_session_max_skill: int


@dataclass(frozen=True)
class SpacingSettings:
    """When a muscle counts as trained, and as trained hard."""

    hard_day_above_sets: float
    session_counts_from_sets: float


@dataclass(frozen=True)
class ZoneSettings:
    """Repetition ranges printed for each zone, and which zone a block style asks for first."""

    repetitions: Mapping[str, tuple[int, int]]
    hold_s: tuple[int, int]
    preference: Mapping[str, Mapping[str, tuple[str, ...]]]


@dataclass(frozen=True)
class ScoreSettings:
    """Points by which a coach ranks exercises."""

    best_credit: int
    priority_credit: int
    growth_trial: int
    activity_study: int
    loadability: tuple[int, int, int]
    novice_loadability_percent: int
    skill_above_comfort: int
    comfortable_skill: Mapping[str, int]
    long_length_peak: int
    balance_demand: int
    balance_demand_from_age_60: int
    older_from_years: int
    high_axial: int
    quick_two_sided: int
    quick_setup_up_to_s: int
    liked: int
    disliked: int
    kept_anchor: int
    stale_helper: int
    body_weight_drill: int
    support_work: int


@dataclass(frozen=True)
class PoolSettings:
    """How many exercises of a pattern the solver looks at."""

    days_per_choice: int
    more_for_priority: int
    per_muscle: int
    per_muscle_in_tight_weeks: int


@dataclass(frozen=True)
class LevelSettings:
    """What a training level allows."""

    max_skill: int
    comfortable_exercises_per_week: int
    repeated_big_lift: int


@dataclass(frozen=True)
class Family:
    """A group of movement patterns of which a week should hold at least one."""

    id: str
    name: str
    patterns: tuple[str, ...]


@dataclass(frozen=True)
class Angle:
    """One direction from which a priority muscle should be trained."""

    id: str
    name: str
    patterns: tuple[str, ...]
    needs_sets: int


@dataclass(frozen=True)
class MuscleGroup:
    """Muscles that public guidance counts as one."""

    id: str
    name: str
    muscles: tuple[str, ...]


@dataclass(frozen=True)
class PublicMinimum:
    """On how many days a week public guidance wants each group trained."""

    days: int
    groups: tuple[MuscleGroup, ...]


@dataclass(frozen=True)
class TightWeeks:
    """Weeks of so few minutes that small muscles are asked for less than their floor."""

    up_to_minutes: int
    floor_sets: float
    muscles: tuple[str, ...]


@dataclass(frozen=True)
class Shape:
    """A named week layout: the type of each training day, in order."""

    id: str
    types: tuple[str, ...]
    why: str


@dataclass(frozen=True)
class PhaseSettings:
    """One phase of the search: its order, its reason, its weights and its share of time."""

    id: str
    title: str
    why: str
    must_prove: bool
    deterministic_time: float
    keep_within: int
    improve_by: tuple[str, ...]
    improvement_tries: int
    improvement_time: float
    weights: Mapping[str, int]


@dataclass(frozen=True)
class LoadSettings:
    """How loads are chosen and rounded."""

    equipment_step_kg: Mapping[str, float]
    spared_lifts_rir_at_least: int
    search_start_rir: int
    search_sets: int
    search_load_step_percent: int


@dataclass(frozen=True)
class ProgressionSettings:
    """Double progression, the block's effort and the easier week."""

    load_step_percent_min: float
    load_step_percent_max: float
    widen_repetitions: int
    rir_first_half_extra: int
    easier_week_sets_percent: int
    easier_week_load_percent: int
    easier_week_rir: int
    style_order: tuple[str, ...]
    anchors_per_priority: int
    anchors_kept_weeks: int
    helpers_changed_per_block: Mapping[str, int]
    missed_merge_sets_per_exercise: int
    sets_below_to_lower: int
    block_weeks: tuple[int, int]


@dataclass(frozen=True)
class WeekSettings:
    """What a week is built from and what it is judged by."""

    levels: Mapping[str, LevelSettings]
    families: tuple[Family, ...]
    angles: Mapping[str, tuple[Angle, ...]]
    push_patterns: tuple[str, ...]
    pull_patterns: tuple[str, ...]
    shapes: tuple[Shape, ...]
    day_regions: Mapping[str, tuple[str, ...]]
    day_parts: Mapping[str, tuple[Family, ...]]
    day_wishes: Mapping[str, tuple[Family, ...]]
    tight_weeks: TightWeeks
    public_minimum: PublicMinimum
    phases: tuple[PhaseSettings, ...]
    priority_order_factors: tuple[int, ...]
    remedy_order: tuple[str, ...]
    remedy_equipment: tuple[str, ...]
    remedy_minutes: int
    remedy_search_time: float


@dataclass(frozen=True)
class Settings:
    """Everything `rules/programme.yaml` says."""

    clock: ClockSettings
    limits: LimitSettings
    spacing: SpacingSettings
    zones: ZoneSettings
    score: ScoreSettings
    pool: PoolSettings
    loads: LoadSettings
    progression: ProgressionSettings
    week: WeekSettings
