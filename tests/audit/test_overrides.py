"""A coach may change what rules/overrides.yaml names; never a stop, never what is left out.

The laws are those of the screen (DEVELOPERS.md, decisions): nothing lifts a stop, nothing shows what is
withheld. Which lines may be changed at all is our judgement, no source.
"""

import dataclasses
import datetime as dt
from pathlib import Path

import pytest
from shipped import planner_on

from assistant.audit.decision import coach_plan, outcome_of
from assistant.audit.entry import DecisionEntry, shaped
from assistant.audit.override import Wish, override_body
from assistant.audit.replay import case_of
from assistant.audit.store import sound_log
from assistant.audit.tally import count_log
from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.clients.book import knowledge
from assistant.knowledge import load_knowledge
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.tally import Tally

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
NOW = dt.datetime(2026, 1, 12, 10, 0, tzinfo=dt.UTC)


@pytest.fixture(scope="module")
def cases(logged_cases: Path) -> dict[str, DecisionEntry]:
    made = shaped(sound_log(logged_cases).entries, "log")
    names = [path.stem for path in sorted((ROOT / "cases").glob("*.yaml"))]
    return {n: e for n, e in zip(names, made, strict=True) if isinstance(e, DecisionEntry)}


def wish(line: str, to: str, by: str = "head trainer", reason: str = "agreed with her") -> Wish:
    return Wish(line, to, by, reason)


def code(entry: DecisionEntry, asked: Wish, kb: KnowledgeBase) -> str:
    with pytest.raises(InputProblems) as refused:
        override_body(entry, asked, kb, NOW)
    (problem,) = refused.value.problems
    return problem.code


def test_a_change_within_the_plans_own_range_is_written_down(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    entry = cases["four_days"]
    shown = entry.outcome.facts["dose.sets_per_week[lats]"]
    assert shown.low is not None
    assert shown.high is not None
    body = override_body(entry, wish("training.dose[lats]", f"{shown.high:g}"), kb, NOW)
    assert (body["was"], body["to"]) == (shown.value, shown.high)
    assert body["rule"] == entry.outcome.lines["training.dose[lats]"].rule != ""
    for beyond in (shown.low - 1, shown.high + 1):
        asked = wish("training.dose[lats]", f"{beyond:g}")
        assert code(entry, asked, kb) == "out-of-range"


def test_nothing_at_all_can_be_changed_under_a_stop(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    stopped = cases["stop_today"]
    assert stopped.outcome.level == "stop"
    lines = [*stopped.outcome.lines, *cases["four_days"].outcome.lines, *kb.overrides.lines]
    for line in lines:
        for to in ("1", "none", "2026-01-13"):
            assert code(stopped, wish(line, to), kb) == "stopped"


def test_no_line_of_the_screen_can_be_changed(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    for entry in cases.values():
        for line in entry.outcome.lines:
            if line.startswith("screen."):
                assert code(entry, wish(line, "none"), kb) in {"not-changeable", "stopped"}


def test_what_is_left_out_has_no_line_to_change(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    """For every case that withholds something, every line the rules allow, with every value."""
    checked = 0
    for entry in cases.values():
        for line, limit in kb.overrides.lines.items():
            fact = limit.fact.partition("[")[0]
            if not set(kb.facts[fact].reveals) & entry.outcome.withheld:
                continue
            checked += 1
            assert code(entry, wish(line, "2000"), kb) in {"unknown-line", "withheld", "stopped"}
    assert checked >= 4


def test_a_held_back_deficit_cannot_be_brought_in_by_hand(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    """The target's own range reaches below maintenance; it is closed while a deficit is withheld."""
    entry = cases["four_days"]
    withheld = entry.outcome.facts["screen.level"].model_copy(update={"value": ("energy_deficit",)})
    facts = {**entry.outcome.facts, "screen.withheld": withheld}
    outcome = entry.outcome.model_copy(update={"facts": facts})
    guarded = entry.model_copy(update={"outcome": outcome})
    low = entry.outcome.facts["energy.target_kcal_per_day"].low
    assert low is not None
    assert override_body(entry, wish("food.target", str(low + 1)), kb, NOW)
    assert code(guarded, wish("food.target", str(low + 1)), kb) == "withheld"


def test_food_never_goes_below_the_floor_of_the_plan(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    entry = cases["slow_cut"]
    floor = entry.outcome.facts["energy.floor_kcal_per_day"].value
    assert isinstance(floor, float)
    assert code(entry, wish("food.target", str(floor - 1)), kb) == "out-of-range"


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        (wish("training.dose[lats]", "many"), "bad-type"),
        (wish("training.dose[lats]", "nan"), "bad-value"),
        (wish("training.dose[lats]", "inf"), "bad-value"),
        (wish("training.dose[lats]", "unknown"), "bad-type"),
        (wish("training.next_style", "unknown"), "bad-value"),
        (wish("training.next_style", "hevy"), "unknown-choice"),
        (wish("review.date", "2026-01-11"), "out-of-range"),
        (wish("review.date", "2027-01-11"), "out-of-range"),
        (wish("review.date", "soon"), "bad-type"),
        (wish("aim.goal", "maintain"), "not-changeable"),
        (wish("no.such.line", "1"), "unknown-line"),
        (wish("training.dose[nose]", "8"), "unknown-line"),
        (wish("training.dose[lats]", "12", by=" "), "bad-text"),
        (wish("training.dose[lats]", "12", reason=""), "bad-text"),
        (wish("training.dose[lats]", "12", reason="two\nlines"), "bad-text"),
        (wish("training.dose[lats]", "12", reason="x" * 501), "bad-text"),
    ],
)
def test_what_cannot_be_written_down(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry], asked: Wish, expected: str
) -> None:
    assert code(cases["four_days"], asked, kb) == expected


def test_the_shipped_limits_name_lines_of_the_plan(
    kb: KnowledgeBase, cases: dict[str, DecisionEntry]
) -> None:
    lines = {line.partition("[")[0] for entry in cases.values() for line in entry.outcome.lines}
    assert set(kb.overrides.lines) <= lines
    for entry in cases.values():
        for key, line in entry.outcome.lines.items():
            limit = kb.overrides.lines.get(key.partition("[")[0])
            if limit is not None:
                element = key.partition("[")[2].rstrip("]")
                assert limit.fact.replace("[element]", f"[{element}]") in line.facts


@pytest.mark.parametrize(
    ("old", "new"),
    [("fact: energy.target_kcal_per_day", "fact: energy.targte"),
     ("closed_while: [energy_number]", "closed_while: [energy_nmber]"),
     ("at_most: [dose.ceiling_sets_per_week]", "at_most: [dose.ceiling]"),
     ("own_range: true", "own_rnage: true")],
)  # fmt: skip
def test_a_slip_in_the_limits_is_one_clear_line(tmp_path: Path, old: str, new: str) -> None:
    import shutil  # noqa: PLC0415 - this test alone copies a book

    book = tmp_path / "book"
    shutil.copytree(HERE / "small_book", book)
    text = (book / "overrides.yaml").read_text("utf-8")
    assert old in text
    (book / "overrides.yaml").write_text(text.replace(old, new), "utf-8")
    place = r"book/overrides\.yaml:\d: (unknown-(fact|output)|unknown-field)"
    with pytest.raises(InputProblems, match=place):
        load_knowledge(book, calculators=CALCULATORS)


def test_the_report_counts_each_line_of_a_decision_once(tmp_path: Path) -> None:
    """Counted by hand: VOL-002 changed in decision 1 (twice) and 3 (two lines), fired in both."""
    import shutil  # noqa: PLC0415 - this test alone copies a log

    log = tmp_path / "log.jsonl"
    shutil.copy(HERE / "past_log.jsonl", log)
    book = str(HERE / "small_book")
    for number, line, to, reason in (
        ("1", "training.dose[lats]", "13", "one more look"),
        ("3", "training.dose[lats]", "10", "a busy month"),
        ("3", "training.dose[quads]", "10", "a busy month"),
    ):
        change = ["--line", line, "--to", to, "--by", "head trainer", "--reason", reason]
        assert main(["log", "override", number, "--log", str(log), "--rules", book, *change]) == 0
    tally = Tally()
    count_log(tally, log)
    changed = [tuple(rate) for rate in tally.rates() if rate.changed]
    assert changed == [("VOL-002", 2, 2), ("ENE-001", 6, 1)], "rule, fired, changed"
    reasons = [each.reason for each in tally.changes if each.rule == "VOL-002"]
    assert reasons == ["one more look", "a busy month", "a busy month"]


def test_a_plan_with_changes_by_hand_is_made_again_from_its_entry(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without the changes the replay would be another plan; with them it is the same to the hash."""
    case = tmp_path / "ines.yaml"
    text = (ROOT / "cases/four_days.yaml").read_text("utf-8").partition("\nexpect:")[0]
    change = "{line: food.protein, to: 130, by: L. Marrow, reason: likes it, since: '2026-01-12'}"
    case.write_text(f"{text}\noverrides:\n  - {change}\n", "utf-8")
    log = tmp_path / "log.jsonl"
    assert main(["plan", str(case), "--no-week", "--log", str(log)]) == 0
    (entry,) = shaped(sound_log(log).entries, "log")
    assert isinstance(entry, DecisionEntry)
    assert entry.overrides[0].line == "food.protein"
    assert entry.outcome.facts["protein.g_per_day"].value == 130
    capsys.readouterr()
    assert main(["log", "replay", "--log", str(log)]) == 0, capsys.readouterr().out
    other = dataclasses.replace(case_of(entry, knowledge(None, None)), overrides=())
    planner = planner_on(other.as_of)
    assert outcome_of(coach_plan(planner, other))["plan_hash"] != entry.outcome.plan_hash
