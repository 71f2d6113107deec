"""What a record says reaches the screen, the review in both voices and the plan of that day.

Lines: pain 7 of 10 and mood 2 of 5 (house judgement); 1 % a week (common practice); under 17.5 and a
kilogram a week (second-hand pathways); 2 kg in three days (heart-failure self-care, from memory).
"""

import dataclasses
import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from records import day, even

from assistant.measure import Settings
from assistant.measure.habits import sessions
from assistant.measure.signs import joint_pains, low_mood
from assistant.model.case import Case, Decision
from assistant.model.derivation import Run
from assistant.model.history import (
    Agreement,
    DayNote,
    History,
    OpenReferral,
    Pain,
    SessionMark,
    SignMark,
    Weighing,
)
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner
from assistant.plan.record import findings_of
from assistant.plan.visibility import withheld_outputs
from assistant.plan.week import week_request
from assistant.programme.pool import build_pool
from assistant.report.review_text import review_text

LAST = 41
PlannerOf = Callable[[dt.date], Planner]


@dataclasses.dataclass(frozen=True)
class Reviewed:
    """A run on a record, and what coach and client read of it."""

    run: Run
    coach: str
    client: str

    def said(self, fact: str) -> Any:
        found = self.run.facts.get(fact)
        return None if found is None else found.value

    @property
    def flags(self) -> set[str]:
        flags = self.said("screen.flags")
        return set(flags) if isinstance(flags, tuple) else set()

    @property
    def withheld(self) -> frozenset[str]:
        return withheld_outputs(self.run)


Review = Callable[..., Reviewed]


@pytest.fixture(scope="module")
def review(kb: KnowledgeBase, case: Case, planner_of: PlannerOf) -> Review:
    def made(
        history: History, last: int = LAST, decisions: tuple[Decision, ...] = (), **answers: Any
    ) -> Reviewed:
        changed = {name.replace("__", "."): value for name, value in answers.items()}
        own = dataclasses.replace(case, answers={**case.answers, **changed}, decisions=decisions)
        planner = planner_of(day(last))
        found = findings_of(kb, own, history, day(last))
        assert found is not None
        run = planner.run(own, found)
        texts = []
        for audience in ("coach", "client"):
            narrator = planner.narrator(run, audience)  # type: ignore[arg-type]
            text = review_text(planner.plan(own, narrator), narrator, found)
            texts.append(" ".join(text.split()))
        return Reviewed(run, *texts)

    return made


def _with(**changes: Any) -> History:
    return dataclasses.replace(even(LAST + 1, kg_per_week=0.11), **changes)


def _notes(**moods: int) -> tuple[DayNote, ...]:
    return tuple(DayNote(day(int(n.removeprefix("d"))), mood_1_to_5=m) for n, m in moods.items())


# Pain


def test_strong_pain_rests_the_joint_and_opens_the_review(review: Review) -> None:
    found = review(_with(pains=(Pain(day(38), "knee", 7),)))
    assert {"strong_pain_unasked", "joint_pain"} <= found.flags
    assert found.said("training.resting_joints") == ("knee",)
    assert found.said("screen.level") == "withhold"
    assert found.said("screen.referral_urgency[physiotherapist]") == "this_week"
    assert found.said("review.decision") == "refer"
    first = found.coach.partition("What to sort out first")[2].lstrip(" -")
    assert first.startswith("first.resting_joints Pain: knee rests")
    mine = found.client.partition("Before anything else")[2].lstrip(" -")
    assert mine.startswith("first.resting_joints Resting for now: knee.")
    assert "7 of 10" not in found.client
    assert found.said("review.next_date") <= day(LAST + 7).isoformat()
    just_short = review(_with(pains=(Pain(day(38), "knee", 6),)))
    assert not just_short.flags & {"strong_pain_unasked", "joint_pain"}
    assert just_short.said("training.resting_joints") is None


def test_a_resting_joint_s_exercises_leave_the_week(
    kb: KnowledgeBase, case: Case, planner_of: PlannerOf
) -> None:
    planner = planner_of(day(LAST))
    found = findings_of(kb, case, _with(pains=(Pain(day(38), "knee", 8),)), day(LAST))
    asked = week_request(planner.run(case, found), planner.catalogue)
    assert asked is not None
    pool = build_pool(asked, planner.catalogue)
    assert pool.allowed
    assert not [name for name, each in pool.allowed.items() if "knee" in each.exercise.joint_stress]
    assert [each for each in pool.ruled_out if each.cause == "joint"]


def test_questions_answered_clear_leave_the_weaker_caution(review: Review) -> None:
    """The joint still hurts that much, so it rests on; once it hurts less it comes back."""
    asked = review(_with(pains=(Pain(day(38), "knee", 8, asked_clear=True),)))
    assert "strong_pain_unasked" not in asked.flags
    assert "joint_pain" in asked.flags
    assert asked.said("screen.level") == "caution"
    assert asked.said("training.resting_joints") == ("knee",)
    eased = (Pain(day(38), "knee", 8, asked_clear=True), Pain(day(40), "knee", 3))
    better = review(_with(pains=eased))
    assert "joint_pain" not in better.flags
    assert better.said("training.resting_joints") is None
    unasked = (Pain(day(38), "knee", 8), Pain(day(40), "knee", 3))
    assert review(_with(pains=unasked)).said("training.resting_joints") == ("knee",)


def test_little_pain_for_weeks_closes_a_pain_nobody_asked_about(settings: Settings) -> None:
    strong = Pain(day(0), "knee", 8)
    eased = (strong, Pain(day(7), "knee", 2), Pain(day(14), "knee", 0))
    assert joint_pains(History(pains=eased), day(14), settings)["knee"].unasked == 2
    for others in (
        eased[:2],
        (strong, Pain(day(7), "knee", 4), Pain(day(14), "knee", 0)),
        eased[:1],
    ):
        assert joint_pains(History(pains=others), day(90), settings)["knee"].unasked == 8


def test_a_clearance_lifts_what_it_names_and_no_more(review: Review) -> None:
    """A person with a reason may close a sign; the weaker one stays."""
    cleared = Decision(
        "cleared",
        "strong_pain_unasked",
        "L. Marrow",
        "looked at it",
        day(40),
        day(60),
        "physiotherapist",
        {"record.pain_unasked_0_to_10[knee]": 8.0},
    )
    found = review(_with(pains=(Pain(day(38), "knee", 8),)), decisions=(cleared,))
    assert found.said("screen.level") == "caution"
    assert found.said("training.resting_joints") == ("knee",)


def test_lasting_pain_names_a_physiotherapist(review: Review) -> None:
    pains = tuple(Pain(day(n), "hip", 4) for n in (22, 29, 36))
    found = review(_with(pains=pains))
    assert "joint_pain" in found.flags
    assert found.said("screen.referral_urgency[physiotherapist]") == "this_week"
    assert "3 of three weeks" in found.coach
    assert "joint_pain" not in review(_with(pains=pains[1:])).flags


@pytest.mark.parametrize("pain", [4, 8])
def test_a_pain_told_once_did_not_stay(review: Review, pain: int) -> None:
    found = review(_with(pains=(Pain(day(38), "knee", pain),)))
    assert "stayed" not in found.coach
    assert f"Pain reached {pain} of 10 in the last two weeks." in found.coach
    assert "sore" not in found.client
    assert "Pain that stays" not in found.client


# Mood


def test_low_mood_for_two_weeks_is_a_referral(review: Review) -> None:
    found = review(_with(notes=_notes(d27=2, d34=1, d41=2)))
    assert "low_mood" in found.flags
    assert found.said("screen.referral_urgency[physician]") == "routine"
    assert "deficit_large" in found.withheld
    assert found.said("review.decision") == "refer"
    assert "ask how things are, kindly, ask the question about mood" in found.coach
    assert "tell us how you are" in found.client
    assert not any(figure in found.client for figure in ("of 5", "%"))


@pytest.mark.parametrize(
    ("moods", "low"),
    [
        ({"d41": 1}, False),  # one note is not two weeks
        ({"d36": 1, "d41": 2}, False),
        ({"d34": 1, "d41": 2}, True),
        ({"d34": 3, "d41": 2}, False),
        ({"d10": 1, "d17": 2}, True),  # silence since then is no better mood
        ({"d10": 1, "d17": 2, "d24": 4, "d41": 4}, False),  # better notes are
        ({"d27": 1, "d34": 2, "d41": 4}, False),
        ({"d28": 1, "d31": 1, "d34": 2, "d41": 4}, True),  # most days of the two weeks were low
    ],
)
def test_two_weeks_of_low_mood(settings: Settings, moods: Mapping[str, int], low: bool) -> None:
    found = low_mood(History(notes=_notes(**moods)), day(41), settings)
    assert found is not None
    assert found.stays is low


def test_low_mood_with_physique_drugs_asks_for_a_doctor_this_week(review: Review) -> None:
    low = _with(notes=_notes(d27=2, d34=1, d41=2))
    found = review(low, screen__performance_drugs="stopped_under_12_months")
    assert "low_mood_after_drugs" in found.flags
    assert found.said("screen.referral_urgency[physician]") == "this_week"
    assert "energy_deficit" in found.withheld


# Fast loss


CUT: Mapping[str, Any] = {"client__goal": "lose_fat", "client__goal_weight_kg": 60.0}


def test_a_loss_over_the_safe_rate_stops_the_cut_that_day(review: Review) -> None:
    """Phase, review and the targets of the same day agree: no deficit anywhere."""
    falling = even(LAST + 1, weight=74.0, kg_per_week=-0.9, phase="cut", target=1900.0, kcal=1900.0)
    found = review(falling, client__weight_kg=74.0, **CUT)
    assert "weight_loss_fast" in found.flags
    assert "energy_deficit" in found.withheld
    assert found.said("phase.now") == "hold"
    assert found.said("phase.cut_until") is None
    assert (found.said("energy.surplus_kcal_per_day") or 0) >= 0
    assert found.said("review.decision") == "refer"
    assert found.said("review.energy_change_kcal_per_day") is None
    slow = even(LAST + 1, weight=74.0, kg_per_week=-0.4, phase="cut", target=1900.0, kcal=1900.0)
    assert review(slow, client__weight_kg=74.0, **CUT).said("phase.now") == "cut"


def test_who_weighs_once_a_week_is_watched_too(review: Review) -> None:
    once = tuple(Weighing(day(n), 74.0 - 1.1 * n / 7) for n in range(6, LAST + 1, 7))
    found = review(
        _with(weighings=once[-4:], eating=(), agreements=()), client__weight_kg=74.0, **CUT
    )
    assert "weight_loss_fast" in found.flags
    assert found.said("phase.now") == "hold"
    assert found.said("client.weight_kg") == pytest.approx(
        sum(w.weight_kg for w in once[-3:]) / 3, abs=0.01
    )


def test_silence_on_the_scale_does_not_end_the_sign(review: Review) -> None:
    falling = even(LAST + 1, weight=74.0, kg_per_week=-0.9, phase="cut", target=1900.0)
    for later in (LAST + 10, LAST + 40):
        assert "weight_loss_fast" in review(falling, later, **CUT).flags
    steady = (*falling.weighings, *(Weighing(day(LAST + n), 68.6) for n in range(1, 36)))
    ended = dataclasses.replace(falling, weighings=steady)
    assert "weight_loss_fast" not in review(ended, LAST + 35, **CUT).flags


def test_accepting_does_not_take_a_fast_gain_out_of_view(review: Review) -> None:
    rising = even(LAST + 1, kg_per_week=0.6)
    assert "weight_gain_fast" in review(rising).flags
    agreed = Agreement(day(LAST), energy_target_kcal_per_day=2400.0, phase="hold")
    accepted = dataclasses.replace(rising, agreements=(*rising.agreements, agreed))
    for later in (0, 3, 30):
        found = review(accepted, LAST + later)
        assert "weight_gain_fast" in found.flags, later
        assert found.said("phase.now") == "hold"


# Thin and still losing


@pytest.mark.parametrize(
    ("kg_per_week", "flag", "role", "urgency"),
    [
        (-1.05, "thin_and_losing_fast", "emergency_services", "now"),
        (-0.3, "thin_and_losing", "physician", "same_day"),
    ],
)
def test_thin_and_still_losing_stops_everything(
    review: Review, kg_per_week: float, flag: str, role: str, urgency: str
) -> None:
    """165 cm: 17.5 is 47.6 kg. The scale of this week decides, not the answer of the first day."""
    start = 46.8 - kg_per_week * 3
    found = review(
        even(22, weight=start, kg_per_week=kg_per_week), 21,
        client__height_cm=165.0, client__weight_kg=56.0,
    )  # fmt: skip
    assert flag in found.flags
    assert found.said("screen.level") == "stop"
    assert found.said(f"screen.referral_urgency[{role}]") == urgency
    assert found.said("review.decision") == "refer"
    assert "call the emergency number" in found.coach or "emergency services" in found.coach
    assert "emergency number" in found.client
    assert not any(figure in found.client for figure in ("17.5", "kg", "kcal"))


def test_thin_and_steady_is_no_emergency(review: Review) -> None:
    found = review(even(22, weight=47.2), 21, client__height_cm=165.0, client__weight_kg=47.2)
    assert found.said("screen.level") == "withhold"
    assert not found.flags & {"thin_and_losing", "thin_and_losing_fast"}
    heavier = review(
        even(22, weight=53.0, kg_per_week=-1.05),
        21,
        client__height_cm=165.0,
        client__weight_kg=53.0,
    )
    assert not heavier.flags & {"thin_and_losing", "thin_and_losing_fast"}


# A sudden rise


def _risen(kg: float, days: int = 3, **more: Any) -> History:
    base = even(LAST + 1, kg_per_week=0.0)
    weights = [*base.weighings[: -days - 1], base.weighings[-days - 1]]
    weights.append(Weighing(day(LAST), 60.0 + kg))
    return dataclasses.replace(base, weighings=tuple(weights), **more)


def test_two_kilograms_in_three_days_are_asked_about(review: Review) -> None:
    found = review(_risen(2.0))
    assert "sudden_gain" in found.flags
    assert "ask about swelling" in found.coach
    assert "about swelling and about breath" in found.client
    assert "sudden_gain" not in review(_risen(1.9)).flags
    assert "sudden_gain" not in review(_risen(2.0, days=4)).flags


def test_the_answer_closes_the_question_or_sends_to_a_doctor_today(review: Review) -> None:
    no = tuple(SignMark(day(LAST), sign, felt=False) for sign in ("swelling", "breathlessness"))  # type: ignore[arg-type]
    assert not review(_risen(2.2, signs=no)).flags & {"sudden_gain", "sudden_gain_signs"}
    assert "sudden_gain" in review(_risen(2.2, signs=no[:1])).flags  # one of two was asked
    yes = (no[0], SignMark(day(LAST), "breathlessness", felt=True))
    found = review(_risen(2.2, signs=yes))
    assert "sudden_gain_signs" in found.flags
    assert found.said("screen.level") == "stop"
    assert found.said("screen.referral_urgency[physician]") == "same_day"
    assert "doctor today" in found.client


# Referrals, sessions


def test_an_open_referral_stands_in_the_review(review: Review) -> None:
    still = (OpenReferral("physician", day(3), "not yet", day(20)),)
    found = review(_with(referrals=still))
    assert found.said("record.open_referrals") == ("physician",)
    assert "Still to be seen: doctor." in found.coach
    assert "Still to be seen: doctor." in found.client
    assert "Still to be seen" not in review(_with()).coach


def test_a_missed_week_nobody_told_about_is_not_all_of_it(
    review: Review, settings: Settings
) -> None:
    """Four sessions a week, a week with weights and no word about sessions: 8 of 12."""
    days = [n for n in range(LAST + 1) if n % 7 in {0, 1, 3, 5}]
    missed = {*range(28, 35)}
    marks = tuple(SessionMark(day(n), done=True) for n in days if n not in missed)
    assert sessions(History(sessions=marks), day(LAST), settings)[0] == 8
    found = review(_with(sessions=marks))
    assert found.said("record.sessions_planned") == 12
    assert "100 % of 8" not in found.coach
    assert "67 % of 12" in found.coach
    assert "Planned sessions nobody told about: 4" in found.coach
    assert found.said("review.basics_short") is True
    whole = tuple(SessionMark(day(n), done=True) for n in days)
    assert review(_with(sessions=whole)).said("record.sessions_done_percent") == 100


@pytest.mark.parametrize("later", [21, 26, 34])
def test_a_week_that_is_not_over_is_not_missed(settings: Settings, later: int) -> None:
    """Nobody told anything since: the days are still open, not missed."""
    marks = tuple(SessionMark(day(n), done=True) for n in range(21) if n % 7 in {0, 1, 3, 5})
    _, told, planned = sessions(History(sessions=marks), day(later), settings)
    assert told == planned
    weighed = History(sessions=marks, weighings=(Weighing(day(later), 60.0),))
    assert sessions(weighed, day(later), settings)[2] - told == {21: 0, 26: 4, 34: 8}[later]


def test_a_week_away_is_named_kindly_and_silence_is_told_apart(review: Review) -> None:
    """A week with weights and no session is a week away; a week without a word is open, and said so."""
    days = [n for n in range(LAST + 1) if n % 7 in {0, 1, 3, 5}]
    marks = tuple(SessionMark(day(n), done=n < LAST - 8) for n in days)
    away = review(_with(sessions=marks))
    assert away.said("record.weeks_away") == 1
    assert "A week away happens; start where the sheet says." in away.client
    assert "nothing is made up for" in away.coach
    assert "Nothing was told for" not in away.coach
    there = review(_with(sessions=tuple(SessionMark(day(n), done=True) for n in days)))
    assert there.said("record.weeks_away") == 0
    assert "A week away happens" not in there.client
    told = tuple(SessionMark(day(n), done=True) for n in days if n < LAST - 9)
    silent = review(dataclasses.replace(even(LAST - 9), sessions=told))
    assert "Nothing was told for 10 days" in silent.coach
    assert "A week away happens" not in silent.client
