"""What a worker does with one line: read the case, run the rules, word the plan."""

import datetime as dt
import time
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.batch.lines import CaseLine
from assistant.batch.part import Row
from assistant.casefiles.cases import read_case_line
from assistant.model.case import Case
from assistant.model.chain import digest
from assistant.model.derivation import FactValue, Run, word_in
from assistant.model.errors import EngineFault, InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Plan
from assistant.model.values import Status, split_key
from assistant.plan import EngineChoice, Planner, prepare

# Compiled rules of a day hold native memory; the days of most batches are few.
_MOST_DAYS = 4
_SECOND_ENGINE: EngineChoice = "clips"


@dataclass(frozen=True)
class Rendered:
    """A plan for its reader. sha256: of all it says. file: its text in the form of `--each`."""

    plan: Plan
    sha256: str
    json: str
    file: str | None = None


@dataclass(frozen=True)
class Setup:
    """What a worker is started with; all of it can be pickled.

    cases: how the file is named to people. header: what the plans depend on beside the cases. load: gives the
    knowledge base. render: words a plan, called with `options`. out: the folder of the parts. suffix: how the files
    of `--each` end; None without them. on: the day to plan for; None is the case's own. seconds: a process
    that takes longer over a case is ended; 0 is no limit.
    """

    cases: str
    header: Mapping[str, Any]
    load: Callable[[Any], KnowledgeBase]
    render: Callable[[Any, Case, Planner, Run], Rendered]
    options: Any
    out: Path
    suffix: str | None = None
    on: dt.date | None = None
    engine: EngineChoice | None = None
    seconds: float = 0.0


@dataclass(frozen=True)
class Made:
    """A plan: its row, its file in the form of `--each`, the processor time of each stage."""

    row: Row
    file: str | None
    seconds: Mapping[str, float]


class Maker:
    """Makes plans in one process; keeps the rules of the last few days compiled."""

    def __init__(self, setup: Setup) -> None:
        """Load the knowledge base. Raises InputProblems, and EngineFault if it is not that of the batch."""
        self._setup = setup
        self.kb = setup.load(setup.options)
        if self.kb.content_hash != setup.header["rule book"]:
            raise EngineFault("a worker has another rule book than the command; give both the same")
        self._planners: OrderedDict[tuple[dt.date, EngineChoice | None], Planner] = OrderedDict()

    def make(self, line: CaseLine, *, on_second: bool = False) -> Made:
        """Return the plan for one line. Raises InputProblems, and EngineFault where there is none.

        on_second: on CLIPS, since the other engine is native code that a strange case might break.
        """
        setup, start = self._setup, time.process_time()
        case = read_line(line, setup.cases, self.kb)
        planner = self._planner(
            setup.on or case.as_of, _SECOND_ENGINE if on_second else setup.engine
        )
        read = time.process_time()
        run = planner.run(case)
        decided = time.process_time()
        shown = setup.render(setup.options, case, planner, run)
        row = _row(
            line, shown, None if setup.suffix is None else f"{line.number:06d}.{setup.suffix}"
        )
        end = time.process_time()
        seconds = {"read": read - start, "rules": decided - read, "page": end - decided}
        return Made(row, shown.file, seconds)

    def _planner(self, *key: Any) -> Planner:
        planner = self._planners.pop(key, None)
        if planner is None:
            if len(self._planners) >= _MOST_DAYS:
                self._planners.popitem(last=False)[1].compiled.close()
            planner = prepare(self.kb, *key)
        self._planners[key] = planner
        return planner


def read_line(line: CaseLine, cases: str, kb: KnowledgeBase) -> Case:
    """Return the case that stands on a line. Raises InputProblems."""
    case = read_case_line(line.raw, cases, line.number, kb)
    if case.is_aside:
        text = (
            "an answer in this case is kept for the session only, so no file may come of it; see "
            "the person first: `whyplan plan` says what to do"
        )
        raise InputProblems([Problem(f"{cases}:{line.number}", "session-only", text)])
    return case


def _row(line: CaseLine, shown: Rendered, file: str | None) -> dict[str, Any]:
    plan = shown.plan
    row: dict[str, Any] = {
        "line": line.number,
        "case": line.raw.decode(),
        "case_sha256": digest(line.raw),
        "plan_sha256": shown.sha256,
        "engine": plan.engine,
        "level": word_in(plan.run.facts, "screen.level", "none"),
        "flags": _ranked(plan, "screen.flags", "id", "severity"),
        "referrals": _ranked(plan, "screen.referrals", "to", "urgency"),
        "file": file,
        "file_sha256": None if shown.file is None else digest(shown.file),
        "plan": shown.json,
    }
    for key, fact in plan.facts.items():
        name, index = split_key(key)
        if index is None:
            row[name] = _value(fact)
        else:
            row.setdefault(name, {})[index] = _value(fact)
    return row


def _ranked(plan: Plan, view: str, name: str, how: str) -> list[dict[str, str]]:
    return [{"id": each[name], "how": each[how]} for each in plan.views.get(view, ())]


def _value(fact: FactValue) -> Any:
    return None if isinstance(fact.value, Status) else fact.value
