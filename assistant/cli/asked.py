"""One case made ready for questions: its run, its narrator, its plan, and the lines of that plan."""

import argparse
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.cli.common import case_and_planner
from assistant.model.case import Case
from assistant.model.plan import Plan
from assistant.model.values import FactKey
from assistant.plan import Planner
from assistant.plan.sentences import Narrator


@dataclass(frozen=True)
class Opened:
    """A case, the rules of its day, and its plan for the reader asked for."""

    case: Case
    planner: Planner
    narrator: Narrator
    plan: Plan

    @property
    def lines(self) -> Mapping[str, tuple[FactKey, ...]]:
        """The facts behind each line of the plan, by line id."""
        return {line.id: line.facts for section in self.plan.sections for line in section.lines}


def opened(args: argparse.Namespace) -> Opened:
    """Run the case of a command with `--for` and the common options. Raises InputProblems."""
    case, planner = case_and_planner(args, args.case)
    narrator = planner.narrator(planner.run(case), args.audience, imperial=args.imperial)
    return Opened(case, planner, narrator, planner.plan(case, narrator))
