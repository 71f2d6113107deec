"""Tick lists change how many questions are asked, and no answer.

The law: whoever answers every question one by one, in the order of before (`asked_one_by_one.txt`), and whoever
ticks first, ends with the same answers, so with the same flags, outputs held back and referrals.
"""

import functools
import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from lengths import at_length
from tick_lists import AS_OF, book, form

from assistant.calculate.registry import CALCULATORS
from assistant.engine import compile_knowledge, run_engine
from assistant.intake import dialogue as d
from assistant.intake.dialogue import Dialogue
from assistant.intake.form import Form, Slot
from assistant.intake.parse import may_not_apply
from assistant.model.facts import FactType
from assistant.model.values import Status, Value

BEFORE = (Path(__file__).parent / "asked_one_by_one.txt").read_text("utf-8").split()
SILENT = (Status.UNKNOWN, Status.DECLINED)


@functools.cache
def form_before() -> Form:
    """The same questions one by one, in the order they had before there were lists."""
    slots = {slot.fact: replace(slot, opening=None) for slot in form().slots if not slot.leads_to}
    # A question that is newer than the lists stands where it stands now.
    newer = [fact for fact in slots if fact not in BEFORE]
    return replace(form(), slots=tuple(slots[fact] for fact in (*BEFORE, *newer)))


def an_answer(  # noqa: PLR0911 - one return for each kind of answer
    slot: Slot, chance: random.Random
) -> Value:
    """Return any answer a person may give to one question; behind a list half of them are the plain no."""
    if slot.opening is not None and chance.random() < 0.5:
        return slot.opening.no
    declared, options = slot.declaration, [value for _, value in slot.options]
    if chance.random() < 0.2:
        silent: list[Value] = [Status.UNKNOWN]
        if slot.question.may_decline:
            silent.append(Status.DECLINED)
        if declared.allows_none and declared.type is not FactType.CHOICES:
            silent.append(Status.NONE)
        if may_not_apply(slot):
            silent.append(Status.NOT_APPLICABLE)
        return chance.choice(silent)
    if declared.type is FactType.BOOLEAN:
        return chance.random() < 0.5
    if declared.type is FactType.CHOICES:
        least = 1 if slot.question.needs_one else 0
        count = chance.randint(least, min(3, len(options)))
        return tuple(sorted(chance.sample(list(map(str, options)), count)))
    if options:
        return chance.choice(options)
    if declared.type is FactType.DATE:
        return chance.choice(["2026-06-20", "2027-01-31"])
    low, high = declared.range or (0.0, 1.0)
    usual = (low, high, 0.0, 1.0, 2.0, 3.0, 17.0, 40.0, 80.0)
    return chance.choice([number for number in usual if low <= number <= high])


def a_person(seed: int) -> tuple[dict[str, Value], frozenset[str]]:
    """Return answers to every question, and the lists that are left blank or declined."""
    chance = random.Random(seed)
    person = {slot.fact: an_answer(slot, chance) for slot in form().slots if not slot.leads_to}
    lists = [slot.fact for slot in form().slots if slot.leads_to]
    return person, frozenset(each for each in lists if chance.random() < 0.15)


def walked(of: Form, say: Callable[[Slot], Value]) -> Dialogue:
    """Answer whatever is asked until the review."""
    dialogue = d.start(of, "coach")
    for _ in range(300):
        if dialogue.in_review:
            return dialogue
        step = d.give(dialogue, say(dialogue.slot))
        # What looks wrong is asked about; the same again takes it.
        dialogue = (
            step.dialogue if step.events else d.give(step.dialogue, say(dialogue.slot)).dialogue
        )
    raise AssertionError("the walk does not end")


def ticked(slot: Slot, answers: Mapping[str, Value]) -> tuple[str, ...]:
    """Tick each item that has a fact whose answer is not the plain no."""
    opened = (form().slots[form().index_of(fact)] for fact in slot.leads_to)
    found = {
        one.opening.item
        for one in opened
        if one.opening is not None and answers[one.fact] != one.opening.no
    }
    return tuple(sorted(found))


def by_ticks(person: Mapping[str, Value], blank: frozenset[str]) -> Dialogue:
    def say(slot: Slot) -> Value:
        if slot.fact in blank:
            return SILENT[len(slot.fact) % 2]
        return ticked(slot, person) if slot.leads_to else person[slot.fact]

    return walked(form(), say)


def hold_the_law(seed: int) -> None:
    person, blank = a_person(seed)
    before = walked(form_before(), lambda slot: person[slot.fact])
    assert dict(by_ticks(person, blank).settled) == dict(before.settled), seed


@pytest.mark.parametrize("start", range(0, 40, 20))
def test_ticking_first_gives_the_answers_of_asking_one_by_one(start: int) -> None:
    for seed in range(start, start + 20):
        hold_the_law(seed)


@pytest.mark.slow
@pytest.mark.parametrize("start", range(40, 40 + at_length(5_000, 1_000), 500))
def test_ticking_first_gives_the_answers_of_asking_one_by_one_to_many(start: int) -> None:
    for seed in range(start, start + 500):
        hold_the_law(seed)


def test_the_people_of_the_law_are_not_all_alike() -> None:
    """Lists left blank, ticked in part and not at all, and follow-ups behind them all come up."""
    seen = [by_ticks(*a_person(seed)) for seed in range(60)]
    asked = {last.form.slots[index].fact for last in seen for index in last.applicable}
    behind = {slot.fact for slot in form().slots if slot.opening is not None}
    assert behind <= asked
    for slot in form().slots:
        if slot.leads_to:
            given = [last.answers[slot.fact] for last in seen if slot.fact in last.answers]
            assert Status.UNKNOWN in given or Status.DECLINED in given
            assert any(isinstance(value, tuple) and value for value in given)
            assert any(
                isinstance(value, tuple) and len(value) < len(slot.choices) for value in given
            )


def test_the_screen_says_the_same_of_both() -> None:
    kb = book()
    rules = {name: rule for name, rule in kb.rules.items() if rule.stage == "screen"}
    compiled = compile_knowledge(replace(kb, rules=rules), AS_OF)
    for seed in range(15):
        person, blank = a_person(seed)
        before = walked(form_before(), lambda slot, of=person: of[slot.fact])
        said = []
        for last in (before, by_ticks(person, blank)):
            run = run_engine(compiled, dict(last.settled), AS_OF, "clips", CALCULATORS)
            said.append({fact: value.value for fact, value in run.facts.items()})
        assert said[0] == said[1]


def test_the_law_sees_a_list_that_answers_wrongly() -> None:
    """The check can fail: a list that says yes for whoever does not tick it is found."""
    at = form().index_of("screen.pelvic_floor_symptom")
    slot = form().slots[at]
    assert slot.opening is not None
    wrong = replace(slot, opening=replace(slot.opening, no=True))
    slots = (*form().slots[:at], wrong, *form().slots[at + 1 :])
    person = {one.fact: Status.UNKNOWN for one in form().slots} | {slot.fact: False}
    lists = {one.fact for one in form().slots if one.leads_to}

    def say(one: Slot) -> Value:
        return () if one.fact in lists else person[one.fact]

    last = walked(replace(form(), slots=slots), say)
    assert last.settled[slot.fact] is not person[slot.fact]
