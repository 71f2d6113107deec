"""Twenty-one faults planted in a gym's own folder, each told with its line; and the laws of the book hold over it.

Each of the four things is broken in five ways, and one file is none of a house's. Faults of one round are planted together: all are told at once.
"""

from pathlib import Path
from typing import NamedTuple

import pytest
from harrow_lane import SIGNED, laid_out, spoiled

from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.knowledge import rules_directory
from assistant.knowledge.drafting import read_draft
from assistant.model.errors import InputProblems, Problem

CASE = str(Path(__file__).parents[2] / "cases" / "four_days.yaml")
RULE, EXERCISE = "dose/HLS-100-dry-shoes-on-floor.yaml", "exercises.yaml"
FLAG, WORDING = "flags/very_short_sleep.yaml", "wording.yaml"


class Fault(NamedTuple):
    """A text of a file and what it becomes; what is told, and how many lines under it."""

    file: str
    old: str
    new: str
    code: str
    told: str
    under: int = 0


ROUNDS = [
    [
        Fault(RULE, "stage: dose", "stage: doze", "misplaced-file", "`doze`"),
        Fault(EXERCISE, "glute_max: 1.0", "glute_maxx: 1.0", "unknown-name", "did you mean `glute_max`"),
        Fault(FLAG, "training: no_tests", "training: no_test", "unknown-name", "did you mean `no_tests`"),
        Fault(WORDING, "kcal/d:", "kcal/dd:", "unknown-unit", "`kcal/dd` is not a unit"),
    ],
    [
        Fault(RULE, "{fact: client.sleep_hours, at", "{fact: client.sleep_hour, at", "unknown-fact",
              "did you mean `client.sleep_hours`"),
        Fault(EXERCISE, '"Tom Vale"', '"lena  marrow"', "bad-value", "name somebody else in reviewed_by"),
        Fault(FLAG, "[max_tests]", "[max_test]", "unknown-name", "did you mean `max_tests`"),
        Fault(WORDING, "2026-01-05", "2026-13-05", "bad-value", "`day` is `2026-13-05`"),
    ],
    [
        Fault(RULE, SIGNED("the street brings water in"), "", "unsigned", "write `signed:"),
        Fault(EXERCISE, '"Tom Vale"}', '"Tom Vale", from: "2026-03-01", until: "2026-02-01"}', "bad-value",
              "put the earlier day first"),
        Fault(FLAG, "two clients fainted after such nights", "x", "empty-reason", "tells nobody why"),
        Fault(WORDING, 'by: "Lena Marrow", ', "", "missing-field", "`by` is needed"),
    ],
    [
        Fault(RULE, "{set: advice.dry_shoes, to: true}", "{add: plan.left_out, item: energy_deficit}", "locked-fact",
              "no house rule says what `plan.left_out` is"),
        Fault(EXERCISE, "hamstrings: 0.25", "hamstrings: 0.3", "bad-value", "0.3 is not one of 0.25, 0.5, 1"),
        Fault(FLAG, "id: very_short_sleep", "id: very_short_sleeps", "misnamed-file", "name both the same"),
        Fault(WORDING, "  kcal/d: kcal per day", "  kcal/d: kcal per day\n  kcal/d: kcal", "repeated-field",
              "kcal/d", 1),
    ],
    [
        Fault(RULE, "judgement-training", "judgement-trainings", "unknown-source", "did you mean"),
        Fault(EXERCISE, "exercises:", "exercise:", "unknown-field", "did you mean `exercises`"),
        Fault(FLAG, "severity: caution", "severity: mild", "bad-value", "`severity` is `mild`"),
        Fault(WORDING, "units:", "unitz:", "unknown-field", "did you mean `units`"),
        Fault("plan.yaml", "", "order: [first]\n", "not-for-a-house", "stays as it is in the book"),
    ],
]  # fmt: skip


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return laid_out(tmp_path / "harrow", rules_directory())


def _problems(house: Path) -> list[Problem]:
    try:
        return read_draft(None, house, calculators=CALCULATORS)[1]
    except InputProblems as problems:
        return list(problems.problems)


@pytest.mark.parametrize("faults", ROUNDS, ids=[f"round {n}" for n in range(1, 6)])
def test_planted_faults_are_told_with_their_line_and_what_to_do(
    house: Path, faults: list[Fault], capsys: pytest.CaptureFixture[str]
) -> None:
    lines = [spoiled(house, fault.file, fault.old, fault.new) + fault.under for fault in faults]
    told = _problems(house)
    for fault, line in zip(faults, lines, strict=True):
        here = [each for each in told if each.place == f"{(house / fault.file).as_posix()}:{line}"]
        if fault.code in {"misplaced-file", "not-for-a-house"}:  # told of the whole file
            here = [each for each in told if each.place.startswith((house / fault.file).as_posix())]
        assert any(each.code == fault.code and fault.told in each.text for each in here), told
    assert main(["plan", CASE, "--no-week", "--house", str(house)]) == 2
    err = capsys.readouterr().err
    assert "Traceback" not in err
    assert all(str(each) in err for each in told[:3])


def _copied(
    house: Path, name: str, *changes: tuple[str, str], reason: str = "we know better"
) -> str:
    text = (rules_directory() / name).read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (house / name).parent.mkdir(exist_ok=True)
    (house / name).write_text(SIGNED(reason) + text, encoding="utf-8")
    return name


WEAKER = [
    ("flags/hernia_stuck.yaml", [("severity: stop", "severity: caution")], "weakened-stop", "stops everything"),
    ("flags/bp_high.yaml", [("severity: withhold", "severity: caution")], "weakened-flag", "is a caution here"),
    ("flags/bp_high.yaml", [("[HARD_EXERCISE]", "[max_tests]")], "weakened-flag", "no longer takes out"),
    ("flags/bp_high.yaml", [("urgency: this_week", "urgency: routine")], "weakened-flag", "no longer sends to"),
    ("flags/bp_high.yaml", [("at_least: {param: screen.pressure_hard_systolic}",
                             "more_than: {param: screen.pressure_hard_systolic}")],
     "weakened-flag", "no longer raises"),
    ("flags/bp_high.yaml", [("by: [physician]", "by: [physician, physiotherapist]")], "weakened-flag", "frees more"),
    ("dose/ADV-010-beginners-exception.yaml", [("  - {fact: training.lifting_waits, equals: true}\n", "")],
     "lost-brake", "keep this under `unless`"),
    ("limits.yaml", [], "not-for-a-house", "stays as it is in the book"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "changes", "code", "text"), WEAKER)
def test_nothing_of_a_house_is_weaker_than_the_book(
    house: Path, name: str, changes: list[tuple[str, str]], code: str, text: str
) -> None:
    _copied(house, name, *changes)
    told = _problems(house)
    assert any(each.code == code and text in each.text for each in told), told


def test_a_copy_of_the_book_in_the_folder_is_taken_as_it_is(house: Path) -> None:
    for name in (
        "flags/bp_high.yaml",
        "flags/hernia_stuck.yaml",
        "dose/ADV-010-beginners-exception.yaml",
    ):
        _copied(house, name)
    assert _problems(house) == []


def test_a_stop_that_is_excused_by_the_folder_lets_nobody_plan(
    house: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even where no check of a file sees it, the laws are tried by runs before the first plan."""
    monkeypatch.setattr("assistant.knowledge.checks.check_house", lambda _: ())
    monkeypatch.setattr("assistant.knowledge.cache.Copy.read", lambda _: None)
    _copied(
        house,
        "flags/hernia_stuck.yaml",
        ("screen.hernia_stuck, equals: true", "screen.hernia_stuck, equals: false"),
    )
    code = main(["plan", CASE, "--no-week", "--house", str(house)])
    err = capsys.readouterr().err
    assert code == 2
    assert "weakened-stop" in err
    assert "flags/hernia_stuck.yaml" in err
