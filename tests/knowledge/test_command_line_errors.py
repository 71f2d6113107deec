"""Bad input on the command line: exit code 2, one line a problem on stderr, nothing on stdout."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from assistant.cli.main import main
from assistant.knowledge import rules_directory

CASE = """\
name: Nell Brayford
as_of: 2026-01-12
answers:
  client.age_years: 31
  client.height_cm: 168
  client.weight_kg: 64
"""
LINE = re.compile(r"(?P<place>\S.*?): (?P<code>[a-z][a-z0-9-]+): (?P<text>\S.*)")


class Told(NamedTuple):
    """One line of stderr, taken apart."""

    place: str
    code: str
    text: str


Refused = Callable[..., list[Told]]


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str]) -> Refused:
    """Run the command, which must refuse its input, and return what it says."""

    def run(*arguments: object) -> list[Told]:
        code = main([str(argument) for argument in arguments])
        said = capsys.readouterr()
        assert code == 2, said
        assert said.out == ""
        assert "Traceback" not in said.err
        lines = said.err.splitlines()
        assert lines
        matches = [LINE.fullmatch(line) for line in lines]
        assert all(matches), said.err
        return [Told(**match.groupdict()) for match in matches if match]

    return run


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "nell.yaml"
    path.write_text(CASE, encoding="utf-8")
    return path


@pytest.mark.parametrize("command", [["plan"], ["why", "--all"], ["referral"]])
def test_a_case_that_is_not_there(command: list[str], tmp_path: Path, refused: Refused) -> None:
    rest = ["body.bmi"] if command[0] == "why" else []
    [told] = refused(*command, tmp_path / "nobody.yaml", *rest)
    assert told[:2] == (f"{tmp_path / 'nobody.yaml'}", "missing-file")


def test_a_folder_in_place_of_a_case(tmp_path: Path, refused: Refused) -> None:
    [told] = refused("plan", tmp_path)
    assert told[:2] == (str(tmp_path), "not-a-file")


@pytest.mark.parametrize(
    ("content", "line", "code", "says"),
    [
        (b"\x7fELF\x02\x01\x01\x00\xff\xfe", ":1", "bad-encoding", "UTF-8"),
        (b"name: \x00\n", ":1", "bad-character", "U+0000"),
        (b"", ":1", "empty-file", "says nothing"),
        (b"- 1\n", ":1", "bad-type", "fields name, as_of, answers"),
        (b"name: [Nell\nas_of: 2026-01-12\n", ":2", "bad-yaml", "brackets"),
        (b"name: &n Nell\nas_of: 2026-01-12\nanswers: {}\n", ":1", "anchor", "in full"),
        (b"#" * 1_000_001, "", "too-big", "1000000 bytes"),
        (b"[" * 60 + b"]" * 60, ":1", "too-deep", "40"),
    ],
)
def test_a_file_that_is_no_case(
    content: bytes, line: str, code: str, says: str, tmp_path: Path, refused: Refused
) -> None:
    path = tmp_path / "nell.yaml"
    path.write_bytes(content)
    found = {told[:2]: told.text for told in refused("plan", path)}
    assert says in found[f"{path}{line}", code], found


@pytest.mark.parametrize(
    ("old", "new", "line", "code", "says"),
    [
        ("age_years: 31", "age_years: 310", 4, "out-of-range", "allowed: "),
        ("age_years: 31", "age_years: '31'", 4, "bad-type", "remove the quotes"),
        ("age_years: 31", "age_year: 31", 4, "unknown-fact", "did you mean `client.age_years`"),
        ("height_cm: 168", "height_cm: 5ft 6in", 5, "bad-type", "only the number in cm"),
        ("weight_kg: 64", "weight_kg: unknow", 6, "bad-type", "allowed: a number in kg"),
        ("answers:", "anwsers:", 3, "unknown-field", "did you mean `answers`"),
        ("as_of: 2026-01-12", "as_of: 12/01/2026", 2, "bad-value", "a date such as 2026-01-31"),
    ],
)
def test_a_bad_answer(
    old: str, new: str, line: int, code: str, says: str, case: Path, refused: Refused
) -> None:
    case.write_text(CASE.replace(old, new), encoding="utf-8")
    found = {told[:2]: told.text for told in refused("plan", case)}
    assert says in found[f"{case}:{line}", code]


def test_every_bad_answer_has_its_own_line_in_order(case: Path, refused: Refused) -> None:
    text = CASE.replace("168", "1.68").replace("31", "three").replace("64", "-64")
    case.write_text(text, encoding="utf-8")
    assert [told.place for told in refused("plan", case)] == [
        f"{case}:4", f"{case}:5", f"{case}:6"
    ]  # fmt: skip


@pytest.mark.parametrize("day", ["yesterday", "2026-02-30", "12.01.2026", "2026-1-2", "0"])
def test_a_day_that_is_none(day: str, case: Path, refused: Refused) -> None:
    [told] = refused("plan", case, "--as-of", day)
    assert told[:2] == ("--as-of", "bad-date")
    assert f"`{day}`" in told.text
    assert "write it like 2026-01-12" in told.text


def test_a_rule_book_that_is_not_there(case: Path, tmp_path: Path, refused: Refused) -> None:
    [told] = refused("plan", case, "--rules", tmp_path / "elsewhere")
    assert told.code == "missing-folder"
    assert "elsewhere" in told.place


def test_a_rule_book_that_is_a_file(case: Path, refused: Refused) -> None:
    [told] = refused("plan", case, "--rules", case)
    assert told.code == "missing-folder"


def test_a_folder_that_is_no_rule_book(case: Path, tmp_path: Path, refused: Refused) -> None:
    (tmp_path / "empty").mkdir()
    [told] = refused("plan", case, "--rules", tmp_path / "empty")
    assert told[:2] == ("empty/book.yaml", "missing-file")


def test_a_spoiled_copy_of_the_shipped_book(case: Path, tmp_path: Path, refused: Refused) -> None:
    book = tmp_path / "rules"
    shutil.copytree(rules_directory(), book)
    path = next((book / "dose").glob("*.yaml"))
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("\nbecause:", "\nbecouse:"), encoding="utf-8")
    told = refused("plan", case, "--rules", book)
    shown = f"rules/dose/{path.name}"
    line = text[: text.index("\nbecause:")].count("\n") + 2
    assert (f"{shown}:{line}", "unknown-field") in {each[:2] for each in told}
    assert (f"{shown}:1", "missing-field") in {each[:2] for each in told}


@pytest.mark.parametrize(
    ("text", "line", "code", "says"),
    [
        (None, "", "unreadable-file", "cannot be read"),
        ("parameters: {energy.suplus_low: 1}\n", ":1", "unknown-parameter", "did you mean"),
        ("parameters: [1]\n", ":1", "bad-type", "parameters"),
        ("parameters: {}\nrules: {}\n", ":2", "unknown-field", "only `parameters`"),
    ],
)
def test_own_settings_that_can_not_be(
    text: str | None, line: str, code: str, says: str, case: Path, tmp_path: Path, refused: Refused
) -> None:
    own = tmp_path / "house.yaml"
    if text is not None:
        own.write_text(text, encoding="utf-8")
    found = {told[:2]: told.text for told in refused("plan", case, "--house", own)}
    assert says in found[f"{own}{line}", code], found


def test_a_line_that_the_plan_does_not_have(case: Path, refused: Refused) -> None:
    told = refused("why", case, "energy.taget_kcal_per_day")
    assert len(told) == 1
    assert "energy.taget_kcal_per_day" in told[0].place + told[0].text


def test_an_intake_without_a_terminal_or_answers(refused: Refused) -> None:
    [told] = refused("intake")
    assert told[:2] == ("intake", "no-terminal")


def test_an_option_that_no_command_takes(refused: Refused) -> None:
    [told] = refused("plan", "a", "--fast")
    assert told[:2] == ("--fast", "unknown-option")
    assert "whyplan plan --help" in told.text


@pytest.mark.parametrize("arguments", [[], ["plant"], ["plan"], ["plan", "a", "--engine", "x"]])
def test_a_command_that_does_not_exist(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Usage is shown by the standard library's parser: two lines, and the same exit code."""
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    said = capsys.readouterr()
    assert caught.value.code == 2
    assert said.out == ""
    assert said.err.startswith("usage: whyplan")
    assert ": error: " in said.err.splitlines()[-1]
