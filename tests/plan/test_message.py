"""The message to a client after a review: short, kind, no withheld figure, the next step and a day at the end.

No outside source: the length, and what is never said to a client, are house judgement.
"""

import dataclasses
import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.model.case import Case
from assistant.model.derivation import FactValue, Run
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value
from assistant.plan import Planner
from assistant.plan.language import FOREIGN_START, localised, localised_run, read_language
from assistant.plan.message import client_message

ROOT = Path(__file__).parents[2]
RECORD = ROOT / "cases/records/four_days.csv"
LANGUAGES = ("en", "de")
SHAMING = re.compile(
    r"\b(fat person|obese|overweight|skinny|lazy|guilt|cheat|fail(ed|ure)?|bad|excuse|well done"
    r"|congratulations|great job|lost \d|faul|schuld|versagt|geschummelt|glückwunsch)\b",
    re.IGNORECASE,
)
EVERYTHING: Mapping[str, Value] = {
    "review.next_date": "2026-03-01",
    "review.ask_mood": True,
    "review.next_target_kcal_per_day": 2340.0,
    "record.energy_target_kcal_per_day": 2440.0,
    "review.volume_direction": "less",
    "review.next_phase": "hold",
    "review.week_away": True,
    "review.fall_cause": "basics",
    "review.lifts": "rising",
    "review.waiting": ("rotate_block",),
}


@pytest.fixture(scope="module")
def plain_run(planner: Planner, clear: Case) -> Run:
    return planner.run(clear)


def _with(run: Run, more: Mapping[str, Value]) -> Run:
    facts = {key: FactValue(value, key=key) for key, value in more.items()}
    return dataclasses.replace(run, facts={**run.facts, **facts})


def _message(planner: Planner, run: Run, language: str = "en") -> tuple[str, str, str]:
    words = read_language(planner.kb, language)
    speaker = dataclasses.replace(planner, kb=localised(planner.kb, words))
    return client_message("Ines Farrow", speaker.narrator(localised_run(run, words), "client"))


def _decisions(kb: KnowledgeBase) -> list[str]:
    return list(kb.facts["review.decision"].choices)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_decision_has_a_short_kind_message(
    language: str, planner: Planner, plain_run: Run
) -> None:
    said = set()
    for decision in _decisions(planner.kb):
        for pain in ("review.ask_pain", "review.ask_pain_lasting", "review.sign_sore"):
            facts = {**EVERYTHING, "review.decision": decision, pain: True}
            greeting, sentences, closing = _message(planner, _with(plain_run, facts), language)
            whole = f"{greeting} {sentences} {closing}"
            # The day is printed as three words.
            assert len(whole.split()) + 2 <= 90, whole
            assert closing.endswith(("We look again on 2026-03-01.", "wieder gemeinsam hin."))
            assert not SHAMING.search(whole), whole
            assert FOREIGN_START not in whole, whole
            assert "{" not in whole
            said.add(sentences)
    assert len(said) == 3 * len(_decisions(planner.kb))


def test_what_weighs_most_is_said_where_not_all_fits(planner: Planner, plain_run: Run) -> None:
    facts = {**EVERYTHING, "review.decision": "refer", "review.ask_pain": True}
    _, sentences, _ = _message(planner, _with(plain_run, facts))
    assert "Strong pain deserves a physiotherapist" in sentences
    assert "Your lifts are going up." not in sentences


@pytest.mark.parametrize(
    ("facts", "said", "unsaid"),
    [
        ({"review.week_away": True}, "A week away happens; start where the sheet says.", "basics"),
        ({"review.lifts": "falling", "review.fall_cause": "food"}, "a little more food", "going up"),
        ({"review.lifts": "rising"}, "Your lifts are going up.", "behind the lifts"),
        ({"review.volume_direction": "more"}, "A few more sets", "fewer"),
        ({"review.sign_sore": True}, "leave out what hurts", "physiotherapist"),
        ({"review.ask_pain": True, "review.sign_sore": True}, "physiotherapist", "what hurts"),
        ({"review.waiting": ()}, "Nothing changes", "the rest waits"),
        ({"record.days_silent": 7, "review.week_away": True}, "I have not heard", "A week away"),
        ({"review.referral_open": True}, "Please see whom your plan names", "physiotherapist"),
        ({"unsure.goal_direction": True}, "which matters more", "heard from you"),
    ],
)  # fmt: skip
def test_each_sentence_has_its_cause(
    facts: Mapping[str, Value], said: str, unsaid: str, planner: Planner, plain_run: Run
) -> None:
    run = _with(plain_run, {"review.decision": "hold", **facts})
    _, sentences, _ = _message(planner, run)
    assert said in sentences
    assert unsaid not in sentences


def test_food_is_told_before_and_after_where_it_may_be_told(
    planner: Planner, plain_run: Run
) -> None:
    facts = {**EVERYTHING, "review.decision": "adjust_energy"}
    _, shown, _ = _message(planner, _with(plain_run, facts))
    assert "Food goes from about 2440 to about 2340 kcal a day." in shown
    hidden = {**facts, "screen.withheld": ("energy_number",)}
    _, kept_back, _ = _message(planner, _with(plain_run, hidden))
    assert not re.search(r"\d", kept_back)
    del facts["record.energy_target_kcal_per_day"]
    _, new, _ = _message(planner, _with(plain_run, facts))
    assert "Eat about 2340 kcal a day from now on." in new


def test_under_a_stop_it_speaks_of_nothing_else(planner: Planner, plain_run: Run) -> None:
    facts = {**EVERYTHING, "review.decision": "adjust_energy", "screen.level": "stop"}
    _, sentences, closing = _message(planner, _with(plain_run, facts))
    assert sentences == planner.kb.message.stopped.say
    assert "2026" not in closing


def test_the_command_prints_it_alone(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["review", str(ROOT / "cases/four_days.yaml"), "--record", str(RECORD), "--message"]
    assert main(words) == 0
    text = capsys.readouterr().out
    assert text.startswith("Hello Ines Farrow,\n\nYour exercises have had their time.")
    assert " ".join(text.split()).endswith("We look again on 12 April 2026.")
    assert main([*words, "--language", "de"]) == 0
    assert "12. April 2026" in " ".join(capsys.readouterr().out.split())


def test_a_language_goes_with_the_message_only(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["review", str(ROOT / "cases/four_days.yaml"), "--record", str(RECORD)]
    assert main([*words, "--language", "de"]) == 2
    assert "add --message" in capsys.readouterr().err


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(
    ("urgency", "en", "de"),
    [("now", "emergency number", "Notruf"), ("same_day", "today", "heute")],
)
def test_what_is_urgent_is_said_before_all_else(
    planner: Planner, plain_run: Run, language: str, urgency: str, en: str, de: str
) -> None:
    """Nobody with a sign of danger reads of food and sets, or that they should see someone some day."""
    more = {**EVERYTHING, "review.decision": "adjust_energy",
            "screen.referral_urgency[physician]": urgency}  # fmt: skip
    said = " ".join(_message(planner, _with(plain_run, more), language))
    assert (en if language == "en" else de) in said
    assert "kcal" not in said
    assert FOREIGN_START not in said
