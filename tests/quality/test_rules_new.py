"""`whyplan rules new`: what is begun is refused, gap by gap, until it is written; then it holds."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from check_book import check, clean_book

from assistant.calculate.registry import CALCULATORS
from assistant.cli.main import main
from assistant.knowledge import load_knowledge, rules_directory
from assistant.model.errors import InputProblems

BASIS = ("It helps.", "It helps you.", "gym-practice", "that it helps", "what gyms do")
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return clean_book(tmp_path / "rules")


def _written(path: Path, *words: str) -> None:
    """Write into the gaps of a file, in their order."""
    text = path.read_text("utf-8")
    for each in words:
        text = re.sub('"<write: [^"]*>"', lambda _, each=each: each, text, count=1)
    assert "<write" not in text
    path.write_text(text, "utf-8")


def _gaps(book: Path) -> list[tuple[str, int]]:
    with pytest.raises(InputProblems) as caught:
        load_knowledge(book, calculators=CALCULATORS, use_cache=False)
    assert {problem.code for problem in caught.value.problems} == {"unwritten"}
    places = [problem.place.rpartition(":") for problem in caught.value.problems]
    return [(file, int(line)) for file, _, line in places]


def test_a_new_rule_is_refused_until_it_is_written(rules: Run, book: Path) -> None:
    code, out, err = rules("new", "rule", "ADV-010", "--stage", "dose", "--sets", "note.sleep",
                         "--reads", "client.goal", "--reads", "client.priority_muscles")  # fmt: skip
    assert (code, err) == (0, "")
    assert str(book / "dose/ADV-010.yaml") in out
    file = "rules/dose/ADV-010.yaml"
    assert _gaps(book) == [(file, line) for line in (3, 10, 11, 12, 12, 13)]
    assert f"{file}:10: unwritten: to be written here: why, in a sentence or two" in out
    assert {(f.file, f.code) for f in check(book, ["schema"])} == {(file, "unwritten")}
    _written(book / "dose/ADV-010.yaml", "Sleep", *BASIS)
    assert check(book, ["schema", "lint", "tests"]) == []


def test_a_new_rule_for_every_muscle_is_named_after_its_title(rules: Run, book: Path) -> None:
    code, _, _ = rules("new", "rule", "MUS-010", "--stage", "dose", "--sets", "dose.role",
                     "--reads", "screen.dizzy", "--title", "The role of a muscle")  # fmt: skip
    assert code == 0
    path = book / "dose/MUS-010-role-of-muscle.yaml"
    # Something else may be begun before it is written.
    assert rules("new", "rule", "MUS-020", "--stage", "dose", "--sets", "dose.role")[0] == 0
    (book / "dose/MUS-020.yaml").unlink()
    assert len(_gaps(book)) == path.read_text("utf-8").count("<write") == 5


def test_a_new_rule_that_a_calculator_works_out(rules: Run, book: Path) -> None:
    """A fact that only a calculator gives: its inputs come from what the rule reads."""
    code, _, err = rules("new", "rule", "BOD-010", "--stage", "dose", "--sets", "body.bmi",
                       "--reads", "client.weight_kg", "--reads", "client.height_cm",
                       "--calculate", "body.bmi")  # fmt: skip
    assert (code, err) == (0, "")
    text = (book / "dose/BOD-010.yaml").read_text("utf-8")
    inputs = "[{fact: client.weight_kg}, {fact: client.height_cm}]"
    assert f"to: {{calculate: body.bmi, from: {inputs}}}" in text


def test_a_number_that_nothing_declared_gives_is_a_gap(rules: Run, book: Path) -> None:
    assert rules("new", "rule", "BOD-010", "--stage", "dose", "--sets", "body.bmi")[0] == 0
    assert "<write: a number in kg/m2" in (book / "dose/BOD-010.yaml").read_text("utf-8")


def test_what_a_written_rule_runs_into_is_told(rules: Run, book: Path) -> None:
    assert rules("new", "rule", "STL-010", "--stage", "dose", "--sets", "dose.style")[0] == 0
    _written(book / "dose/STL-010.yaml", "Style", *BASIS)
    with pytest.raises(InputProblems, match=r"`dose\.style` may get two values"):
        load_knowledge(book, calculators=CALCULATORS, use_cache=False)


def test_a_new_question(rules: Run, book: Path) -> None:
    code, _, err = rules("new", "question", "client.naps", "--section", "you")
    assert (code, err) == (0, "")
    answers, asked = "rules/facts/answers.yaml", "rules/questions/00_all.yaml"
    assert [file for file, _ in _gaps(book)] == [answers, asked, asked, asked]
    _written(book / "facts/answers.yaml", "naps")
    _written(book / "questions/00_all.yaml", '"Any naps?"', '"I nap:"', "rest counts")
    kb = load_knowledge(book, calculators=CALCULATORS, use_cache=False)
    assert kb.questions[-1].fact == "client.naps"
    assert kb.facts["client.naps"].label == "naps"


@pytest.fixture
def shipped(tmp_path: Path) -> Path:
    return Path(shutil.copytree(rules_directory(), tmp_path / "shipped" / "rules"))


def _new(book: Path, *arguments: str) -> int:
    return main(["rules", "new", *arguments, "--rules", str(book)])


def test_a_new_flag_is_one_file_and_whole_once_written(shipped: Path) -> None:
    flag = ("flag", "sore_thumb", "--severity", "caution", "--reads", "client.sleep_hours")
    assert _new(shipped, *flag) == 0
    assert {file for file, _ in _gaps(shipped)} == {"rules/flags/sore_thumb.yaml"}
    _written(shipped / "flags/sore_thumb.yaml", "max_tests", "hands", '"Thumbs."', '"Your thumb."',
             '"A thumb."', "no_tests", "A thumb that hurts", '"It hurts."', '"It hurts you."',
             "common-practice-training", "that it hurts", "what gyms do")  # fmt: skip
    kb = load_knowledge(shipped, calculators=CALCULATORS, use_cache=False)
    assert kb.flags["sore_thumb"].withheld == ("max_tests",)
    assert {"SCR-SORE-THUMB", "IFC-SORE_THUMB", "FLG-SORE_THUMB"} <= kb.rules.keys()


def test_a_new_exercise_stands_at_the_end_of_its_file(shipped: Path) -> None:
    begin = ("exercise", "squat_ring", "--pattern", "squat")
    assert _new(shipped, *begin[:2]) == 2, "its pattern says where the words stand"
    assert _new(shipped, *begin) == 0
    assert _new(shipped, *begin) == 2, "what is begun is not begun twice"
    said = shipped / "how_to/squat.yaml"
    assert {file for file, _ in _gaps(shipped)} == {
        "rules/exercises.yaml",
        "rules/how_to/squat.yaml",
        "rules/poses/squat.yaml",
    }
    _written(shipped / "poses/squat.yaml", "The rings hide the arms.")
    _written(said, "Hold the rings.", "Sit.", "Wait.", "Rise.", "The thighs.", "Arms pull.", "Let go.",
             "Heels lift.", "Lean back.", "Pain.", "None.", "From the side.", "squat_goblet")  # fmt: skip
    path = shipped / "exercises.yaml"
    _written(path, "Ring squat", "repetitions", "suspension_straps", "quads",
             "glute_max", "false", "none", "1", "1", "knee", "false", "light", "60", "20", "standing",
             "mid", "deep_knee_flexion", "", "")  # fmt: skip
    with pytest.raises(InputProblems, match="`squat_goblet` does not do with less kit"):
        load_knowledge(shipped, calculators=CALCULATORS, use_cache=False)
    text = said.read_text("utf-8").replace(
        "without_kit: [squat_goblet]\n", "without_kit: [squat_bodyweight]\n"
    )
    said.write_text(text, "utf-8")
    kb = load_knowledge(shipped, calculators=CALCULATORS, use_cache=False)
    assert kb.exercises.exercises[-1].credits == {"quads": 1, "glute_max": 0.5}
    assert kb.how_to["squat"].by_id["squat_ring"].feel == "The thighs."
    assert kb.poses["squat"].not_drawn == {"squat_ring": "The rings hide the arms."}


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rule", "VOL-001", "--stage", "dose", "--sets", "note.sleep"], "rule-exists: rule `VOL-001` stands already"),
        (["rule", "STY-LONG", "--stage", "dose", "--sets", "note.sleep"], "rule-exists: rule `STY-LONG` stands already"),
        (["rule", "vol", "--stage", "dose", "--sets", "note.sleep"], "bad-value: `vol` is no rule id"),
        (["rule", "../X", "--stage", "dose", "--sets", "note.sleep"], "bad-value: `../X` is no rule id"),
        (["rule", "ADV-1", "--stage", "doze", "--sets", "note.sleep"], "unknown-name: `doze` is not known; did you mean `dose`"),
        (["rule", "ADV-1", "--stage", "dose", "--sets", "note.slep"], "did you mean `note.sleep`"),
        (["rule", "ADV-1", "--stage", "dose", "--sets", "client.goal"], "not-derived"),
        (["rule", "ADV-1", "--stage", "dose", "--sets", "body.bmi", "--calculate", "body.bni"], "did you mean `body.bmi`"),
        (["question", "client.naps", "--section", "yuo"], "did you mean `you`"),
        (["question", "naps", "--section", "you"], "bad-value: `naps` is no answer"),
        (["question", "pet.naps", "--section", "you"], "no answer begins with `pet.`"),
        (["question", "client.goal", "--section", "you"], "name-exists"),
        (["rule", "ADV-1", "--stage", "dose"], "--sets: missing-option: a rule needs it"),
        (["flag", "Sore", "--severity", "caution"], "bad-value: `Sore` is no name"),
    ],
)  # fmt: skip
def test_a_new_rule_that_cannot_be(arguments: list[str], says: str, rules: Run, book: Path) -> None:
    before = {path: path.read_bytes() for path in book.rglob("*.yaml")}
    code, out, err = rules("new", *arguments)
    assert (code, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1
    assert {path: path.read_bytes() for path in book.rglob("*.yaml")} == before
