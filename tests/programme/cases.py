"""The shipped cases as what their week's planner is asked."""

from __future__ import annotations

from pathlib import Path

from shipped import planner_on

from assistant.casefiles import read_case
from assistant.plan.week import week_request
from assistant.programme.catalogue import Catalogue
from assistant.programme.request import ProgrammeRequest
from programme.documents import book

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.yaml"))


def asked_of(path: Path) -> tuple[ProgrammeRequest | None, Catalogue]:
    """The request of a case, None where nothing may be trained, and the catalogue of its day."""
    case = read_case(path, book())
    planner = planner_on(case.as_of)
    return week_request(planner.run(case), planner.catalogue, wishes=case.week), planner.catalogue
