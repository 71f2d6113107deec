"""Typed changes: short names, units, lists and settings, and one clear line for the rest."""

import pytest

from assistant.cli.changes import Changes, read_changes, resolve
from assistant.intake.form import Form, form_of
from assistant.intake.quantities import Refusal, UnitSystem
from assistant.model.case import Case
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value


@pytest.fixture(scope="module")
def form(kb: KnowledgeBase, cases: dict[str, Case]) -> Form:
    return form_of(kb, cases["four_days"].as_of)


def _read(
    kb: KnowledgeBase, form: Form, now: dict[str, Value], *texts: str, imperial: bool = False
) -> Changes:
    system = UnitSystem.IMPERIAL if imperial else UnitSystem.METRIC
    return read_changes(texts, kb, form, now, system)


@pytest.mark.parametrize(
    ("short", "full"),
    [
        ("sleep", "client.sleep_hours"),
        ("client.sleep_hours", "client.sleep_hours"),
        ("sleep_hours", "client.sleep_hours"),
        ("days", "client.available_days"),
        ("training_days", "client.available_days"),
        ("client.training_days", "client.available_days"),
        ("minutes", "client.minutes_per_session"),
        ("waist", "client.waist_cm"),
        ("weight", "client.weight_kg"),
        ("stress", "client.stress_1_to_5"),
        ("intake", "client.intake_kcal_per_day"),
        ("symptom_now", "screen.symptom_now"),
        ("protein.aim_per_lb", "protein.aim_per_lb"),
        ("aim_per_lb", "protein.aim_per_lb"),
    ],
)
def test_short_names(kb: KnowledgeBase, form: Form, short: str, full: str) -> None:
    assert resolve(short, kb, form) == full


@pytest.mark.parametrize("name", ["muscles", "eating", "dayz", "low"])
def test_names_that_mean_several_things_or_none_are_refused(
    kb: KnowledgeBase, form: Form, name: str
) -> None:
    with pytest.raises(Refusal, match=r"can mean|is no answer") as refused:
        resolve(name, kb, form)
    assert name in str(refused.value)


def test_values_units_and_lists(kb: KnowledgeBase, form: Form) -> None:
    """1 lb is 0.45359237 kg and 1 in is 2.54 cm by definition."""
    now: dict[str, Value] = {
        "client.available_days": ("mon", "thu"),
        "client.sleep_hours": 6.5,
        "client.minutes_per_session": 60.0,
    }
    read = _read(
        kb, form, now,
        "sleep+=1h", "days+=sat,sun", "minutes=1 h 15", "client.weight_kg=140 lb",
        "waist=28 in", "goal=lose_fat", "intake=unknown", "hip=none", "sore_joints=knee, hip",
    ).answers  # fmt: skip
    assert read["client.sleep_hours"] == 7.5
    assert read["client.available_days"] == ("mon", "sat", "sun", "thu")
    assert read["client.minutes_per_session"] == 75
    assert read["client.weight_kg"] == pytest.approx(140 * 0.45359237)
    assert read["client.waist_cm"] == pytest.approx(28 * 2.54)
    assert read["client.goal"] == "lose_fat"
    assert read["client.intake_kcal_per_day"] is Status.UNKNOWN
    assert read["client.hip_cm"] is Status.NONE
    assert read["client.sore_joints"] == ("hip", "knee")
    assert _read(kb, form, now, "days-=thu").answers["client.available_days"] == ("mon",)
    twice = _read(kb, form, now, "days-=thu", "days+=fri").answers["client.available_days"]
    assert twice == ("fri", "mon")
    assert _read(kb, form, now, "minutes-=15").answers["client.minutes_per_session"] == 45
    imperial = _read(kb, form, now, "client.weight_kg=140", imperial=True).answers
    assert imperial["client.weight_kg"] == pytest.approx(140 * 0.45359237)


def test_numbers_of_the_book(kb: KnowledgeBase, form: Form) -> None:
    low, high = kb.parameters["protein.aim_per_lb"].range
    assert _read(kb, form, {}, "protein.aim_per_lb=top").numbers == {"protein.aim_per_lb": high}
    assert _read(kb, form, {}, "aim_per_lb=bottom").numbers == {"protein.aim_per_lb": low}
    assert _read(kb, form, {}, "aim_per_lb=0.85").numbers == {"protein.aim_per_lb": 0.85}


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("sleep", "write NAME=VALUE"),
        ("=8", "write NAME=VALUE"),
        ("sleep=lots", "type it like"),
        ("sleep=40h", "outside 0 to 16"),
        ("minutes-=50", "allowed: 15 to 180"),
        ("goal+=lose_fat", "no number and no list"),
        ("days=someday", "not in the list"),
        ("stress+=1", "no number to start from"),
        ("protein.aim_per_lb=3", "allowed: 0.7 to 1"),
        ("protein.aim_per_lb=nan", "allowed: 0.7 to 1"),
        ("protein.aim_per_lb+=0.1", "write it with ="),
        ("bogus=1", "no answer and no number"),
    ],
)
def test_what_is_not_understood_is_one_line(
    kb: KnowledgeBase, form: Form, text: str, hint: str
) -> None:
    with pytest.raises(InputProblems) as caught:
        _read(kb, form, {"client.minutes_per_session": 60.0}, text)
    (problem,) = caught.value.problems
    assert problem.code == "bad-change"
    assert problem.place == text
    assert hint in problem.text
