"""Which pictures a plan can have: only from facts this reader may see, and never a guess."""

import datetime as dt

from assistant.calculate.estimate import Estimate
from assistant.model.derivation import FactValue, day_in, number_in, word_in
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.plan.sentences import Narrator
from assistant.programme.catalogue import Catalogue
from assistant.report.page.sessions import sets_by_day
from assistant.report.page.words import PageWords
from assistant.report.pictures.ranges import Ranged, ranges
from assistant.report.pictures.road import Band, Stop, road
from assistant.report.pictures.sets_per_muscle import sets_per_muscle
from assistant.report.pictures.spread import Spread, spread
from assistant.report.pictures.svg import Picture
from assistant.report.pictures.week_grid import week_grid

# Fact and whether it is what the client is asked to eat; the rest is how it came about, for coaches.
_ENERGY = (
    ("energy.resting_kcal_per_day", False),
    ("energy.maintenance_kcal_per_day", False),
    ("energy.target_kcal_per_day", True),
    ("protein.g_per_day", True),
    ("fat.g_per_day", True),
)
_TARGET = "client.target_date"
# Days on which a phase begins, and which one.
_CHANGES = (("phase.hold_from", "hold"), ("phase.cut_from", "cut"), ("phase.cut_until", "hold"))


def week_pictures(
    programme: Programme | None, catalogue: Catalogue, order: tuple[str, ...], words: PageWords
) -> tuple[Picture, ...]:
    """Return the week at a glance and the sets against target, where there is a week.

    order: the muscles from the book's list, which rows follow behind the priorities.
    """
    if programme is None or not programme.sessions or not programme.muscles:
        return ()
    credits_of = {name: exercise.credits for name, exercise in catalogue.exercises.items()}
    ranked = sorted(programme.muscles, key=lambda m: (not m.priority, order.index(m.muscle)))
    rows = sorted(
        sets_by_day(programme, credits_of),
        key=lambda row: (not row.priority, order.index(row.muscle)),
    )
    return (week_grid(rows, words), sets_per_muscle(ranked, words))


def food_pictures(plan: Plan, narrator: Narrator, words: PageWords) -> tuple[Picture, ...]:
    """Return energy and protein with their ranges, where this reader may see them."""
    rows = []
    for fact_id, is_aim in _ENERGY:
        fact = plan.facts.get(fact_id)
        if fact is None or fact.low is None or fact.high is None:
            continue
        if is_aim or plan.audience == "coach":
            rows.append(_ranged(fact_id, fact, is_aim, narrator, words))
    if not rows:
        return ()
    coach = plan.audience == "coach"
    takeaway = words.say("picture_food_takeaway_coach" if coach else "picture_food_takeaway")
    return (ranges("food", "picture_food_title", takeaway, rows, words),)


def _ranged(
    fact_id: str, fact: FactValue, is_aim: bool, narrator: Narrator, words: PageWords
) -> Ranged:
    phrases = words.phrases
    unit = phrases.unit_of(fact_id)
    shown = words.say(
        "picture_food_likely" if fact_id.startswith("energy.") else "picture_food_free",
        value=phrases.value(fact_id, fact.value),
        range=phrases.range(fact_id, fact.low, fact.high),
        unit=unit,
    )
    label = narrator.kb.facts[fact_id].label
    figure = Estimate(*(float(str(each)) for each in (fact.value, fact.low, fact.high)))
    return Ranged(label, shown, figure, is_aim, unit)


def road_pictures(plan: Plan, narrator: Narrator, words: PageWords) -> tuple[Picture, ...]:
    """Return phases and dates, where there is more than one thing to place on the line of time."""
    today = dt.date.fromisoformat(plan.as_of)
    label = words.phrases.label
    weeks, phase = number_in(plan.facts, "block.weeks"), word_in(plan.facts, "phase.now")
    stops = [Stop(words.say("stop_today"), today)]
    review = day_in(plan.facts, "review.next_date")
    if review is not None:
        stops.append(Stop(words.say("stop_review"), review))
    date = None if narrator.hides(_TARGET) else day_in(narrator.run.facts, _TARGET)
    if date is not None and date > today:
        stops.append(Stop(words.say("stop_date"), date))
    bands = _phase_bands(plan, date, words)
    if not bands and weeks is not None and phase:
        ends = today + dt.timedelta(weeks=weeks)
        name = words.say("band_block", phase=label(phase, "phase.now"), weeks=f"{weeks:g}")
        bands = [Band(name, today, ends, is_now=True)]
        if date is not None and date > ends:
            bands.append(Band(words.say("band_later"), ends, date, is_now=False, is_open=True))
    if not bands:
        return ()
    takeaway = words.say("picture_road_takeaway" if date else "picture_road_takeaway_no_date",
                         review=review.isoformat() if review else "", date=date.isoformat() if date else "")  # fmt: skip
    return (road(bands, stops, takeaway, words),)


def _phase_bands(plan: Plan, until: dt.date | None, words: PageWords) -> list[Band]:
    """Return the phases laid out up to a day; none where the rules lay out no change of phase."""
    today = dt.date.fromisoformat(plan.as_of)
    now = word_in(plan.facts, "phase.now")
    changes = [(day_in(plan.facts, fact_id), phase) for fact_id, phase in _CHANGES]
    later = sorted((day, phase) for day, phase in changes if day is not None and day > today)
    if not now or not later:
        return []
    starts = [(today, now), *later]
    ends = [day for day, _ in later] + [until or later[-1][0]]
    return [
        Band(words.phrases.label(phase, "phase.now"), day, end, is_now=day == today)
        for (day, phase), end in zip(starts, ends, strict=True)
        if end > day
    ]


def spread_pictures(plan: Plan, narrator: Narrator, words: PageWords) -> tuple[Picture, ...]:
    """Return proportions beside those of active adults.

    For the coach alone: the client's page measures people against their own start. Left out where
    the tape was not at the narrowest place, since the table was.
    """
    table = narrator.kb.proportions
    sex = word_in(narrator.run.facts, "client.sex_for_equations")
    site = word_in(narrator.run.facts, "client.waist_site")
    if plan.audience != "coach" or not sex or site == "navel":
        return ()
    rows = []
    for fact_id, by_sex in table.proportions.items():
        value = number_in(plan.facts, fact_id)
        if value is None:
            continue
        p5, p25, p50, p75, p95 = getattr(by_sex, sex)
        label = narrator.kb.facts[fact_id].label
        shown = words.phrases.value(fact_id, value)
        rows.append(Spread(label, shown, value, (p5, p25, p50, p75, p95)))
    if not rows:
        return ()
    takeaway = words.say("picture_spread_takeaway", people=str(getattr(table.people, sex)))
    return (spread(rows, takeaway, words),)
