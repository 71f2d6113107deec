"""A book in which a stop is weakened is refused, however its own tests were edited along.

The stops are the first 24 of the catalogue in tests/screen/vignettes.yaml and of later additions; what each
must take out is the catalogue's EVERYTHING.
"""

import functools
import shutil
from pathlib import Path

import pytest
from lengths import first_by_default

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.clients.book import knowledge
from assistant.knowledge.locate import rules_directory
from assistant.model.case import Case
from assistant.quality.checks import run_checks
from assistant.quality.suite import Options, subject_of


@functools.cache
def _clear() -> tuple[tuple[str, Case], ...]:
    path = Path(__file__).parents[2] / "cases/four_days.yaml"
    return ((str(path), read_case(path, knowledge(None, None))),)


def _found(folder: Path) -> set[str]:
    """Codes of what the load and the laws find in a book."""
    subject = subject_of(folder, None, CALCULATORS)
    checked = run_checks(subject, Options(cases=_clear()), ["laws"])
    return {finding.code for each in checked for finding in each.findings}


def _book(tmp_path: Path) -> Path:
    return Path(shutil.copytree(rules_directory(), tmp_path / "rules"))


def _edit(path: Path, *pairs: tuple[str, str]) -> None:
    text = path.read_text("utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    path.write_text(text, "utf-8")


def test_the_shipped_book_keeps_the_laws() -> None:
    assert _found(rules_directory()) == set()


WEAKER = [("severity: stop", "severity: inform"), ("withheld: [EVERYTHING]\n", "")]


@pytest.mark.parametrize(
    "flag", first_by_default(["bp_stop", "symptom_now", "under_16", "sudden_gain_signs"])
)
def test_a_stop_made_weaker_is_refused_at_load(flag: str, tmp_path: Path) -> None:
    folder = _book(tmp_path)
    _edit(folder / f"flags/{flag}.yaml", *WEAKER)
    assert "weakened-stop" in _found(folder)


def test_a_stop_that_no_longer_fires_is_found_though_its_tests_agree(tmp_path: Path) -> None:
    """The rule and its own examples are edited alike, so that they pass."""
    folder = _book(tmp_path)
    _edit(
        folder / "flags/new_weakness.yaml",
        ("  - {fact: screen.new_weakness, equals: true}",
         "  - {fact: screen.new_weakness, equals: true}\n  - {fact: screen.suspected_fracture, equals: true}"),
        ("given: {screen.new_weakness: true}", "given: {screen.new_weakness: true, screen.suspected_fracture: true}"),
    )  # fmt: skip
    assert "weakened-stop" in _found(folder)


@pytest.mark.parametrize(
    "flag", first_by_default(["thin_and_losing", "sudden_gain_signs", "thin_and_losing_fast"])
)
def test_a_record_that_no_longer_stops_is_found(flag: str, tmp_path: Path) -> None:
    """One more condition, which a clear person never meets: the flag stands and never fires."""
    folder = _book(tmp_path)
    path = folder / f"flags/{flag}.yaml"
    _edit(path, ("  when:\n", "  when:\n  - {fact: screen.suspected_fracture, equals: true}\n"))
    assert "weakened-stop" in _found(folder)


@pytest.mark.slow
def test_a_stop_that_is_gone_is_found(tmp_path: Path) -> None:
    folder = _book(tmp_path)
    (folder / "flags/hernia_stuck.yaml").unlink()
    assert "missing-stop" in _found(folder)


@pytest.mark.slow
def test_silence_that_costs_nothing_is_found(tmp_path: Path) -> None:
    folder = _book(tmp_path)
    _edit(folder / "flags/unanswered_stop_question.yaml", ("[ALL_EXERCISE]", "[max_tests]"))
    assert "silence-lets-through" in _found(folder)
