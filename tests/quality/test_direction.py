"""A number raised never gives less: the check against what a count by hand says of two shipped cases.

Outside source: none; that a share of a larger total rises with it, and that what is taken away does not, is arithmetic.
"""

import dataclasses
from collections.abc import Mapping
from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.knowledge import load_knowledge
from assistant.model.errors import InputProblems
from assistant.quality.direction import check_direction
from assistant.quality.finding import Finding
from assistant.quality.suite import Options, Subject, subject_of

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def subject() -> Subject:
    return subject_of(None, None, CALCULATORS)


def found(subject: Subject, raises: Mapping[str, tuple[str, ...]]) -> tuple[Finding, ...]:
    """What is found where these numbers alone say what they raise."""
    book = subject.book
    marked = {
        name: each.model_copy(update={"raises": raises.get(name, ())})
        for name, each in book.parameters.items()
    }
    cases = [
        (name, read_case(ROOT / f"cases/{name}.yaml", book)) for name in ("four_days", "slow_cut")
    ]
    changed = dataclasses.replace(subject, kb=dataclasses.replace(book, parameters=marked))
    return check_direction(changed, Options(cases=cases)).findings


def test_what_rises_with_its_number_is_no_finding(subject: Subject) -> None:
    assert not found(
        subject,
        {
            "frequency.priority_extra": ("dose.sessions_per_week",),
            "energy.surplus_percent": ("energy.target_kcal_per_day",),
        },
    )


def test_what_falls_is_told_with_its_place_and_the_case(subject: Subject) -> None:
    """A larger surplus share gives more food; a share to be taken away gives less."""
    told = found(subject, {"energy.deficit_percent": ("energy.target_kcal_per_day",)})
    assert [(each.code, each.check) for each in told] == [("falls", "direction")]
    assert "lowers energy.target_kcal_per_day of Della Marsh" in told[0].what
    assert told[0].file == "rules/parameters/energy.yaml"


def test_the_numbers_of_a_range_stay_in_order(tmp_path: Path) -> None:
    house = tmp_path / "house.yaml"
    house.write_text("parameters:\n  protein.older_low: 1.4\n  protein.older_aim: 1.3\n")
    with pytest.raises(
        InputProblems, match=r"3: out-of-order: `protein.older_aim` is 1.3, less than"
    ) as caught:
        load_knowledge(None, house, calculators=CALCULATORS, use_cache=False)
    assert [each.place.rpartition(":")[2] for each in caught.value.problems] == ["2", "3"]
    house.write_text("parameters:\n  protein.older_low: 1.3\n  protein.older_aim: 1.3\n")
    assert (
        load_knowledge(None, house, calculators=CALCULATORS, use_cache=False).overlay[
            "protein.older_low"
        ]
        == 1.3
    )
