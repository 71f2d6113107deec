"""A slip in a pose is told with its file and line, what is allowed, and the nearest name."""

import shutil
from pathlib import Path

import pytest
from lengths import first_by_default

from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import rules_directory
from assistant.knowledge.drafting import read_draft
from assistant.model.errors import Problem

# The text that stands in poses/squat.yaml, the slip, its code, and words of what is told.
SLIPS = {
    "a joint too far": ("shoulder: 120}", "shoulder: 220}", "out-of-range", "-60 to 180 degrees"),
    "an exercise": ("id: squat_goblet", "id: squat_gobblet", "unknown-exercise", "did you mean `squat_goblet`"),
    "a joint": ("shoulder: 24}", "sholder: 24}", "unknown-field", "did you mean `shoulder`"),
    "a view": ("view: front", "view: above", "bad-value", "'side'"),
    "a part": ("path: hips", "path: hip", "bad-value", "'hips'"),
    "one twice": ("id: squat_smith", "id: squat_belt", "repeated-id", "stands twice"),
    "a piece without a name": ("upon: box", "upon: bax", "unknown-name", "kit with a name: box"),
    "a pattern": ("id: squat_belt", "id: rdl_barbell", "misplaced-entry", "belongs to the pattern `hinge`"),
    "one left out": ("id: squat_belt", "id: leg_press", "missing-pose", "`squat_belt` has no pose"),
    "no place": ("{part: feet, at: [0, 0]}", "{part: feet, height: 0}", "missing-field", "has a place"),
}  # fmt: skip

# A piece in place of the goblet squat's weight that could not be drawn, and words of what is told.
PIECES = {
    "{shape: slab, at: [0, 40]}": "a slab needs `at` and `to` in cm",
    "{shape: bench, at: hands, to: [0, 40]}": "a bench needs `at` and `to` in cm",
    "{shape: cable, at: hands}": "a cable needs `to`, where it ends",
    "{shape: lever, at: hands}": "a lever needs `to`, where it ends",
    "{shape: dumbbell, at: hands, side: middle, axis: forearm}": "for a dumbbell in one hand",
    "{shape: dumbbell, at: [0, 30], axis: forearm}": "for a dumbbell in one hand",
    "{shape: plate, at: hands, axis: forearm}": "for a dumbbell in one hand",
}  # fmt: skip


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = tmp_path_factory.mktemp("book") / "rules"
    shutil.copytree(rules_directory(), copy, ignore=shutil.ignore_patterns("schema"))
    return copy


@pytest.mark.parametrize("slip", first_by_default(SLIPS, 2))
def test_a_slip_is_told_with_its_line(slip: str, rules: Path) -> None:
    old, new, code, words = SLIPS[slip]
    problems = _slipped(rules, "poses/squat.yaml", old, new)
    told = [each for each in problems if each.code == code and words in each.text]
    assert told, [str(each) for each in problems]
    assert _line(told[0]) > 0


@pytest.mark.parametrize("piece", first_by_default(PIECES))
def test_a_piece_that_cannot_be_drawn_is_told(piece: str, rules: Path) -> None:
    held = "{shape: dumbbell, at: hands, side: middle, axis: up, width: 18, size: 7}"
    told = _slipped(rules, "poses/squat.yaml", held, piece)
    assert [PIECES[piece] in each.text for each in told] == [True]
    assert _line(told[0]) > 0


def test_a_joint_without_a_range_is_told(rules: Path) -> None:
    problems = _slipped(rules, "figures.yaml", "  hip: {low: -30", "  # hip: {low: -30")
    told = [f"{each.code}: {each.text}" for each in problems]
    assert told == ["missing-field: the joint `hip` is needed here"]


def _slipped(rules: Path, file: str, old: str, new: str) -> list[Problem]:
    """What is told of a book with a slip in one file, which is mended afterwards."""
    path = rules / file
    sound = path.read_text(encoding="utf-8")
    assert old in sound
    path.write_text(sound.replace(old, new, 1), encoding="utf-8")
    try:
        _, problems = read_draft(rules, calculators=CALCULATORS)
    finally:
        path.write_text(sound, encoding="utf-8")
    return problems


def _line(problem: Problem) -> int:
    file, _, line = problem.place.rpartition(":")
    assert file.endswith(".yaml")
    return int(line)
