"""`whyplan intake` without a terminal, and its refusals."""

import datetime as dt
import os
import re
from pathlib import Path

import pytest
from intake_forms import AS_OF, CRISIS, small_knowledge, write_small_book

from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.intake.drafts import is_old
from assistant.model.values import Status


@pytest.fixture
def book(tmp_path: Path) -> str:
    return str(write_small_book(tmp_path / "rules"))


def run(book: str, *more: str) -> int:
    return main(["intake", "--rules", book, "--as-of", AS_OF.isoformat(), *more])


def test_without_a_terminal_and_answers_there_is_one_clear_line(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(book, "--out", str(tmp_path / "case.yaml")) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "--answers" in told


def test_answers_from_a_file_become_a_case(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers, out = tmp_path / "answers.yaml", tmp_path / "case.yaml"
    answers.write_text(
        f"client.sex_for_equations: male\nclient.age_years: 31\n{CRISIS}: false\n", encoding="utf-8"
    )
    assert run(book, "--answers", str(answers), "--out", str(out), "--name", "Invented") == 0
    told = capsys.readouterr().out
    assert f"whyplan plan {out}" in told.replace("\n", " ")
    assert "client.height_cm" in told
    case = read_case(out, small_knowledge())
    assert case.name == "Invented"
    assert case.as_of == AS_OF
    assert case.answers["screen.pregnant"] is Status.NOT_APPLICABLE
    assert CRISIS not in case.answers


def test_a_person_alone_ends_with_their_plan_and_reads_of_no_client(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = Path(__file__).parents[2] / "cases" / "first_months.yaml"
    for name, of_whom in (("Invented", "Invented"), (None, "Mara Oakden")):
        out = tmp_path / f"{name}.yaml"
        named = [] if name is None else ["--name", name]
        alone = ["intake", "--self", "--answers", str(case), "--out", str(out), *named]
        assert main(alone) == 0
        told = capsys.readouterr().out.replace(str(tmp_path), "")
        assert f"Plan for {of_whom}" in told
        for part in ("Your goal: build muscle", "Next: Wednesday", "Eat about", "--for me"):
            assert part in told
        assert not re.search(r"\b(clients?|coach(es)?|trainers?)\b", told, re.IGNORECASE)
    assert main(["plan", str(out), "--for", "me"]) == 0
    assert "Your goal: build muscle" in capsys.readouterr().out


def test_after_a_yes_in_the_file_no_case_is_written(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers, out = tmp_path / "answers.yaml", tmp_path / "case.yaml"
    answers.write_text(f"{CRISIS}: true\n", encoding="utf-8")
    assert run(book, "--answers", str(answers), "--out", str(out)) == 1
    assert "Help is there day and night." in capsys.readouterr().out
    assert not out.exists()


def test_bad_options_are_one_clear_line(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answers, old = tmp_path / "answers.yaml", tmp_path / "old.yaml"
    answers.write_text("client.age_years: 31\n", encoding="utf-8")
    old.write_text("mine\n", encoding="utf-8")
    missing = str(tmp_path / "missing.yaml")
    given = ("--answers", str(answers))
    for options, told in (
        ((*given, "--out", str(old)), "exists already"),
        ((*given, "--out", str(tmp_path / "no" / "case.yaml")), "folder"),
        ((*given, "--name", "two\nlines"), "one line"),
        (("--answers", missing), "no such file"),
    ):
        assert run(book, *options) == 2
        error = capsys.readouterr().err
        assert told in error
        assert error.count("\n") == 1
    assert old.read_text(encoding="utf-8") == "mine\n"


def test_an_old_draft_is_told_to_be_old(tmp_path: Path) -> None:
    path = tmp_path / "draft.jsonl"
    path.write_text("", encoding="utf-8")
    noon = dt.datetime(2026, 1, 1, 12, tzinfo=dt.UTC).timestamp()
    os.utime(path, (noon, noon))
    assert not is_old(path, dt.date(2026, 1, 31))
    assert is_old(path, dt.date(2026, 2, 1))
    assert not is_old(tmp_path / "missing.jsonl", dt.date(2026, 2, 1))
