"""What outside texts print is what this package says; and a wrong row is refused."""

from dataclasses import replace

import pytest

from assistant.calculate import energy
from assistant.model.knowledge import KnowledgeBase

from .printed.equations import ROWS, TEXTS
from .printed.lines import lines, steps, texts_of
from .printed.table import Printed, refused, repeated

LEAST_VALUES = 120
LEAST_TEXTS = 25


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.text}: {row.what}")
def test_an_equation_gives_back_what_is_printed(row: Printed) -> None:
    assert refused(row, TEXTS) is None


def test_the_lines_of_the_book_are_those_that_are_printed(kb: KnowledgeBase) -> None:
    texts = texts_of(kb)
    assert [refused(row, texts) for row in lines(kb) if refused(row, texts)] == []


def test_loads_go_in_the_steps_that_are_sold(kb: KnowledgeBase) -> None:
    assert [refused(row, TEXTS) for row in steps(kb)] == [None, None, None]


def test_each_number_names_the_text_that_prints_it(kb: KnowledgeBase) -> None:
    for row in lines(kb):
        assert row.text in {use.ref for use in kb.parameters[row.what].source}, row.what


def test_a_text_is_marked_here_as_in_the_book(kb: KnowledgeBase) -> None:
    for name in TEXTS.keys() & kb.sources.keys():
        assert TEXTS[name].mark == kb.sources[name].mark.value, name


def test_many_values_of_many_texts_none_twice(kb: KnowledgeBase) -> None:
    rows = [*ROWS, *lines(kb), *steps(kb)]
    assert list(repeated(rows)) == []
    assert len(rows) >= LEAST_VALUES
    assert len({row.text for row in rows}) >= LEAST_TEXTS


def _row(what: str) -> Printed:
    (found,) = (row for row in ROWS if row.what == what)
    return found


# Three values as a slip of the pen would leave them, and two rows that could tell nothing.
@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (replace(_row("kcal per kg of fat-free mass"), printed=21.9), "prints 21.9, we say 21.6"),
        (replace(_row("energy of a female adult, active, per cm"), printed=6.45), "we say 6.54"),
        (replace(_row("58 kg at 1.70 m"), printed=21.0), "prints 21, we say 20.06"),
        (replace(_row("kcal per year"), within=5), "would tell nothing"),
        (replace(_row("kcal per cm"), text="somebody"), "is no text of the table"),
    ],
)
def test_a_wrong_row_is_refused(wrong: Printed, says: str) -> None:
    assert says in (refused(wrong, TEXTS) or "")


def test_a_wrong_line_of_the_book_is_refused(kb: KnowledgeBase) -> None:
    for row in lines(kb):
        wrong = replace(
            row, printed=1.1 * row.printed, within=min(row.within, 0.01 * abs(row.printed))
        )
        assert refused(wrong, texts_of(kb)) is not None, row.what


def test_a_slip_in_an_equation_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taking one level for the next, every value of that level but its neighbours' is refused."""
    right = energy.eer_2023

    def slipped(sex: str, years: float, cm: float, kg: float, level: str) -> float:
        return right(sex, years, cm, kg, "low_active" if level == "active" else level)

    monkeypatch.setattr(energy, "eer_2023", slipped)
    refusals = {row.what for row in ROWS if refused(row, TEXTS)}
    coefficients = {what for what in refusals if what.startswith("energy of a")}
    assert len(coefficients) == 6  # constant, centimetre, kilogram of both sexes; years agree
    assert all(", active" in what for what in refusals)


def test_a_repeated_row_is_told() -> None:
    assert list(repeated([ROWS[0], ROWS[1], ROWS[0]])) == [f"{ROWS[0].text}: {ROWS[0].what}"]
