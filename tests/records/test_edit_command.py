"""`whyplan edit`: the price first, kept with who and why, remembered by the next block, and taken back."""

import dataclasses
import datetime as dt
import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from record_support import FOUR_DAYS, Command
from shipped import planner_on

from assistant.clients.person import Person
from assistant.clients.standing import stands
from assistant.clients.week import last_kept, week_of_next_block
from assistant.model.kept import KeptWeek, days_by_exercise
from assistant.records.projection import answers_line
from assistant.records.store import open_records

BY = ("--by", "Lena Marrow", "--reason", "cables suit the shoulder better")
DAY = dt.date(2026, 1, 12)
Rows = dict[str, list[tuple[str, int]]]


class Desk:
    """Types commands about one client and looks at what the record holds afterwards."""

    def __init__(self, whyplan: Command, record: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self._whyplan, self._record, self._capsys = whyplan, record, capsys
        self.planner = planner_on(DAY)

    def type(self, *words: str) -> str:
        """Return what is printed by a command that goes well."""
        assert self._whyplan(*words) == 0
        return " ".join(self._capsys.readouterr().out.split())

    def edit(self, *words: str) -> str:
        return self.type("edit", "ines-farrow", *words)

    def refused(self, *words: str) -> str:
        """Return the one line that says why, and see that nothing was kept."""
        before = self.head
        assert self._whyplan("edit", "ines-farrow", *words) == 2
        said = self._capsys.readouterr().err
        assert len(said.splitlines()) == 1
        assert self.head == before
        return said

    @property
    def head(self) -> tuple[int, str]:
        with closing(sqlite3.connect(self._record)) as opened:
            (row,) = opened.execute("SELECT lines, head FROM client").fetchall()
        return (row[0], row[1])

    @property
    def standing(self) -> Person:
        with open_records(str(self._record), DAY) as records:
            return stands(records, "ines-farrow", self.planner)

    @property
    def kept(self) -> KeptWeek:
        kept = last_kept(self.standing.versions)
        assert kept is not None
        return kept

    @property
    def rows(self) -> Rows:
        days = self.kept.days
        return {day: [(x.exercise, x.sets) for x in lines] for day, lines in days.items()}


@pytest.fixture
def desk(
    whyplan: Command,
    ines: str,
    record: Path,
    capsys: pytest.CaptureFixture[str],
) -> Desk:
    assert ines
    return Desk(whyplan, record, capsys)


def _swapped(rows: Rows, old: str, new: str, *days: str) -> Rows:
    return {
        day: [(new if name == old and day in days else name, sets) for name, sets in lines]
        for day, lines in rows.items()
    }


PRESS, MACHINE, CURL = "press_bench_barbell", "press_chest_machine", "leg_curl_seated"


def test_without_who_and_why_the_price_alone_is_shown(desk: Desk) -> None:
    before, rows = desk.head, desk.rows
    sets = sum(number for lines in rows.values() for name, number in lines if name == PRESS)
    out = desk.edit("remove", "bench press")
    assert "Barbell bench press left out" in out
    assert "What it costs" in out
    chest = re.search(r"chest ([\d.]+) to ([\d.]+)", out)
    assert chest is not None
    assert float(chest[1]) - float(chest[2]) == sets
    assert re.search(r"Chest: [\d.]+ of (the )?\d+", out)
    assert "Nothing was kept. To keep it, add --by WHO" in out
    assert desk.head == before
    assert "add --reason" in desk.refused("remove", "bench press", "--by", "Lena Marrow")


def test_a_change_is_kept_as_a_version_and_changes_nothing_else(desk: Desk) -> None:
    before, facts = desk.rows, desk.standing.versions[-1].facts
    out = desk.edit("replace", "bench press", "chest press machine", "--on", "tue", *BY)
    assert "Kept: version 2 of the plan" in out
    now = desk.standing
    version = now.versions[-1]
    assert (version.cause, version.by, version.reason) == ("edit", BY[1], BY[3])
    assert desk.rows == _swapped(before, PRESS, MACHINE, "tue")
    # Once a plan is kept a block runs, which moves what is said of the review and of the next block.
    differ = {n for n in {*facts, *version.facts} if facts.get(n) != version.facts.get(n)}
    assert {name.partition(".")[0] for name in differ} <= {"review", "block", "client"}
    (edit,) = now.case.week.edits
    assert (edit.kind, edit.days, edit.since) == ("replace", ("tue",), DAY)
    week = desk.type("week", "ines-farrow")
    assert "by hand: Chest press machine in place of Barbell bench press on tue: cables" in week
    client = desk.type("plan", "ines-farrow", "--for", "client")
    assert "set by hand" in client
    assert "Marrow" not in client
    assert "1. Chest press machine in place of" in desk.edit("list")


def test_an_agreement_is_none_the_newer_for_a_change(desk: Desk) -> None:
    before = desk.standing.history.agreements
    day, had = next(
        (day, dict(lines)[CURL]) for day, lines in desk.rows.items() if CURL in dict(lines)
    )
    new = 3 if had == 4 else 4
    desk.edit("sets", "seated leg curl", str(new), "--on", day, *BY)
    after = desk.standing.history.agreements
    assert after[: len(before)] == before
    assert all(
        (each.energy_target_kcal_per_day, each.phase, each.block_starts) == (None, None, False)
        for each in after[len(before) :]
    )
    history = desk.type("client", "plan", "ines-farrow", "--history")
    assert "phase" not in history
    assert f"Seated leg curl: {had} sets -> {new} sets" in history
    assert f"by hand: Seated leg curl: {new} sets" in history
    desk.edit("withdraw", "1", *BY)
    history = desk.type("client", "plan", "ines-farrow")
    assert f"withdrawn: Seated leg curl: {new} sets" in history


def test_what_is_taken_back_returns_and_the_rest_stays(desk: Desk) -> None:
    start = desk.rows
    desk.edit("replace", "bench press", "chest press machine", "--on", "tue", *BY)
    desk.edit("remove", "seated leg curl", *BY)
    desk.edit("never", "cable crunch", *BY)
    out = desk.edit("withdraw", "2")
    assert "Withdrawn: Seated leg curl left out" in out
    assert "Nothing was kept" in out
    desk.edit("withdraw", "2", *BY)
    kinds = [edit.kind for edit in desk.standing.case.week.edits]
    assert kinds == ["replace", "never"]
    wanted = _swapped(start, PRESS, MACHINE, "tue")
    assert desk.rows == {
        day: [row for row in lines if row[0] != "crunch_cable"] for day, lines in wanted.items()
    }
    desk.edit("withdraw", "2", *BY)
    desk.edit("withdraw", "1", *BY)
    assert desk.rows == start
    assert "Nothing of this week was changed by hand." in desk.edit("list")


def test_with_repair_both_prices_are_shown_and_the_arranged_week_is_kept(desk: Desk) -> None:
    # Six sets more than fill any Monday.
    words = ("add", "leg press", "--on", "mon", "--sets", "6", "--repair")
    out = desk.edit(*words)
    letter, _, anew = out.partition("What it costs with the rest arranged anew")
    assert "of 60 minutes" in letter
    assert "of 60 minutes" not in anew
    desk.edit(*words, *BY)
    assert ("leg_press", 6) in desk.rows["mon"]
    assert "Put aside" not in desk.type("week", "ines-farrow")


def test_the_next_block_remembers(desk: Desk) -> None:
    desk.edit("never", "bench press", *BY)
    desk.edit("add", "leg press", "--on", "sat", "--sets", "3", *BY)
    now = desk.standing
    week = week_of_next_block(desk.planner, now.run(), now.case, now.versions)
    assert week is not None
    rows = {s.day: {x.exercise: x.sets for x in s.lines} for s in week.programme.sessions}
    assert rows["sat"]["leg_press"] == 3
    assert all(PRESS not in lines for lines in rows.values())
    swaps = {o.exercise for s in week.programme.sessions for x in s.lines for o in x.substitutes}
    assert PRESS not in swaps


def test_a_case_file_that_comes_in_later_ends_no_change(desk: Desk) -> None:
    desk.edit("replace", "bench press", "chest press machine", "--on", "tue", *BY)
    desk.type("client", "update", "ines-farrow", "--case", str(FOUR_DAYS))
    assert [edit.kind for edit in desk.standing.case.week.edits] == ["replace"]
    assert MACHINE in dict(desk.rows["tue"])


def test_an_exercise_that_left_the_rule_book_is_said_not_dropped(desk: Desk, record: Path) -> None:
    desk.edit("sets", "seated leg curl", "4", *BY)
    case = desk.standing.case
    gone = dataclasses.replace(case.week.edits[0], kind="add", exercise="old_lift", days=("mon",))
    week = dataclasses.replace(case.week, edits=(*case.week.edits, gone))
    with open_records(str(record), DAY) as records:
        records.append(records.client("ines-farrow"), [answers_line({}, DAY, week=week)])
    said = desk.type("week", "ines-farrow")
    assert "Put aside: old_lift added on mon, 4 sets; `old_lift` is no exercise" in said
    assert "is no exercise of the rule book any more" in desk.edit("list")
    assert "Kept" in desk.edit("withdraw", "2", *BY)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("replace", "bench pres", "push up"), "`bench pres` is no exercise"),
        (("replace", "push up", "leg press"), "Push-up does not stand in this week; in it: "),
        (("replace", "{twice}", "{twice}", "--on", "{free}"), "it stands on {at}"),
        (("remove", "cable"), "`cable` can mean "),
        (("add", "plank"), "it stands nowhere in this week; add --on DAY"),
        (("add", "plank", "--on", "wed"), "wed is no training day; trained: mon, tue, thu, sat"),
        (("add", "{twice}", "--on", "{first}"), "stands on {at} already; change its sets"),
        (("add", "plank", "--on", "monday"), "`days`: `monday` is no day"),
        (("add", "plank", "--on", "mon", "--sets", "0"), "`numbers` is `[0]`; allowed for `add`"),
        (
            ("move", "{twice}", "--on", "{first}", "--to", "{first}"),
            "where it stands; name another day",
        ),
        (("sets", "{twice}", "11"), "1 whole number from 1 to 10"),
        (("repetitions", "{twice}", "12", "8"), "the lower one comes first"),
        (("order", "{twice}", "1"), "it stands on {at}; add --on DAY"),
        (("move", "{twice}", "--on", "{first}"), "say where it goes; add --to DAY"),
        (("pin", "push up"), "it stands nowhere in this week; add --on DAY"),
        (("withdraw", "1"), "allowed: none, since nothing was changed by hand"),
    ],
)
def test_what_makes_no_change_is_one_clear_line(
    desk: Desk, words: tuple[str, ...], said: str
) -> None:
    # Which exercise stands on two days is the solver's choice.
    on = days_by_exercise(desk.kept.days)
    twice = next(name for name, days in sorted(on.items()) if len(days) == 2)
    at = [day for day in desk.rows if day in on[twice]]
    spot = {
        "twice": desk.planner.catalogue.exercises[twice].name,
        "at": ", ".join(at),
        "first": at[0],
        "free": next(day for day in desk.rows if day not in at),
    }
    typed = [word.format(**spot) for word in words]
    assert said.format(**spot) in desk.refused(*typed, *BY)


def test_what_safety_withholds_is_refused_with_its_reason(
    desk: Desk, tmp_path: Path, whyplan: Command, capsys: pytest.CaptureFixture[str]
) -> None:
    sore = tmp_path / "sore.yaml"
    text = FOUR_DAYS.read_text("utf-8").partition("\nexpect:")[0]
    head, _, rest = text.partition("  client.sore_joints:")
    assert rest
    sore.write_text(head + "  client.sore_joints: [knee]\n" + rest.partition("\n")[2], "utf-8")
    assert whyplan("client", "update", "ines-farrow", "--case", str(sore)) == 0
    capsys.readouterr()
    said = desk.refused("add", "leg press", "--on", "mon", *BY)
    assert "refused; Leg press" in said
    assert "loads the sore knee" in said


def test_a_case_file_is_priced_and_written_by_its_owner(
    whyplan: Command, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("edit", str(FOUR_DAYS), "sets", "seated leg curl", "4")
    assert whyplan(*words, *BY) == 0
    out = capsys.readouterr().out
    written = json.loads(out.strip().splitlines()[-1].removeprefix("  - "))
    assert written == {
        "sets": "leg_curl_seated",
        "numbers": [4],
        "by": BY[1],
        "reason": BY[3],
        "since": "2026-01-12",
    }


def test_nobody_has_a_week_to_change_under_a_stop(
    whyplan: Command, capsys: pytest.CaptureFixture[str]
) -> None:
    stopped: Any = FOUR_DAYS.with_name("stop_today.yaml")
    assert whyplan("edit", str(stopped), "remove", "bench press") == 1
    assert "No week" in capsys.readouterr().out
