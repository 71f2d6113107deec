"""Tick lists: what stands behind them, what silence opens, and what is kept of them."""

import dataclasses
import functools
from pathlib import Path
from typing import Any

import pytest
import yaml
from tick_lists import AS_OF, book, form

from assistant.calculate.registry import CALCULATORS
from assistant.intake import dialogue as d
from assistant.intake.case_file import case_text, completed
from assistant.intake.dialogue import Dialogue
from assistant.intake.drafts import Header, open_draft
from assistant.intake.events import Confirmed
from assistant.intake.form import TICKS
from assistant.intake.layout import review_lines
from assistant.intake.quantities import UnitSystem
from assistant.intake.typed import act
from assistant.knowledge.checks.tick_lists import check_tick_lists
from assistant.knowledge.drafting import read_draft as read_book
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value

EXAMPLES = Path(__file__).parents[1] / "screen" / "vignettes.yaml"


def plain_noes() -> dict[str, Value]:
    return {slot.fact: slot.opening.no for slot in form().slots if slot.opening is not None}


def test_a_plain_no_is_what_a_healthy_person_of_the_worked_examples_answers() -> None:
    """The worked examples of the screen were written before the lists, and from other sources."""
    base = yaml.safe_load(EXAMPLES.read_text("utf-8"))["base_answers"]
    compared = 0
    for fact, no in plain_noes().items():
        key = fact.removeprefix("screen.")
        healthy = [answers[key] for answers in base.values() if key in answers]
        known = [value for value in healthy if value != "not_applicable"]
        if not fact.startswith("screen.") or no is Status.UNKNOWN or not known:
            continue
        assert all((list(no) if isinstance(no, tuple) else no) == value for value in known), fact
        compared += 1
    assert compared >= 25


def test_what_may_stop_everything_and_what_comes_with_it_is_asked_by_itself() -> None:
    behind = set(plain_noes())
    assert not [fact for fact in behind if book().facts[fact].tier == "A"]
    assert not behind & SESSION_ONLY_FACTS
    alone = {"client.age_years", "screen.pregnant", "screen.cycle_or_birth_applies", "screen.disease",
             "screen.conditions", "screen.symptom_recent", "screen.eating_disorder",
             "screen.purging_or_misuse", "screen.low_energy_signs", "screen.low_mood_two_weeks"}  # fmt: skip
    assert not behind & alone


def test_signs_that_stop_everything_come_second() -> None:
    sections = list(dict.fromkeys(slot.question.section for slot in form().slots))
    assert sections[:2] == ["you", "today"]
    assert form().slots[0].fact == "client.age_years"


def at_list(name: str) -> Dialogue:
    dialogue = d.start(form(), "self")
    while dialogue.slot.fact != TICKS + name:
        dialogue = d.skip(dialogue).dialogue
    return dialogue


@pytest.mark.parametrize("said", ["skip", "not sure", "prefer not to say", "rather not say"])
def test_a_list_without_an_answer_opens_everything(said: str) -> None:
    step = act(at_list("body"), said)
    assert step.events
    behind = {form().index_of(fact) for fact in at_list("body").slot.leads_to}
    assert behind <= set(step.dialogue.applicable)


def test_none_of_these_asks_nothing_and_a_tick_asks_its_own() -> None:
    here = at_list("body")
    none = act(here, "none").dialogue
    assert none.slot.fact == "screen.purging_or_misuse"
    one = act(here, "1").dialogue
    assert one.slot.fact == "screen.trains_when_hurt_or_ill"
    assert one.settled["screen.distress_at_missed_session"] is False
    assert one.slot.fact not in one.settled


def test_a_question_waits_for_its_list_so_that_progress_counts_what_will_be_asked() -> None:
    dialogue = d.start(form(), "self")
    behind = {form().index_of(fact) for fact in plain_noes()}
    assert not behind & set(dialogue.applicable)
    assert dialogue.open_questions


def test_a_list_is_no_answer_about_anybody() -> None:
    dialogue = d.start(form(), "coach")
    while not dialogue.in_review:
        dialogue = (d.give(dialogue, ()) if dialogue.slot.leads_to else d.skip(dialogue)).dialogue
    last = dialogue
    assert not [fact for fact in last.settled if fact.startswith(TICKS)]
    assert TICKS not in case_text("Invented Person", AS_OF, last.settled)
    settled, missing = completed({}, form())
    assert not [fact for fact in (*settled, *missing) if fact.startswith(TICKS)]
    # A file that is silent says no to nothing.
    assert set(plain_noes()) & set(missing)


def test_unticking_in_the_review_takes_answers_out_and_says_so() -> None:
    dialogue = act(act(at_list("body"), "1").dialogue, "yes").dialogue
    index = form().index_of(TICKS + "body")
    assert any("rest and body, in short: Training when hurt or ill" in line for line in review_lines(dialogue, 200))  # fmt: skip
    step = act(d.edit(dialogue, index).dialogue, "none")
    assert "trains when hurt or ill" in step.notice
    assert step.dialogue.settled["screen.trains_when_hurt_or_ill"] is False


def test_ticks_are_kept_in_a_draft_and_one_that_no_longer_fits_is_asked_again(
    tmp_path: Path,
) -> None:
    path = tmp_path / "draft.jsonl"
    header = Header("Invented Person", "self", UnitSystem.METRIC)
    given_now = [Confirmed(TICKS + "body", ("missed",)), Confirmed(TICKS + "food", ())]
    draft, _ = open_draft(path, header, book(), form())
    with draft:
        for event in given_now:
            draft.remember(event)
    draft, remembered = open_draft(path, header, book(), form())
    draft.__exit__()
    assert list(remembered.events) == given_now
    path.write_text(path.read_text("utf-8").replace('"missed"', '"no_more"'), encoding="utf-8")
    draft, remembered = open_draft(path, header, book(), form())
    draft.__exit__()
    assert list(remembered.events) == given_now[1:]
    assert "asked again" in remembered.notes[0]


def test_a_draft_from_before_the_lists_loses_nothing() -> None:
    thyroid = Confirmed("screen.thyroid", "uncontrolled")
    dialogue = d.replay(d.start(form(), "self"), [thyroid])
    assert dialogue.settled["screen.thyroid"] == "uncontrolled"
    assert form().index_of(TICKS + "health") in dialogue.open_questions


BROKEN: list[tuple[str, dict[str, Any], str]] = [
    ("tier A", {"facts": ("screen.ill_today",)}, "hidden-stop"),
    ("a session-only answer", {"facts": ("screen.self_harm_thoughts",)}, "hidden-stop"),
    ("a fact nobody asks", {"facts": ("energy.floor_kcal_per_day",)}, "unknown-fact"),
    ("no word for no", {"facts": ("screen.falls_last_year",)}, "missing-entry"),
    ("a no that is not allowed", {"facts": ("screen.falls_last_year",), "otherwise": {"screen.falls_last_year": -1.0}}, "out-of-range"),
    ("silence of another kind", {"facts": ("screen.falls_last_year",), "otherwise": {"screen.falls_last_year": "not_applicable"}}, "bad-value"),
    ("a needless word for no", {"facts": ("screen.bariatric_surgery",), "otherwise": {"screen.bariatric_surgery": "x"}}, "bad-value"),
    ("behind two items", {"facts": ("screen.distress_at_missed_session",)}, "repeated-item"),
    ("a stranger under otherwise", {"facts": ("screen.bariatric_surgery",), "otherwise": {"screen.thyroid": "none"}}, "unknown-fact"),
]  # fmt: skip


@functools.cache
def whole_draft() -> Any:
    draft, _ = read_book(calculators=CALCULATORS)
    return draft


@pytest.mark.parametrize(("why", "item", "code"), BROKEN, ids=[row[0] for row in BROKEN])
def test_a_broken_list_is_refused_with_its_line(why: str, item: dict[str, Any], code: str) -> None:
    draft = whole_draft()
    assert check_tick_lists(draft) == []
    first = next(each for each in draft.tick_lists if each.id == "body")
    bad = first.items[0].model_copy(update={"otherwise": {}, **item})
    changed = first.model_copy(update={"items": (bad, *first.items[1:])})
    others = [changed if each is first else each for each in draft.tick_lists]
    found = check_tick_lists(dataclasses.replace(draft, tick_lists=tuple(others)))
    assert code in {problem.code for problem in found}, why
    assert all(problem.place.startswith("rules/questions/") for problem in found)
