"""What a worker does with one line: read the case, run the rules, word the plan."""

import datetime as dt
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.casefiles.cases import read_case_line
from assistant.model.case import Case
from assistant.model.derivation import Run, word_in
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.plan import EngineChoice, Planner, prepare

# Compiled rules of a day hold native memory; the days of most batches are few.
_MOST_DAYS = 4
Render = Callable[[Any, Case, Planner, Run], str]


@dataclass(frozen=True)
class Setup:
    """What a worker is started with; all of it can be pickled.

    cases: how the file is named to people. load: gives the knowledge base. render: words a plan,
    called with `options`. on: the day to plan for; None is the case's own.
    """

    cases: str
    load: Callable[[Any], KnowledgeBase]
    render: Render
    options: Any
    on: dt.date | None = None
    engine: EngineChoice | None = None


@dataclass(frozen=True)
class Made:
    """A plan: its text, the screen's level, and the seconds of processor time of each stage."""

    text: str
    level: str
    seconds: Mapping[str, float]


class Maker:
    """Makes plans in one process; keeps the rules of the last few days compiled."""

    def __init__(self, setup: Setup) -> None:
        """Load the knowledge base. Raises InputProblems."""
        self._setup = setup
        self._kb = setup.load(setup.options)
        self._planners: OrderedDict[dt.date, Planner] = OrderedDict()

    def make(self, raw: bytes, number: int) -> Made:
        """Return the plan for one line. Raises InputProblems, and EngineFault where there is none."""
        start = time.process_time()
        case = read_case_line(raw, self._setup.cases, number, self._kb)
        if any(case.answers.get(fact) is True for fact in SESSION_ONLY_FACTS):
            text = (
                "an answer in this case is kept for the session only, so no file may come of it; see "
                "the person first: `whyplan plan` says what to do"
            )
            raise InputProblems([Problem(f"{self._setup.cases}:{number}", "session-only", text)])
        planner = self._planner(self._setup.on or case.as_of)
        read = time.process_time()
        run = planner.run(case)
        decided = time.process_time()
        text = self._setup.render(self._setup.options, case, planner, run)
        end = time.process_time()
        return Made(
            text,
            word_in(run.facts, "screen.level", "none"),
            {"read": read - start, "rules": decided - read, "page": end - decided},
        )

    def _planner(self, on: dt.date) -> Planner:
        planner = self._planners.pop(on, None)
        if planner is None:
            if len(self._planners) >= _MOST_DAYS:
                self._planners.popitem(last=False)[1].compiled.close()
            planner = prepare(self._kb, on, self._setup.engine)
        self._planners[on] = planner
        return planner
