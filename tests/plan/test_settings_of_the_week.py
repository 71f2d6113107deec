"""The planner's numbers are parameters: a coach's own setting changes the week's settings, and only it."""

import dataclasses
import datetime as dt

from assistant.model.knowledge import KnowledgeBase
from assistant.plan.week import catalogue_of

ON = dt.date(2026, 1, 12)


def test_a_coach_s_own_number_reaches_the_planner(kb: KnowledgeBase) -> None:
    before = catalogue_of(kb, ON).settings
    own = dataclasses.replace(kb, overlay={"programme.warm_up_s": 600.0})
    after = catalogue_of(own, ON).settings
    assert (before.clock.warm_up_s, after.clock.warm_up_s) == (300, 600)
    assert isinstance(after.clock.warm_up_s, int)
    assert after.clock.model_copy(update={"warm_up_s": 300}) == before.clock
    assert after.week == before.week


def test_each_book_has_its_own_catalogue(kb: KnowledgeBase) -> None:
    first, *others = kb.exercises.exercises
    rows = (first.model_copy(update={"name": "Another name"}), *others)
    other = kb.with_files(exercises=kb.exercises.model_copy(update={"exercises": rows}))
    assert catalogue_of(other, ON).exercises[first.id].name == "Another name"
    assert catalogue_of(kb, ON).exercises[first.id].name == first.name
