"""Older people get a line of balance work, and nobody is promised any without one.

Outside source: WHO 2020 (Bull et al., Br J Sports Med 54:1451; read second hand): from 65 on, varied work on balance and
strength on three or more days a week. The minutes, the stands and who waits are ours.
"""

from __future__ import annotations

import pytest
from shipped import planner_on

from assistant.casefiles import read_case
from programme.cases import CASES
from programme.documents import book
from programme.flagged_people import FINDINGS, Answers, Flagged, client

OLD: Answers = {"client.age_years": 70.0}
# Read here from the pages of the flags: after falls a physiotherapist shows it, and who faints on standing does not stand.
SHOWN_BY_OTHERS = ("fall_risk", "standing_intolerance")


def _promises(someone: Flagged, audience: str) -> list[str]:
    return [text for text in someone.text(audience) if text.startswith(("Balance:", "Balance,"))]


@pytest.mark.parametrize("audience", ["coach", "client"])
def test_from_65_on_a_line_names_days_minutes_and_what_to_do(audience: str) -> None:
    (line,) = _promises(client(OLD), audience)
    assert "5 minutes on 3 days a week" in line
    assert "heel to toe" in line
    assert "wall within reach" in line
    assert _promises(client({"client.age_years": 64.0}), audience) == []


@pytest.mark.parametrize("flag", SHOWN_BY_OTHERS)
def test_it_waits_where_standing_on_one_leg_is_held_back(flag: str) -> None:
    for audience in ("coach", "client"):
        assert _promises(client(FINDINGS[flag], OLD), audience) == [], audience


@pytest.mark.parametrize("flag", sorted(FINDINGS))
def test_nobody_is_told_of_balance_work_that_is_not_there(flag: str) -> None:
    someone = client(FINDINGS[flag], OLD)
    told = [text for text in someone.text("client") if "balance" in text.lower()]
    if not _promises(someone, "client"):
        assert [text for text in told if "physiotherapist" not in text] == []


def test_the_older_lifter_of_the_cases_has_it() -> None:
    path = next(path for path in CASES if path.stem == "older_lifter")
    case = read_case(path, book())
    run = planner_on(case.as_of).run(case)
    assert run.facts["balance.days_per_week"].value == 3
    assert run.facts["balance.minutes"].value == 5
