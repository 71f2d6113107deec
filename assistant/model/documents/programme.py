"""programme.yaml and parameters/programme.yaml: a coach's preferences and limits for a week.

Every value here is data: the names say what each number does, the document says why and from where.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, create_model

from assistant.model.base import Document, Fault, Graded, RuleFile
from assistant.model.documents.exercises import CountedMuscle, Equipment, PatternName
from assistant.model.documents.muscles import Region
from assistant.model.documents.noted import noted, numbers_of
from assistant.model.marks import Names, Plain

Level = Annotated[str, Names("choice of training.level")]
Style = Annotated[str, Names("choice of block.next_style")]
DayType = Annotated[str, Names("day type")]
# The parameters of the planner's single numbers, by the names of the fields below.
FAMILY = "programme."
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
    quick_two_sided: int
    quick_setup_up_to_s: int
    liked: int
    disliked: int
    kept_anchor: int
    stale_helper: int
    body_weight_drill: int
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
    block_weeks: tuple[int, int]


class LevelSettings(Document):
    """What a training level allows."""

    max_skill: int
    comfortable_exercises_per_week: int
    repeated_big_lift: int


class Family(Document):
    """A group of movement patterns of which a week should hold at least one."""

    id: str
    name: Plain
    patterns: Annotated[tuple[PatternName, ...], Field(min_length=1)]


class Angle(Family):
    """One direction from which a priority muscle should be trained."""

    needs_sets: int


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
    remedy_order: tuple[Literal["minutes", "equipment", "day", "fewer_priorities"], ...]
    remedy_equipment: tuple[Equipment, ...]
    remedy_minutes: int
    remedy_search_time: float


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


# What each phase of the search weighs.
_WEIGHTS: Mapping[str, frozenset[str]] = {
    "whole_body": frozenset(
        {"missing_family", "floor_quarter_set", "empty_day", "thin_day", "day_part"}
    ),
    "priorities": frozenset({"low_quarter_set", "half_low_quarter_set", "session", "angle"}),
    "targets": frozenset(
        {"day_wish", "public_day", "line_moved_in_block", "priority_short_quarter_set"}
        | {"other_short_quarter_set", "excess_quarter_set", "over_soft_cap_quarter_set"}
        | {"pull_behind_push_set", "other_session", "lead_session", "lead_quarter_set"}
    ),
    "quality": frozenset(
        {"score_ceiling", "placed_exercise", "two_set_fragment", "new_exercise"}
        | {"dropped_exercise", "moved_line", "over_comfortable_exercises", "distinct_exercise"}
    ),
}


class ProgrammeBook(RuleFile):
    """The whole file; each section of Settings, with grounds for all that is not a parameter."""

    schema_version: Literal[1]

    def settings(self, number: Callable[[str], float]) -> Settings:
        """Return what is set, without the grounds. number: gives a parameter by its id."""
        sections: dict[str, Any] = {
            section: kind.model_construct(**self._values(section, kind, number))
            for section, kind in SECTIONS.items()
        }
        return Settings.model_construct(**sections)

    def _values(
        self, section: str, kind: type[Document], number: Callable[[str], float]
    ) -> dict[str, Any]:
        written = getattr(self, section, None)
        values: dict[str, Any] = {
            name: field.annotation(number(FAMILY + name))
            for name, field in kind.model_fields.items()
            if field.annotation in {int, float}
        }
        names = [] if written is None else type(written).model_fields
        return values | {name: getattr(written, name).value for name in names}

    def needs(self) -> Iterator[str]:
        """Yield the parameters that the week's planner reads."""
        for kind in SECTIONS.values():
            yield from (FAMILY + name for name in numbers_of(kind))

    def graded(self) -> Iterator[Graded]:
        """Yield every setting with its source."""
        for section in SECTIONS.keys() & type(self).model_fields.keys():
            written = getattr(self, section)
            for name in type(written).model_fields:
                entry = getattr(written, name)
                yield Graded((section, name, "grade"), entry.grade, (entry.source,))

    def whole_numbers(self) -> Iterator[str]:
        """Yield those of the parameters that are counts."""
        for kind in SECTIONS.values():
            for name in numbers_of(kind):
                if kind.model_fields[name].annotation is int:
                    yield FAMILY + name

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return the repetition zones and the types of a day."""
        return {
            "zone": self._value("zones", "repetitions"),
            "day type": self._value("week", "day_regions"),
        }

    def _value(self, section: str, name: str) -> Any:
        return getattr(getattr(self, section), name).value

    def faults(self) -> Iterator[Fault]:
        """Yield ranges that are none, and weights that no phase reads."""
        zones = self._value("zones", "repetitions")
        for place, (low, high) in [
            (("hold_s", "value"), self._value("zones", "hold_s")),
            *((("repetitions", "value", zone), ends) for zone, ends in zones.items()),
        ]:
            if not 0 < low <= high:
                yield Fault(("zones", *place), "bad-range", f"{low} to {high} is not a range")
        phases: tuple[PhaseSettings, ...] = self._value("week", "phases")
        for number, phase in enumerate(phases):
            wanted = _WEIGHTS[phase.id]
            for name in sorted(phase.weights.keys() ^ wanted):
                word = "is not weighed in" if name in phase.weights else "is missing in"
                text = (
                    f"`{name}` {word} the phase `{phase.id}`; allowed: {', '.join(sorted(wanted))}"
                )
                path = ("week", "phases", "value", number, "weights", name)
                yield Fault(path, "unknown-weight", text)
        if [phase.id for phase in phases] != list(_WEIGHTS):
            text = f"the phases are {', '.join(_WEIGHTS)}, each once, in this order"
            yield Fault(("week", "phases", "value"), "bad-value", text)


SECTIONS: Mapping[str, type[Document]] = {
    name: field.annotation  # type: ignore[misc]  # every section is a Document
    for name, field in Settings.model_fields.items()
}
_sections: dict[str, Any] = {
    name: (noted(kind), ...)
    for name, kind in SECTIONS.items()
    if len(numbers_of(kind)) < len(kind.model_fields)
}
# The file as it is written.
WRITTEN: type[ProgrammeBook] = create_model(
    "ProgrammeBook", __base__=ProgrammeBook, __doc__=ProgrammeBook.__doc__, **_sections
)
