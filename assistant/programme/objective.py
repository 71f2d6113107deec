"""What makes one week better than another, one measure a phase, all in whole numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from assistant.model.documents.week_settings import Family, Settings
from assistant.programme.days import Day
from assistant.programme.model import QUARTERS, Expression, Place, WeekModel, quarters
from assistant.programme.pool import is_loaded_lift
from assistant.programme.portions import floor_asked, least_exercises, trains_group
from assistant.programme.request import ProgrammeRequest

Weights = Mapping[str, int]


@dataclass(frozen=True)
class Objective:
    """Builds the measure of each phase over one model; lower is better."""

    week: WeekModel
    request: ProgrammeRequest
    settings: Settings
    _trained: dict[tuple[str, str], cp_model.IntVar] = field(default_factory=dict)

    def measure(self, phase: str, weights: Weights) -> Expression:
        """Returns the expression to make small in the named phase."""
        build: Mapping[str, Callable[[Weights], Iterator[Expression]]] = {
            "whole_body": self._whole_body,
            "priorities": self._priorities,
            "targets": self._targets,
            "quality": self._quality,
        }
        return sum(build[phase](weights))

    def _whole_body(self, weights: Weights) -> Iterator[Expression]:
        for family in self.settings.week.families:
            uses = [place.used for place in self.week.with_patterns(family.patterns)]
            if uses:
                missing = self._bool(f"missing_{family.id}")
                self.week.model.add_bool_or([*uses, missing])
                yield weights["missing_family"] * missing
        for muscle in self.request.floors_sets:
            if muscle in self.week.reachable:
                floor = quarters(floor_asked(muscle, self.request, self.week.layout, self.settings))
                short = self._short(f"floor_{muscle}", self.week.week(muscle), floor)
                yield weights["floor_quarter_set"] * short
        for day in self.week.layout.days:
            is_open = self.week.open_days[day.id]
            yield weights["empty_day"] * (1 - is_open)
            count = sum(place.used for place in self.week.places if place.day == day)
            least = least_exercises(day, self.settings)
            thin = self._short(f"thin_{day.id}", count, least * is_open)
            yield weights["thin_day"] * thin
            parts = self.settings.week.day_parts.get(day.type, ())
            yield weights["day_part"] * self._missing_parts(day, parts)

    def _missing_parts(self, day: Day, parts: tuple[Family, ...]) -> Expression:
        lacking: list[cp_model.IntVar] = []
        for part in parts:
            places = self.week.with_patterns(part.patterns)
            uses = [place.used for place in places if place.day == day]
            if uses:
                lacking.append(self._bool(f"part_{part.id}_{day.id}"))
                self.week.model.add_bool_or([*uses, lacking[-1]])
        return sum(lacking)

    def _priorities(self, weights: Weights) -> Iterator[Expression]:
        priorities = [m for m in self.request.priority_muscles if m in self.week.reachable]
        factors = self.settings.week.priority_order_factors
        for place, muscle in enumerate(priorities):
            factor = factors[min(place, len(factors) - 1)]
            low = quarters(self.request.target_sets[muscle][0])
            sets = self.week.week(muscle)
            sessions = self._sessions(muscle)
            wanted = min(self.request.target_sessions.get(muscle, 0), len(self.week.layout.days))
            yield factor * (
                weights["low_quarter_set"] * self._short(f"low_{muscle}", sets, low)
                + weights["half_low_quarter_set"] * self._short(f"half_{muscle}", sets, low // 2)
                + weights["session"] * self._short(f"sessions_{muscle}", sessions, wanted)
                + weights["angle"] * self._missing_angles(muscle)
            )

    def _targets(self, weights: Weights) -> Iterator[Expression]:
        soft = quarters(self.request.session_cap_sets[0])
        for muscle, aim in self.request.target_sets.items():
            if muscle not in self.week.reachable:
                continue
            first = muscle in self.request.priority_muscles
            short_weight = weights[
                "priority_short_quarter_set" if first else "other_short_quarter_set"
            ]
            sets, target = self.week.week(muscle), quarters(aim[1])
            free = target * self.settings.limits.excess_free_percent // 100
            yield short_weight * self._short(f"target_{muscle}", sets, target)
            own = QUARTERS * self.week.own_sets(muscle)
            yield weights["excess_quarter_set"] * self._over(f"excess_{muscle}", own, target + free)
            for day in self.week.layout.days:
                volume = self.week.volume[muscle, day.id]
                over = self._over(f"soft_{muscle}_{day.id}", volume, soft)
                yield weights["over_soft_cap_quarter_set"] * over
            if not first:
                low = self._short(f"low_{muscle}", sets, quarters(aim[0]))
                yield weights["other_low_quarter_set"] * low
                wanted = min(
                    self.request.target_sessions.get(muscle, 0), len(self.week.layout.days)
                )
                short = self._short(f"days_{muscle}", self._sessions(muscle), wanted)
                yield weights["other_session"] * short
        for day in self.week.layout.days:
            wishes = self.settings.week.day_wishes.get(day.type, ())
            yield weights["day_wish"] * self._missing_parts(day, wishes)
        level = self.settings.week.levels[self.request.training_level]
        yield level.no_loaded_lift * self._kinds_without_a_loaded_lift()
        yield weights["public_day"] * self._missing_public_days()
        yield weights["same_lift_next_day"] * self._alike_on_next_days()
        yield weights["line_moved_in_block"] * sum(map(self._moved, self.week.places))
        others = self._others()
        if others and self.request.priority_muscles:
            most = self._most_sets(others)
            for muscle in self.request.priority_muscles:
                if muscle in self.week.reachable:
                    lead = self._short(f"lead_{muscle}", self.week.week(muscle), most + 1)
                    yield weights["lead_quarter_set"] * lead
        push = sum(p.sets for p in self.week.with_patterns(self.settings.week.push_patterns))
        pull = sum(p.sets for p in self.week.with_patterns(self.settings.week.pull_patterns))
        yield weights["pull_behind_push_set"] * self._over("push", push, pull)

    def _quality(self, weights: Weights) -> Iterator[Expression]:
        level = self.settings.week.levels[self.request.training_level]
        used: dict[str, list[Place]] = {}
        for place in self.week.places:
            used.setdefault(place.candidate.exercise.id, []).append(place)
            cost = max(1, weights["score_ceiling"] - place.candidate.score)
            yield cost * place.sets
            yield weights["placed_exercise"] * place.used
            if place.candidate.exercise.id in self.request.previous_days:
                yield weights["moved_line"] * self._moved(place)
            if place.least_sets <= self.settings.limits.sets_per_exercise_min and place.steps:
                yield weights["two_set_fragment"] * (place.used - place.steps[0])
        distinct: list[cp_model.IntVar] = []
        kept = self.request.previous_exercises
        for name, places in used.items():
            held = self._bool(f"held_{name}")
            for place in places:
                self.week.model.add_implication(place.used, held)
            distinct.append(held)
            yield weights["distinct_exercise"] * held
            if places[0].candidate.kind == "compound" and len(places) > 1:
                again = self._over(f"again_{name}", sum(place.used for place in places), 1)
                yield level.repeated_big_lift * again
            if name in kept:
                self.week.model.add_bool_or([*(place.used for place in places), ~held])
                yield weights["dropped_exercise"] * (1 - held)
            elif kept:
                yield weights["new_exercise"] * held
        crowd = self._over("distinct", sum(distinct), level.comfortable_exercises_per_week)
        yield weights["over_comfortable_exercises"] * crowd

    def _kinds_without_a_loaded_lift(self) -> Expression:
        """Kinds of movement that a big lift with small steps could train, where none does."""
        lacking: list[cp_model.IntVar] = []
        for family in self.settings.week.loaded_kinds:
            uses = [
                place.used
                for place in self.week.with_patterns(family.patterns)
                if is_loaded_lift(place.candidate)
            ]
            if uses:
                lacking.append(self._bool(f"light_{family.id}"))
                self.week.model.add_bool_or([*uses, lacking[-1]])
        return sum(lacking)

    def _missing_angles(self, muscle: str) -> Expression:
        total: Expression = 0
        for angle in self.settings.week.angles_of(muscle, len(self.week.layout.days)):
            places = self.week.with_patterns(angle.patterns)
            if places:
                met = self._bool(f"angle_{muscle}_{angle.id}")
                self.week.model.add(sum(place.sets for place in places) >= angle.needs_sets * met)
                total = total + 1 - met
        return total

    def _alike_on_next_days(self) -> Expression:
        """Pairs of neighbouring days that both hold a lift of a kind which tires the same back."""
        total: Expression = 0
        for pattern in self.settings.limits.one_day_patterns:
            places = self.week.with_patterns((pattern,))
            for first, second in self.week.layout.neighbours():
                uses = [p.used for p in places if p.day in (first, second)]
                if uses:
                    name = f"next_{pattern}_{first.id}"
                    total = total + self._over(name, sum(uses), 1)
        return total

    def _moved(self, place: Place) -> Expression:
        """One where a week is running and the line would not stand in it that day."""
        now = self.request.previous_days
        stood = not now or place.day.id in now.get(place.candidate.exercise.id, ())
        return 0 if stood else place.used

    def _missing_public_days(self) -> Expression:
        total: Expression = 0
        public = self.settings.week.public_minimum
        wanted = min(public.days, len(self.week.layout.days))
        for group in public.groups:
            trained = []
            for day in self.week.layout.days:
                uses = [
                    place.used
                    for place in self.week.places
                    if place.day == day and trains_group(place.candidate.exercise, group)
                ]
                if uses:
                    flag = self._bool(f"public_{group.id}_{day.id}")
                    self.week.model.add_bool_or([*uses, ~flag])
                    trained.append(flag)
            if trained:
                short = self._short(f"public_{group.id}", sum(trained), min(wanted, len(trained)))
                total = total + short
        return total

    def _others(self) -> list[str]:
        first = self.request.priority_muscles
        return [m for m in self.request.target_sets if m not in first and m in self.week.reachable]

    def _sessions(self, muscle: str) -> Expression:
        return sum(self._is_trained(muscle, day.id) for day in self.week.layout.days)

    def _most_sets(self, muscles: list[str]) -> cp_model.IntVar:
        """The most sets that any of the muscles is there for alone; what serves a priority apart."""
        most = self.week.model.new_int_var(0, 100 * QUARTERS, "most_sets")
        for muscle in muscles:
            alone = self.week.own_sets(muscle, besides=self.request.priority_muscles)
            self.week.model.add(most >= QUARTERS * alone)
        return most

    def _is_trained(self, muscle: str, day: str) -> cp_model.IntVar:
        if (muscle, day) not in self._trained:
            flag = self._bool(f"trained_{muscle}_{day}")
            least = quarters(self.settings.spacing.session_counts_from_sets)
            self.week.model.add(self.week.volume[muscle, day] >= least * flag)
            self._trained[muscle, day] = flag
        return self._trained[muscle, day]

    def _short(self, name: str, have: Expression, wanted: Expression) -> cp_model.IntVar:
        slack = self.week.model.new_int_var(0, 100 * QUARTERS, f"short_{name}")
        self.week.model.add(have + slack >= wanted)
        return slack

    def _over(self, name: str, have: Expression, limit: Expression) -> cp_model.IntVar:
        slack = self.week.model.new_int_var(0, 100 * QUARTERS, f"over_{name}")
        self.week.model.add(have - slack <= limit)
        return slack

    def _bool(self, name: str) -> cp_model.IntVar:
        return self.week.model.new_bool_var(name)
