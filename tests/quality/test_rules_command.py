"""`whyplan rules`: a rule as a card, rules and numbers in a list, a house's own number with its reason."""

from collections.abc import Callable
from pathlib import Path

import pytest
from check_book import clean_book, replace

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles.house import with_change
from assistant.cli.main import main
from assistant.clients.book import knowledge
from assistant.knowledge import load_knowledge
from assistant.model.parameters import Change

Run = Callable[..., tuple[int, str, str]]

CASE = """\
name: Nell Brayford
as_of: 2026-01-12
answers:
  client.age_years: 31
  client.height_cm: 168
  client.weight_kg: 64
  client.goal: gain
  client.days: 4
  client.priority_muscles: [lats]
  screen.chest_pain: false
  screen.dizzy: false
"""
HEAD = "# Harrow Lane, own settings\n"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    folder = clean_book(tmp_path / "rules")
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "nell.yaml").write_text(CASE, encoding="utf-8")
    return folder


def _set(
    rules: Run, house: Path, *more: str, value: str = "10", name: str = "sets.typical"
) -> tuple[int, str, str]:
    return rules("set", name, value, "--house", house, "--by", "head trainer", "--reason", "slow gains",
               "--day", "2026-02-01", *more)  # fmt: skip


# Cards and lists.


def test_a_card_tells_all_of_a_rule(rules: Run) -> None:
    code, out, err = rules("show", "VOL-001")
    assert (code, err) == (0, "")
    for piece in (
        "VOL-001: Weekly sets of most muscles",
        "stage dose, in rules/dose/VOL-001.yaml:1",
        "once for each muscle in muscle",
        "role [dose.role of muscle] is typical",
        "withheld [screen.withheld] has exercise any",
        "8 {sets}/wk since 2026-01-01, 9 {sets}/wk since 2026-06-01; a house may set 4 to 12 in steps of 1",
        "weekly sets [dose.sets_per_week of muscle] becomes 9 {sets}/wk [sets.typical]",
        "common practice, no source [gym-practice, common practice]: how the gym does it",
        "practice: what the gym does",
        "but dose.role[quads] = priority: fails at dose.role",
    ):
        assert piece in out, piece


def test_every_rule_of_the_shipped_book_has_a_card(capsys: pytest.CaptureFixture[str]) -> None:
    kb = knowledge(None, None)
    for rule_id in list(kb.rules)[::60]:
        assert main(["rules", "show", rule_id]) == 0
        out = capsys.readouterr().out
        assert out.startswith(f"{rule_id}: {kb.rules[rule_id].title}\n")
        assert kb.rules[rule_id].because in out


@pytest.mark.parametrize(
    ("arguments", "ids"),
    [
        (
            [],
            [
                "BOD-001",
                "MUS-001",
                "MUS-002",
                "SCR-001",
                "STY-LONG",
                "STY-SHORT",
                "VOL-001",
                "VOL-002",
            ],
        ),
        (["MUS-*"], ["MUS-001", "MUS-002"]),
        (["--stage", "screen"], ["SCR-001"]),
        (["--grade", "strong"], ["BOD-001"]),
        (["--sets", "dose.role"], ["MUS-001", "MUS-002"]),
        (["--reads", "client.days"], ["STY-LONG", "STY-SHORT"]),
        (["--source", "quotient"], ["BOD-001"]),
        (["WEEKLY SETS of"], ["VOL-001", "VOL-002"]),
        (["over height squared"], ["BOD-001"]),
        (["VOL-0"], ["VOL-001", "VOL-002"]),
    ],
)
def test_a_list_of_rules(arguments: list[str], ids: list[str], rules: Run, book: Path) -> None:
    code, out, _ = rules("list", *arguments)
    assert code == 0
    kb = load_knowledge(book, calculators=CALCULATORS)
    shown = [line.split()[0] for line in out.splitlines()[:-1]]
    assert [name for name in shown if name in kb.rules] == ids
    numbers = [name for name in shown if name not in kb.rules]
    assert set(numbers) <= kb.parameters.keys()
    told = f"{len(ids)} of 8 rules, {len(numbers)} of {len(kb.parameters)} numbers"
    assert out.splitlines()[-1] == told


def test_numbers_are_listed_by_title_source_and_grade(rules: Run) -> None:
    code, out, _ = rules("list", "sets.typical")
    assert code == 0
    # The rule says the number in its sentence.
    listed = [line.split()[:2] for line in out.splitlines()[:-1]]
    assert listed == [["VOL-001", "dose"], ["sets.typical", "number"]]
    assert "sets.typical" in rules("list", "--source", "gym-practice")[1]
    assert "sets.typical" not in rules("list", "--stage", "dose")[1]


def test_a_list_of_nothing_is_a_finding(rules: Run) -> None:
    code, out, _ = rules("list", "XYZ-*")
    assert code == 1
    assert out.startswith("0 of 8 rules, 0 of ")


# A house's own number.


def test_setting_a_number_shows_what_moves_and_keeps_the_reason(
    rules: Run, tmp_path: Path, book: Path
) -> None:
    house = tmp_path / "house.yaml"
    code, out, err = _set(rules, house)
    assert (code, err) == (0, "")
    # By the rules: lats are a priority (8 + 4), quads and chest are not (8, from 7 to 12).
    assert "sets.typical (weekly sets for most muscles): 8 → 10" in out
    assert "1 of 1 cases move" in out
    assert "dose.sets_per_week[lats]: 12 → 14" in out
    assert "dose.sets_per_week[quads]: 8 (7 to 12) → 10 (9 to 14)" in out
    kb = load_knowledge(book, house=house, calculators=CALCULATORS, use_cache=False)
    assert dict(kb.overlay) == {"sets.typical": 10}
    assert (
        'parameter: sets.typical, was: 8, now: 10, by: "head trainer", day: "2026-02-01", '
        'reason: "slow gains"' in house.read_text("utf-8")
    )


def test_a_second_change_leaves_the_first_and_the_comments(rules: Run, tmp_path: Path) -> None:
    house = tmp_path / "house.yaml"
    house.write_text(
        f"{HEAD}parameters:\n    days.many: 5  # we like short ones\n", encoding="utf-8"
    )
    assert _set(rules, house)[0] == 0
    assert _set(rules, house, value="11")[0] == 0
    text = house.read_text("utf-8")
    assert text.startswith(
        f"{HEAD}parameters:\n    sets.typical: 11\n    days.many: 5  # we like short ones\n"
    )
    assert text.count("parameter: sets.typical") == 2
    assert text.index("was: 10, now: 11") < text.index("was: 8, now: 10")


def test_trying_writes_nothing(rules: Run, tmp_path: Path) -> None:
    house = tmp_path / "house.yaml"
    code, out, _ = _set(rules, house, "--try")
    assert code == 0
    assert "1 of 1 cases move" in out
    assert not house.exists()


@pytest.mark.parametrize(
    ("name", "value", "code", "says"),
    [
        (
            "sets.typical",
            "13",
            "out-of-range",
            "would be 13; allowed: 4 to 12 {sets}/wk in steps of 1",
        ),
        ("sets.typical", "nan", "out-of-range", "allowed: 4 to 12"),
        ("sets.typical", "9.5", "off-step", "in steps of 1"),
        ("sets.typical", "8", "no-change", "is 8 already"),
        ("sets.typicl", "9", "unknown-parameter", "did you mean `sets.typical`"),
    ],
)
def test_a_value_the_book_does_not_allow(
    name: str, value: str, code: str, says: str, rules: Run, tmp_path: Path
) -> None:
    house = tmp_path / "house.yaml"
    exit_code, out, err = _set(rules, house, name=name, value=value)
    assert (exit_code, out) == (2, "")
    assert f": {code}: " in err
    assert says in err
    assert not house.exists()


def test_a_change_needs_a_name_and_a_reason(rules: Run, tmp_path: Path) -> None:
    code, _, err = rules(
        "set", "sets.typical", "10", "--house", tmp_path / "h.yaml", "--by", " ", "--reason", ""
    )
    assert code == 2
    assert [line.split(":")[0] for line in err.splitlines()] == ["--by", "--reason"]


def test_a_change_that_makes_two_rules_meet_is_refused(
    rules: Run, book: Path, tmp_path: Path
) -> None:
    """STY-SHORT and STY-LONG then part at two numbers; set over each other, both would fire."""
    replace(book, "parameters/dose.yaml", "  - id: days.many\n", (
        '  - {id: days.few, title: few, unit: "1", values: [{since: "2026-01-01", value: 4}], range: [3, 6], '
        "step: 1, source: [{ref: gym-practice, supports: it}], grade: {certainty: practice, note: x}}\n"
        "  - id: days.many\n"))  # fmt: skip
    replace(book, "tables/STY.yaml", "    few: {param: days.many}", "    few: {param: days.few}")
    house = tmp_path / "house.yaml"
    code, _, err = _set(rules, house, name="days.few", value="5")
    assert code == 2
    assert ": conflict: " in err
    assert not house.exists()
    assert list(tmp_path.glob(".*")) == []


@pytest.mark.parametrize(
    "text", ["parameters: {days.many: 5}\n", "parameters:\n  days.many: 5\nchanges: []\n"]
)
def test_a_file_written_too_tightly_is_left_alone(text: str, rules: Run, tmp_path: Path) -> None:
    house = tmp_path / "house.yaml"
    house.write_text(text, encoding="utf-8")
    code, _, err = _set(rules, house)
    assert code == 2
    assert ": bad-layout: " in err
    assert house.read_text("utf-8") == text


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ("changes: {}", "bad-type"),
        ("changes:\n  - {parameter: sets.typical, was: 8}", "bad-change"),
        (
            'changes:\n  - {parameter: x.y, was: 8, now: 9, by: "a", day: "d", reason: "r"}',
            "unknown-parameter",
        ),
        (
            'changes:\n  - {parameter: sets.typical, was: 8, now: 9, by: "a", day: "d", reason: " "}',
            "bad-change",
        ),
    ],
)
def test_a_log_of_changes_that_is_wrong(
    changes: str, code: str, rules: Run, tmp_path: Path
) -> None:
    house = tmp_path / "house.yaml"
    house.write_text(f"parameters:\n  days.many: 5\n{changes}\n", encoding="utf-8")
    exit_code, _, err = rules("list", "--house", house)
    assert exit_code == 2
    assert f": {code}: " in err


def test_text_with_quotes_and_colons_stays_what_it_was() -> None:
    change = Change("a.b", 1, 2, 'Jo: "the" boss', "2026-01-12", "{reason}: # none")
    text = with_change("", "house.yaml", change)
    assert '"Jo: \\"the\\" boss"' in text
    assert '"{reason}: # none"' in text
