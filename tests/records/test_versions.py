"""Versions of a client's plan: kept whole, compared in words, and binding until the next one.

That a plan stands until somebody changes it, and what a time away does to the week, is common practice,
no source.
"""

import dataclasses
import datetime as dt
import json
import re
from pathlib import Path

import icalendar
import pytest
import yaml
from record_support import FOUR_DAYS, Command
from shipped import planner_on

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.clients.kept import Why, new_version
from assistant.clients.person import Person
from assistant.clients.standing import stands
from assistant.clients.week import weeks_on
from assistant.explain.versions import changes
from assistant.measure import Settings, agreement_of
from assistant.measure.habits import sessions
from assistant.model.away import Away
from assistant.model.chain import plain_json
from assistant.model.history import History, SessionMark
from assistant.model.knowledge import KnowledgeBase
from assistant.model.version import Version
from assistant.plan.record import measure_settings
from assistant.records.chain import FACTS, PLAN, Line, NewLine
from assistant.records.projection import agreements_of, answers_line
from assistant.records.store import open_records
from assistant.records.versions import agreed_facts, version_lines, versions_of

FIRST = dt.date(2026, 1, 12)
assert CALCULATORS


def shown(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_a_version_says_when_by_whom_and_why(
    whyplan: Command, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("client", "add", "Nora Bell", "--case", str(FOUR_DAYS), "--by", "L. Marrow")
    assert whyplan(*words) == 0
    assert whyplan("review", "nora-bell", "--accept", "--by", "R. Dunmore",
                   "--reason", "end of block", on="2026-02-16") == 0  # fmt: skip
    capsys.readouterr()
    assert whyplan("client", "plan", "nora-bell", "--history", on="2026-02-17") == 0
    history = shown(capsys)
    assert "1. 2026-01-12: the first plan, by L. Marrow" in history
    assert "2. 2026-02-16: a review was accepted, by R. Dunmore" in history
    assert "end of block" in history
    assert "day to look again: 2026-02-16 -> 2026-03-23" in history
    assert "repetitions of the block: moderate -> light" in history
    assert whyplan("client", "plan", "nora-bell", "--between", "2", "3", on="2026-02-17") == 2
    assert "allowed: 1 to 2" in capsys.readouterr().err


def test_what_the_plan_line_holds_agrees_as_much_as_the_whole_plan(
    record: Path, kb: KnowledgeBase
) -> None:
    """A look at all clients reads the plan's own line alone, and must miss nothing that is agreed."""
    case = read_case(FOUR_DAYS, kb)
    lines = new_version(Person(case, planner_on(FIRST)), Why("added"))
    with open_records(str(record), FIRST) as records:
        client = records.add("Nora Bell", FIRST, [answers_line({}, FIRST), *lines])
        kept = records.history(client)
    plan = next(line for line in kept if line.kind == PLAN)
    (version,) = versions_of(kept)
    assert agreement_of(agreed_facts(plan).facts, FIRST, is_first=True) == agreement_of(
        version.facts, FIRST, is_first=True
    )
    # The same for what a review decides, each decision in turn.
    for decided in kb.facts["review.decision"].choices:
        facts = {**version.facts, "review.decision": decided, "review.next_phase": "hold",
                 "review.next_target_kcal_per_day": 2310.0, "review.volume_direction": "less",
                 "energy.measured_kcal_per_day": 2290.0,
                 "energy.maintenance_kcal_per_day": 2290.0}  # fmt: skip
        _, line = version_lines({**version.digest, "facts": facts}, FIRST, "review")
        told = agreed_facts(Line(**vars(line)))
        assert agreement_of(told.facts, FIRST, is_first=False) == agreement_of(
            facts, FIRST, is_first=False
        )
    assert len(plan.body) * 4 < sum(len(line.body) for line in kept if line.kind == FACTS)


def test_an_older_record_without_weeks_goes_on(
    whyplan: Command, record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plan kept before versions were written: read as one, and the next one keeps a week."""
    assert whyplan("client", "add", "Nora Bell", "--case", str(FOUR_DAYS)) == 0
    with open_records(str(record), FIRST) as records:
        lines = records.history(records.client("nora-bell"))
        (version,) = versions_of(lines)
        answers = next(line for line in lines if line.kind == "answers")
        old = {name: part for name, part in version.digest.items() if name != "week"}
        told = NewLine("answers", FIRST, FIRST, body=answers.body)
        records.add("Otto Bell", FIRST, [told, NewLine(PLAN, FIRST, FIRST, body=plain_json(old))])
    capsys.readouterr()
    assert whyplan("client", "plan", "otto-bell", "--history", on="2026-01-20") == 0
    assert "1. 2026-01-12: kept by an earlier program" in shown(capsys)
    assert whyplan("week", "otto-bell", on="2026-01-20") == 0
    assert whyplan("client", "update", "otto-bell", on="2026-01-20") == 0
    with open_records(str(record), FIRST) as records:
        later = stands(records, "otto-bell", planner_on(dt.date(2026, 1, 21)))
    assert [("week" in version.digest) for version in later.versions] == [False, True]
    assert later.versions[1].cause == "measures"


def test_a_withheld_figure_is_in_no_comparison(
    whyplan: Command, tmp_path: Path, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first plan held food figures; the screen takes them, and the history names none of them."""
    case = yaml.safe_load(FOUR_DAYS.read_text("utf-8"))
    case["answers"] |= {"screen.eating_disorder": "current_no_care"}
    path = tmp_path / "case.yaml"
    path.write_text(yaml.safe_dump({k: case[k] for k in ("name", "as_of", "answers")}), "utf-8")
    assert whyplan("client", "update", ines, "--case", str(path), on="2026-01-20") == 0
    capsys.readouterr()
    for more in ((), ("--history",), ("--between", "1", "2")):
        assert whyplan("client", "plan", ines, *more, on="2026-01-21") == 0
        said = capsys.readouterr().out
        assert not re.search(r"kcal|\d g\b|kg", said), said


def test_the_day_of_the_next_look_stands(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The day in the diary does not move with the days; once it has passed, the look is today."""
    for on, day in (("2026-01-12", "2026-02-16"), ("2026-02-10", "2026-02-16"),
                    ("2026-02-16", "2026-02-16"), ("2026-02-20", "2026-02-20")):  # fmt: skip
        assert whyplan("plan", ines, "--no-week", "--format", "json", on=on) == 0
        facts = json.loads(capsys.readouterr().out)["facts"]
        assert facts["review.next_date"]["value"] == day


def test_two_desks_at_once_make_two_versions(
    whyplan: Command, ines: str, record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another program writes meanwhile is kept, and the version is made of what stands then."""
    from assistant.clients import desk  # noqa: PLC0415 - patched below

    seen: list[int] = []

    def meddle(*args: object, **more: object) -> object:
        seen.append(1)
        if len(seen) == 1:
            with open_records(str(record), FIRST) as records:
                other = answers_line({"client.sleep_hours": 6.5}, FIRST)
                records.append(records.client(ines), [other])
        return new_version(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(desk, "new_version", meddle)
    assert whyplan("client", "update", ines) == 0
    assert len(seen) == 2
    with open_records(str(record), FIRST) as records:
        lines = records.history(records.client(ines))
    assert len(versions_of(lines)) == 2


@pytest.mark.parametrize(
    ("language", "rest", "train"),
    [("en", "Next: rest until you are well", "train as"), ("de", "Ruh dich aus", "Trainiere")],
)
def test_who_is_ill_is_told_to_rest(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str], language: str, rest: str, train: str
) -> None:  # fmt: skip
    days = ("--since", "2026-01-19", "--until", "2026-01-21")
    assert whyplan("client", "away", ines, "ill", *days, on="2026-01-19") == 0
    for on, is_ill in (("2026-01-21", True), ("2026-01-22", False)):
        capsys.readouterr()
        whyplan("review", ines, "--message", "--language", language, on=on)
        said = " ".join(capsys.readouterr().out.split())
        assert (rest in said) is is_ill
        assert (train in said) is not is_ill


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("travel", "--since", "2026-03-02", "--until", "2026-03-01"), "from `since` on"),
        (("ill", "--since", "2026-03-02", "--equipment", "bands_home"), "goes with travel"),
        (("travel", "--since", "2026-03-02", "--equipment", "bandz"), "is no kit"),
        (("ill", "--since", "soon"), "a day such as"),
        (("holiday", "--since", "2026-02-28", "--until", "2026-03-02"), "already"),
        (("holiday", "--since", "2026-01-02", "--withdraw"), "no time away begins"),
        (("travel",), "add --since DATE"),
        (("--withdraw",), "add --since DATE"),
        (("--since", "2026-03-01", "--withdraw"), "travel, holiday, ill"),
    ],
)
def test_a_wrong_time_away_is_one_clear_line(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:  # fmt: skip
    assert whyplan("client", "away", ines, "ill", "--since", "2026-03-01") == 0
    capsys.readouterr()
    assert whyplan("client", "away", ines, *words) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1


def test_an_illness_rests_and_the_week_after_is_lighter(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert whyplan("week", ines, on="2026-01-20") == 0
    usual = capsys.readouterr().out
    days = ("--since", "2026-01-19", "--until", "2026-01-27")
    assert whyplan("client", "away", ines, "ill", *days, on="2026-01-19") == 0
    capsys.readouterr()
    assert whyplan("week", ines, on="2026-01-20") == 1
    assert "No training while ill" in capsys.readouterr().out
    assert whyplan("week", ines, on="2026-01-29") == 0
    back = capsys.readouterr().out
    assert "A lighter week, until 2026-02-03" in back
    assert _sets(back) < _sets(usual)
    assert whyplan("week", ines, on="2026-02-04") == 0
    assert _sets(capsys.readouterr().out) == _sets(usual)
    # Taken back, it never was.
    assert whyplan("client", "away", ines, "ill", "--since", "2026-01-19", "--withdraw",
                   on="2026-02-05") == 0  # fmt: skip
    capsys.readouterr()
    assert whyplan("client", "away", ines, on="2026-02-05") == 0
    assert "No time away is told." in capsys.readouterr().out


def _sets(sheet: str) -> int:
    return sum(
        int(sets) for sets in re.findall(r"^[a-z]{3} \d+  [^:]+: (\d+) sets?", sheet, re.MULTILINE)
    )


def test_nobody_planned_a_session_while_away(kb: KnowledgeBase) -> None:
    """Two weeks of three sessions, a silent week away between them: nothing was missed."""
    settings: Settings = measure_settings(kb, FIRST)
    days = [FIRST + dt.timedelta(days=d) for d in (0, 2, 4, 14, 16, 18)]
    history = History(sessions=tuple(SessionMark(day, done=True) for day in days))
    last = FIRST + dt.timedelta(days=20)
    done, told, planned = sessions(history, last, settings)
    away = Away("ill", FIRST + dt.timedelta(days=7), FIRST + dt.timedelta(days=13))
    assert planned > told == done == len(days)
    assert sessions(dataclasses.replace(history, away=(away,)), last, settings) == (
        done,
        told,
        done,
    )


def test_sets_a_review_agreed_make_another_week(whyplan: Command, ines: str, record: Path) -> None:
    """Another dose asks for another week, near the one that ran."""
    with open_records(str(record), FIRST) as records:
        now = stands(records, ines, planner_on(dt.date(2026, 2, 1)))
        facts = {**now.versions[-1].facts, "review.decision": "adjust_volume",
                 "review.volume_direction": "more"}  # fmt: skip
        body = {"facts": facts, "as_of": "2026-02-01"}
        records.append(
            records.client(ines),
            [NewLine(PLAN, dt.date(2026, 2, 1), dt.date(2026, 2, 1), body=plain_json(body))],
        )
        agreed = agreements_of(records.history(records.client(ines)), dt.date(2026, 2, 1))
    assert agreed[-1].sets_changed
    assert whyplan("client", "update", ines, on="2026-02-02") == 0
    with open_records(str(record), FIRST) as records:
        after = stands(records, ines, planner_on(dt.date(2026, 2, 3))).versions
    first, last = after[0].digest["week"]["days"], after[-1].digest["week"]["days"]
    assert first != last
    assert first.keys() == last.keys()


def test_one_review_is_accepted_a_day(
    whyplan: Command, ines: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What waits for the next look is not taken in by accepting once more."""
    assert whyplan("review", ines, "--accept", on="2026-02-16") == 0
    capsys.readouterr()
    assert whyplan("review", ines, "--accept", on="2026-02-16") == 2
    assert "accepted today already (version 2)" in capsys.readouterr().err
    assert whyplan("review", ines, "--accept", on="2026-02-17") == 0


def test_only_what_somebody_would_act_on_sets_two_plans_apart(kb: KnowledgeBase) -> None:
    """A gram of carbohydrate, and what moves with each weighing by itself, are no change of plan."""
    planner = planner_on(FIRST)
    narrator = planner.narrator(planner.run(read_case(FOUR_DAYS, kb)), "coach")

    def apart(fact: str, before: float, after: float) -> list[str]:
        found = changes({"facts": {fact: before}}, {"facts": {fact: after}}, narrator)
        return [each.words for each in found]

    assert apart("carbohydrate.g_per_day", 348.0, 347.0) == []
    assert apart("carbohydrate.g_per_day", 348.0, 330.0) == [
        "carbohydrate: 348 g a day -> 330 g a day"
    ]
    assert apart("energy.maintenance_kcal_per_day", 2300.0, 2400.0) == []
    assert apart("energy.target_kcal_per_day", 2300.0, 2400.0) != []


def test_weeks_on_an_exercise_are_counted_from_the_version_it_came_with() -> None:
    def version(number: int, day: dt.date, *names: str) -> Version:
        week = {"style": "moderate", "days": {"mon": [[name, 3] for name in names]}}
        return Version(number, day, {"facts": {}, "week": week})

    later = FIRST + dt.timedelta(weeks=4)
    versions = [version(1, FIRST, "row", "squat"), version(2, later, "row", "curl")]
    assert weeks_on(versions, later + dt.timedelta(weeks=2)) == {"row": 6, "curl": 2}


def test_the_calendar_rests_while_ill_and_says_when_the_sheet_is_for_travel(
    whyplan: Command, ines: str, tmp_path: Path
) -> None:
    for kind, since, until in (("ill", "2026-01-19", "2026-01-25"),
                               ("travel", "2026-01-26", "2026-02-01")):  # fmt: skip
        assert whyplan("client", "away", ines, kind, "--since", since, "--until", until) == 0
    out = tmp_path / "a.ics"
    words = ("plan", ines, "--format", "ics", "--timezone", "Europe/London", "--out", str(out))
    assert whyplan(*words) == 0
    sessions = {
        event["DTSTART"].dt.date(): str(event["DESCRIPTION"])
        for event in icalendar.Calendar.from_ical(out.read_text("utf-8")).walk("VEVENT")
        if isinstance(event["DTSTART"].dt, dt.datetime)
    }
    assert not [day for day in sessions if dt.date(2026, 1, 19) <= day <= dt.date(2026, 1, 25)]
    travel = [
        text for day, text in sessions.items() if dt.date(2026, 1, 26) <= day < dt.date(2026, 2, 2)
    ]
    assert travel
    assert all("Travel" in text and " left, rest" not in text for text in travel)
    assert " left, rest" in sessions[dt.date(2026, 1, 12)]
