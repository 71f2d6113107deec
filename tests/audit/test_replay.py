"""Past decisions made again: same hash on both engines and any Python; another book tells what moves.

`past_log.jsonl` was made once by Python 3.11 with durable_rules and the small book beside it, which
never changes; this run may be any Python and any engine. The cases of the shipped book are logged and
replayed here, because that book grows.
"""

import dataclasses
import datetime as dt
import json
import re
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.audit.chain import sealed
from assistant.audit.decision import (
    coach_plan,
    decision_body,
    loggable,
    plan_hash,
    week_made,
)
from assistant.audit.entry import DecisionEntry, WeekMade, shaped
from assistant.audit.replay import Replayed, case_of, replay, week_differences
from assistant.audit.store import append, sound_log
from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.engine import durable
from assistant.knowledge import load_knowledge
from assistant.model.chain import canonical_json, plain
from assistant.model.errors import EngineFault, InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Line, Programme, Session
from assistant.model.wishes import RecentSet, WeekWishes
from assistant.plan import Planner, prepare

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PAST = HERE / "past_log.jsonl"
CASES = sorted((ROOT / "cases").glob("*.yaml"))
ENGINES = ("durable", "clips") if durable.importable() else ("clips",)
NOW = dt.datetime(2026, 1, 12, 10, 0, tzinfo=dt.UTC)


def decisions(path: Path) -> list[DecisionEntry]:
    entries = shaped(sound_log(path).entries, str(path))
    return [entry for entry in entries if isinstance(entry, DecisionEntry)]


def with_book(
    directory: Path | None, engine: str | None = None
) -> Callable[[DecisionEntry], Planner]:
    kb = load_knowledge(directory, calculators=CALCULATORS)
    planner = prepare(kb, dt.date(2026, 1, 12), engine)  # type: ignore[arg-type]
    return lambda _: planner


def replayed(directory: Path, engine: str | None = None) -> list[Replayed]:
    planner_for = with_book(directory, engine)
    return [replay(entry, planner_for) for entry in decisions(PAST)]


@pytest.mark.parametrize("engine", ENGINES)
def test_a_log_of_the_past_gives_the_same_hashes(engine: str) -> None:
    done = replayed(HERE / "small_book", engine)
    assert len(done) == 10
    assert [one.changes for one in done] == [()] * 10
    assert all(one.same and one.same_book for one in done)
    engines = {one.entry.engine for one in done}
    assert engines == {"durable_rules 2.0.28"}, "the stored log is of the other engine"
    assert len({one.entry.outcome.plan_hash for one in done}) == 10


def test_its_entries_are_written_again_to_the_byte(tmp_path: Path) -> None:
    """Not only the hash: the whole entry comes out the same on this Python, but for its engine."""
    sys.path.insert(0, str(HERE))
    try:
        from make_past_log import make  # noqa: PLC0415 - the maker lies beside this test
    finally:
        sys.path.remove(str(HERE))
    path = tmp_path / "again.jsonl"
    make(path)
    again = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    past = [json.loads(line) for line in PAST.read_text("utf-8").splitlines()]
    for one, other in zip(past, again, strict=True):
        for entry in (one, other):
            for name in ("engine", "hash", "previous"):
                entry.pop(name, None)
        assert canonical_json(one) == canonical_json(other)


def test_a_log_of_the_book_before_flags_were_documents_is_told_where_it_moves() -> None:
    """Its book could raise a flag that no severity stood beside, and say that nothing stands in the way.

    Flags are documents since, so such a plan cannot be made again: the chain holds, the decisions are
    read, and the replay names what moves, for those people alone whose flag was lost then (2, 10), who
    left a question open (6), or whose stop had no words on training (5).
    """
    first = HERE / "past_log_before_flag_documents.jsonl"
    planner_for = with_book(HERE / "small_book")
    done = [replay(entry, planner_for) for entry in decisions(first)]
    assert len(done) == 10
    assert not any(one.same_book for one in done)
    told = {one.entry.sequence: one.changes for one in done if not one.same}
    assert set(told) == {2, 5, 6, 10}
    assert {number for number, changes in told.items() if changes[0].startswith("flags: ")} == {
        2,
        6,
        10,
    }


def changed_book(folder: Path, file: str, old: str, new: str) -> Path:
    book = folder / "book"
    shutil.copytree(HERE / "small_book", book)
    text = (book / file).read_text("utf-8")
    assert old in text
    (book / file).write_text(text.replace(old, new), "utf-8")
    return book


def moved(done: list[Replayed]) -> dict[int, tuple[str, ...]]:
    return {one.entry.sequence: one.changes for one in done if not one.same}


def test_another_number_moves_exactly_the_decisions_that_rest_on_it(tmp_path: Path) -> None:
    book = changed_book(
        tmp_path, "parameters/all.yaml", 'since: "2026-01-01", value: 4}', 'since: "2026-01-01", value: 3}'
    )  # fmt: skip
    done = moved(replayed(book))
    # Worked by hand: the extra is the upper end for every muscle that is planned; 5 is a stop.
    assert set(done) == {1, 2, 3, 4, 6, 7, 8, 9, 10}
    assert "dose.sets_per_week[lats]: 12 (8 to 16) -> 11 (8 to 14)" in done[1]
    assert "dose.sets_per_week[quads]: 8 (7 to 12) -> 8 (7 to 11)" in done[1]
    assert "other words in: training.dose[lats]" in done[1]


def test_another_threshold_raises_a_flag_for_those_it_is_about(tmp_path: Path) -> None:
    book = changed_book(
        tmp_path, "parameters/all.yaml", 'since: "2026-01-01", value: 6}', 'since: "2026-01-01", value: 5.5}'
    )  # fmt: skip
    done = moved(replayed(book))
    assert set(done) == {2}, "5.5 hours is no longer short; 0 hours still is"
    assert done[2][0] == "flags: tired (inform) -> none"
    assert any("no longer fires" in line and "SCR-TIRED" in line for line in done[2])


def test_other_words_alone_are_told_as_such(tmp_path: Path) -> None:
    book = changed_book(tmp_path, "plan.yaml", "That is a rough start.", "This is a first guess.")
    done = moved(replayed(book))
    assert set(done) == {1, 2, 6, 7, 9, 10}, "those with an energy figure"
    assert set(done.values()) == {("other words in: food.rough",)}


def test_a_new_rule_that_stops_someone_is_told_first(tmp_path: Path) -> None:
    book = changed_book(
        tmp_path, "flags/eating_sign.yaml", "severity: withhold\nwithheld: [energy_number]",
        "severity: stop\nwithheld: [EVERYTHING]",
    )  # fmt: skip
    (changes,) = moved(replayed(book)).values()
    assert changes[0] == "flags: eating_sign (withhold) -> eating_sign (stop)"
    assert any("training.dose[lats]" in line and line.startswith("line gone") for line in changes)


def test_a_figure_that_one_of_the_two_withholds_is_not_told(tmp_path: Path) -> None:
    book = changed_book(
        tmp_path,
        "flags/eating_sign.yaml",
        "withheld: [energy_number]",
        "withheld: [vigorous_effort]",
    )
    (changes,) = moved(replayed(book)).values()
    assert "energy.target_kcal_per_day: left out -> given, the figure is withheld" in changes
    assert not any("2331" in line or "2330" in line for line in changes), "70 kg times 33.3"


def test_a_book_that_no_longer_takes_an_answer_is_told_for_each_decision(tmp_path: Path) -> None:
    book = changed_book(tmp_path, "facts/all.yaml", "range: [30, 250]", "range: [31, 250]")
    done = moved(replayed(book))
    assert set(done) == {9}
    assert "out-of-range" in done[9][0]


def test_comments_and_order_of_a_book_move_nothing(tmp_path: Path) -> None:
    book = changed_book(tmp_path, "dose/VOL-003.yaml", "stage: dose\n", "# moved\nstage: dose\n")
    done = replayed(book)
    assert not moved(done)
    assert all(one.same_book for one in done)


def test_the_hash_sees_every_part_of_a_plan(kb: KnowledgeBase) -> None:
    """Each field of the plan in turn is changed; only engine, name and head may leave the hash alone."""
    case = loggable(read_case(ROOT / "cases/short_nights.yaml", kb), kb)
    plan = coach_plan(planner_on(case.as_of), case)
    section, *rest = plan.sections
    line = dataclasses.replace(section.lines[0], text="Other words.")
    other = {
        "sections": (dataclasses.replace(section, lines=(line, *section.lines[1:])), *rest),
        "facts": dict(list(plan.facts.items())[1:]),
        "as_of": "2026-01-13",
        "unknown": (*plan.unknown, "client.age_years"),
        "assumptions": (*plan.assumptions, "client.age_years"),
        "views": {**plan.views, "screen.flags": [{"id": "low_mood", "severity": "caution"}]},
    }
    hashes = {plan_hash(plan)}
    for name, value in other.items():
        hashes.add(plan_hash(dataclasses.replace(plan, **{name: value})))
    assert len(hashes) == 1 + len(other)
    key, fact = next((k, f) for k, f in plan.facts.items() if isinstance(f.value, float) and f.high)
    for change in ({"value": fact.value + 1e-6}, {"high": 1e6}, {"low": None}, {"method": "other"}):
        facts = {**plan.facts, key: dataclasses.replace(fact, **change)}
        assert plan_hash(dataclasses.replace(plan, facts=facts)) != plan_hash(plan), change
    for name, value in {
        "engine": "other",
        "case_name": "Other",
        "log_head": "1:0",
        "book_version": "9",
    }.items():
        assert plan_hash(dataclasses.replace(plan, **{name: value})) == plan_hash(plan)


def test_every_case_replays_on_every_engine(
    logged_cases: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for engine in ENGINES:
        assert main(["log", "replay", "--log", str(logged_cases), "--engine", engine]) == 0
        told = capsys.readouterr().out
        assert f"{len(CASES)} decisions made again: {len(CASES)} the same, 0 not." in told


def test_a_log_holds_no_name_and_no_answer_of_the_session(
    kb: KnowledgeBase, logged_cases: Path
) -> None:
    text = logged_cases.read_text("utf-8").casefold()
    for path in CASES:
        case = read_case(path, kb)
        assert "screen.self_harm_thoughts" in case.answers, "otherwise this test finds nothing"
        for part in case.name.casefold().split():
            assert not re.search(rf"\b{part}\b", text), part
    assert "screen.self_harm" not in text
    for entry in decisions(logged_cases):
        assert not any("self_harm" in key for key in (*entry.answers, *entry.outcome.facts))


def test_yes_no_and_silence_about_self_harm_leave_the_same_log_or_none(kb: KnowledgeBase) -> None:
    """From the log nobody can tell a no from silence, and a yes leaves nothing at all."""
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    planner = planner_on(case.as_of)
    fact = "screen.self_harm_thoughts"
    bodies = []
    for answer in (False, None):
        answers = {k: v for k, v in case.answers.items() if k != fact}
        answers |= {} if answer is None else {fact: answer}
        other = dataclasses.replace(case, answers=answers)
        assert not other.is_aside
        bodies.append(decision_body(planner, other, audience="coach", written=NOW))
    assert bodies[0] == bodies[1]
    assert dataclasses.replace(case, answers={**case.answers, fact: True}).is_aside


def test_a_masked_name_and_a_lost_key_break_nothing(
    logged_cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = tmp_path / "log.jsonl"
    shutil.copy(logged_cases, copy)
    assert main(["log", "verify", "--log", str(copy)]) == 0
    assert main(["log", "replay", "--log", str(copy), "--only", "3"]) == 0
    assert main(["log", "list", "--log", str(copy), "--name", "Ines Farrow"]) == 2
    assert "no-key" in capsys.readouterr().err


def test_a_case_of_other_settings_replays_with_the_settings_of_then(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    house = tmp_path / "house.yaml"
    house.write_text("parameters: {sets.extra: 5}\n", "utf-8")
    case = tmp_path / "case.yaml"
    case.write_text(
        "name: Ada Holt\nas_of: 2026-01-12\nanswers: {client.priority_muscles: [lats]}\n", "utf-8"
    )
    book = ["--rules", str(HERE / "small_book"), "--log", str(tmp_path / "log.jsonl")]
    plan = ["plan", "--no-week", str(case), *book]
    assert main([*plan, "--house", str(house)]) == 0
    assert main(plan) == 0
    first, second = decisions(tmp_path / "log.jsonl")
    assert first.book.house == {"sets.extra": 5.0}
    assert first.outcome.plan_hash != second.outcome.plan_hash
    assert main(["log", "replay", *book]) == 0
    capsys.readouterr()
    assert main(["log", "replay", *book, "--house", str(house)]) == 1
    told = capsys.readouterr().out
    assert "Decision 2 of 2026-01-12" in told
    assert "dose.sets_per_week[lats]: 12 (8 to 16) -> 13 (8 to 18)" in told
    assert "2 decisions made again: 1 the same, 1 not." in told


def test_a_replay_that_breaks_is_told_for_that_decision_alone() -> None:
    good = with_book(HERE / "small_book")

    def planner_for(entry: DecisionEntry) -> Planner:
        if entry.sequence == 3:
            raise EngineFault("the two engines differ on VOL-001")
        return good(entry)

    done = [replay(entry, planner_for) for entry in decisions(PAST)]
    assert moved(done) == {3: ("the two engines differ on VOL-001",)}


def test_other_sessions_are_told_day_by_day() -> None:
    line = Line(1, "row", "Row", 3, "repetitions", 8, 12, 2, 90, "z", None, "", 300, "why", ())
    week = Programme((Session("mon", "full", 30.0, 45, (line,)),), (), (), (), (), (), (), {}, "")
    old = WeekMade.model_validate_json(json.dumps(week_made(week, 1)))
    assert week_differences(old, week) == ()
    assert week_differences(old, None) == ("the week: no sessions can be given now",)
    more = dataclasses.replace(line, sets=4)
    other = dataclasses.replace(week, sessions=(Session("mon", "full", 30.0, 45, (more,)),))
    (told,) = week_differences(old, other)
    assert told == (
        "mon: row 3 x 8-12 repetitions, 2 left -> row 4 x 8-12 repetitions, 2 left"
    )  # fmt: skip
    rested = dataclasses.replace(line, rest_s=120)
    other = dataclasses.replace(week, sessions=(Session("mon", "full", 30.0, 45, (rested,)),))
    assert week_differences(old, other) == ("the week: loads, rests or reasons differ",)


def test_wishes_come_back_as_they_were(kb: KnowledgeBase) -> None:
    planner = prepare(kb, dt.date(2026, 1, 12))
    case = read_case(ROOT / "cases/first_months.yaml", kb)
    wishes = WeekWishes(
        recent_sets={"thrust_barbell": RecentSet(62.5, 8, 1.5)},
        likes=("squat_goblet",),
        minutes_on={"sat": 75},
    )
    body = decision_body(
        planner, dataclasses.replace(case, week=wishes), audience="coach", written=NOW
    )
    line, _ = sealed({**body, "client": "c-0"}, None)
    (entry,) = shaped((json.loads(line),), "log")
    assert isinstance(entry, DecisionEntry)
    again = case_of(entry, kb)
    assert again.week == wishes
    assert again.answers == {
        key: value for key, value in case.answers.items() if key != "screen.self_harm_thoughts"
    }


def test_a_log_of_another_shape_is_one_line_each(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    append(path, lambda: {"answers": {}, "kind": "decision"})
    append(path, lambda: {"answers": {}, "kind": "poem"})
    with pytest.raises(InputProblems) as refused:
        shaped(sound_log(path).entries, "log")
    assert [str(p).partition(" ")[0] for p in refused.value.problems] == ["log:1:", "log:2:"]
    assert {p.code for p in refused.value.problems} == {"bad-entry"}


def test_nine_digits_are_kept_and_the_last_bit_is_not() -> None:
    assert plain(0.1 + 0.2) == plain(0.3)
    assert plain(2503.52911234) != plain(2503.52912234)
    assert plain((1.0, True, "x", None)) == [1, True, "x", None]


@pytest.mark.parametrize(
    ("name", "value", "printed"), [("sets.extra", 5, True), ("sets.most", 15, False)]
)
def test_a_replay_names_the_edit_and_whether_anything_printed_moves(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, value: int, printed: bool
) -> None:
    """Of two numbers edited one is read for this client on a line of the plan, or on none."""
    then, now = HERE / "small_book", tmp_path / "rules"
    shutil.copytree(then, now)
    numbers = now / "parameters/all.yaml"
    head, mark, rest = numbers.read_text("utf-8").partition(f"id: {name}\n")
    assert mark
    rest = re.sub(r"value: \d+", f"value: {value}", rest, count=1)
    numbers.write_text(head + mark + rest, "utf-8")
    title = re.findall(r"title: (.+)", rest)[0].strip('"')
    case = tmp_path / "case.yaml"
    answers = (
        "client.priority_muscles: [lats], screen.symptom_now: false, screen.eating_sign: false"
    )
    case.write_text(f"name: Ada Holt\nas_of: 2026-01-12\nanswers: {{{answers}}}\n", "utf-8")
    log = str(tmp_path / "log.jsonl")
    assert main(["plan", "--no-week", str(case), "--rules", str(then), "--log", log]) == 0
    capsys.readouterr()
    asked = ["log", "replay", "--log", log, "--rules", str(now)]
    assert main([*asked, "--was", str(then)]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert f"because of: {title}" in told
    assert ("another plan" in told) == printed
    assert ("the same lines, other figures behind them" in told) != printed
    assert ("Of these 1 print the same lines" in told) != printed
    # Without the book of then nothing is guessed.
    assert main(asked) == 1
    assert "because of" not in capsys.readouterr().out
