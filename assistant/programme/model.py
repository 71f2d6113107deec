"""The week as an integer programme: what may stand where, and the rules no week may break.

Sets are counted in quarters, time in whole seconds, so every number in the model is an integer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from assistant.model.documents.week_settings import Settings
from assistant.programme.clock import exercise_seconds, warm_up_seconds
from assistant.programme.days import Day, Layout
from assistant.programme.points import HIGH
from assistant.programme.pool import Candidate, Pool
from assistant.programme.portions import allowed_on, least_sets, reachable, session_size
from assistant.programme.request import ProgrammeRequest

QUARTERS = 4
Expression = cp_model.LinearExpr | int


@dataclass(frozen=True)
class Place:
    """One exercise on one day: used or not, and steps of one set above the least number of sets."""

    candidate: Candidate
    day: Day
    used: cp_model.IntVar
    steps: tuple[cp_model.IntVar, ...]
    least_sets: int

    @property
    def sets(self) -> Expression:
        """Working sets as a linear expression."""
        return self.least_sets * self.used + sum(self.steps)

    def seconds(self, settings: Settings) -> Expression:
        """Time as a linear expression, in seconds."""
        least = exercise_seconds(self.candidate, self.least_sets, settings)
        total: Expression = least * self.used
        for extra, step in enumerate(self.steps, start=self.least_sets + 1):
            seconds = exercise_seconds(self.candidate, extra, settings)
            before = exercise_seconds(self.candidate, extra - 1, settings)
            total = total + (seconds - before) * step
        return total


@dataclass(frozen=True)
class WeekModel:
    """Variables of a week with all hard rules posted.

    `volume` is quarter sets of a muscle on a day; `reachable` are muscles that some candidate
    trains with at least half credit.
    """

    model: cp_model.CpModel
    places: tuple[Place, ...]
    layout: Layout
    open_days: Mapping[str, cp_model.IntVar]
    volume: Mapping[tuple[str, str], Expression]
    reachable: frozenset[str]
    cap_quarters: int

    def week(self, muscle: str) -> Expression:
        """Quarter sets of a muscle in the whole week."""
        return sum(self.volume[muscle, day.id] for day in self.layout.days)

    def own_sets(self, muscle: str, besides: Iterable[str] = ()) -> Expression:
        """Sets of the exercises that are there for a muscle, and for none of the muscles `besides`."""
        serve = tuple(besides)
        return sum(
            place.sets
            for place in self.places
            if place.candidate.exercise.is_there_for(muscle)
            and not any(map(place.candidate.exercise.is_there_for, serve))
        )

    def with_patterns(self, patterns: Iterable[str]) -> tuple[Place, ...]:
        """Places whose exercise has one of the patterns."""
        names = set(patterns)
        return tuple(place for place in self.places if place.candidate.exercise.pattern in names)


def quarters(sets: float) -> int:
    """Fractional sets as whole quarters."""
    return round(QUARTERS * sets)


def build_model(
    request: ProgrammeRequest, pool: Pool, layout: Layout, settings: Settings
) -> WeekModel:
    """Creates the variables and posts every hard rule; pins are posted too."""
    model = cp_model.CpModel()
    places = tuple(
        _place(model, candidate, day, settings)
        for candidate in pool.chosen
        for day in layout.days
        if allowed_on(candidate, day, request, settings)
        and (candidate.exercise.id, day.id) not in request.hand.gone
    )
    volume = {
        (muscle, day.id): sum(
            quarters(place.candidate.exercise.credits[muscle]) * place.sets
            for place in places
            if place.day == day and muscle in place.candidate.exercise.credits
        )
        for muscle in request.target_sets
        for day in layout.days
    }
    week = WeekModel(
        model=model,
        places=places,
        layout=layout,
        open_days={day.id: model.new_bool_var(f"open_{day.id}") for day in layout.days},
        volume=volume,
        reachable=reachable(pool, layout, request, settings),
        cap_quarters=quarters(request.session_cap_sets[1]),
    )
    _limit_sessions(week, settings)
    _limit_muscles(week, request)
    _limit_repeats(week, settings)
    _limit_axial_load(week, settings)
    _space_hard_days(week, settings)
    _break_symmetry(week, request)
    _pin(week, request)
    return week


def _place(model: cp_model.CpModel, candidate: Candidate, day: Day, settings: Settings) -> Place:
    name = f"{candidate.exercise.id}_{day.id}"
    least = least_sets(candidate, day, settings)
    used = model.new_bool_var(name)
    steps = tuple(
        model.new_bool_var(f"{name}_{sets}")
        for sets in range(least + 1, settings.limits.sets_per_exercise_max + 1)
    )
    for lower, upper in zip((used, *steps), steps, strict=False):
        model.add_implication(upper, lower)
    return Place(candidate, day, used, steps, least)


def _limit_sessions(week: WeekModel, settings: Settings) -> None:
    limits = settings.limits
    for day in week.layout.days:
        today = [place for place in week.places if place.day == day]
        count = sum(place.used for place in today)
        seconds = sum(place.seconds(settings) for place in today)
        is_open = week.open_days[day.id]
        size = session_size(day, settings)
        week.model.add(count <= size.exercises_max * is_open)
        week.model.add(count >= is_open)
        short_lines = [
            place.used - place.steps[0]
            for place in today
            if place.steps and place.least_sets == limits.sets_per_exercise_min
        ]
        week.model.add(sum(short_lines) <= size.short_lines_max)
        budget = day.minutes * 60 - warm_up_seconds(day.type, day.minutes, settings)
        week.model.add(seconds <= budget * is_open)
        patterns = sorted({place.candidate.exercise.pattern for place in today})
        for pattern in patterns:
            alike = [p.used for p in today if p.candidate.exercise.pattern == pattern]
            twice = pattern in limits.patterns_twice_a_day
            if len(alike) > 1:
                week.model.add(sum(alike) <= (2 if twice else 1))


def _limit_muscles(week: WeekModel, request: ProgrammeRequest) -> None:
    for muscle, aim in request.target_sets.items():
        for day in week.layout.days:
            week.model.add(week.volume[muscle, day.id] <= week.cap_quarters)
        week.model.add(week.week(muscle) <= quarters(aim[2]))


def _limit_repeats(week: WeekModel, settings: Settings) -> None:
    limits = settings.limits
    by_exercise: dict[str, dict[str, cp_model.IntVar]] = {}
    alike: dict[str, set[str]] = {}
    for place in week.places:
        exercise = place.candidate.exercise
        by_exercise.setdefault(exercise.id, {})[place.day.id] = place.used
        if exercise.pattern in limits.one_day_patterns:
            alike.setdefault(exercise.pattern, set()).add(exercise.id)
    with_relative = {name for names in alike.values() if len(names) > 1 for name in names}
    for name, uses in by_exercise.items():
        most = 1 if name in with_relative else limits.same_exercise_days_per_week
        if len(uses) > most:
            week.model.add(sum(uses.values()) <= most)
        for first, second in week.layout.neighbours():
            if first.id in uses and second.id in uses:
                week.model.add_at_most_one(uses[first.id], uses[second.id])


def _limit_axial_load(week: WeekModel, settings: Settings) -> None:
    heavy = [place for place in week.places if place.candidate.exercise.axial_load == HIGH]
    if not heavy:
        return
    limits = settings.limits
    loaded: dict[str, cp_model.IntVar] = {}
    for day in week.layout.days:
        today = [place for place in heavy if place.day == day]
        week.model.add(sum(p.sets for p in today) <= limits.high_axial_sets_per_session)
        loaded[day.id] = week.model.new_bool_var(f"axial_{day.id}")
        for place in today:
            week.model.add_implication(place.used, loaded[day.id])
    week.model.add(sum(place.sets for place in heavy) <= limits.high_axial_sets_per_week)
    for first, second in week.layout.neighbours():
        week.model.add_at_most_one(loaded[first.id], loaded[second.id])


def _space_hard_days(week: WeekModel, settings: Settings) -> None:
    light = quarters(settings.spacing.hard_day_above_sets)
    pairs = week.layout.neighbours()
    crowded = {day.id: day for pair in pairs for day in pair}
    for muscle in sorted({muscle for muscle, _ in week.volume}):
        hard: dict[str, cp_model.IntVar] = {}
        for name, day in crowded.items():
            hard[name] = week.model.new_bool_var(f"hard_{muscle}_{name}")
            room = max(0, week.cap_quarters - light)
            week.model.add(week.volume[muscle, name] <= light + room * hard[name])
            for place in week.places:
                full = place.candidate.exercise.is_there_for(muscle)
                if place.day == day and full and place.candidate.zone == "heavy":
                    week.model.add_implication(place.used, hard[name])
        for first, second in pairs:
            week.model.add_at_most_one(hard[first.id], hard[second.id])


def _break_symmetry(week: WeekModel, request: ProgrammeRequest) -> None:
    """Orders days that could be swapped freely, hardest first for the first priority."""
    touching = {day.id for pair in week.layout.neighbours() for day in pair}
    if request.hand.edits or request.pinned:
        return
    if request.previous_days or not request.priority_muscles:
        return
    free = [day for day in week.layout.days if day.id not in touching]
    for first, second in pairwise(free):
        if (first.type, first.minutes) == (second.type, second.minutes):
            lead = request.priority_muscles[0]
            week.model.add(week.volume[lead, first.id] >= week.volume[lead, second.id])


def _pin(week: WeekModel, request: ProgrammeRequest) -> None:
    for pin in request.pinned:
        uses = [
            place.used
            for place in week.places
            if place.candidate.exercise.id == pin.exercise and pin.day in (None, place.day.id)
        ]
        if uses:
            week.model.add_bool_or(uses)
    for place in week.places:
        name, day = place.candidate.exercise.id, place.day.id
        said = request.hand.sets_on(name, day)
        # Asked of a line that need not stand, other sets would only drive it out of the week.
        if said is not None and request.hand.wants(name, day):
            most = place.least_sets + len(place.steps)
            sets = min(max(said, place.least_sets), most)
            week.model.add(place.sets == sets).only_enforce_if(place.used)
