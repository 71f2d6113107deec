"""Renderers that misbehave in a worker process, for the tests of the pool. Workers import this by name."""

import argparse
import os
import signal
import sys
import time
from pathlib import Path

from assistant.batch.maker import Rendered
from assistant.calculate.registry import CALCULATORS
from assistant.knowledge import load_knowledge
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner

SMALL_BOOK = Path(__file__).parents[1] / "audit" / "small_book"


def load(_: argparse.Namespace) -> KnowledgeBase:
    return load_knowledge(SMALL_BOOK, calculators=CALCULATORS)


def load_and_die(_: argparse.Namespace) -> KnowledgeBase:
    sys.exit(3)


def render(options: argparse.Namespace, case: Case, planner: Planner, run: Run) -> Rendered:
    """The name of the case says what goes wrong: as native code would, or as a slip of ours would."""
    if case.name == "crash" or (case.name == "crash on one engine" and planner.engine != "clips"):
        os.kill(os.getpid(), signal.SIGSEGV)
    if case.name == "hang":
        time.sleep(600)
    if case.name == "killed once" and not (fate := Path(options.fate)).exists():
        fate.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    if case.name == "slip":
        raise ZeroDivisionError("division by zero\nin two lines")
    told = f"{case.name}: {len(run.facts)} facts, {planner.engine or 'default'}\n"
    plan = planner.plan(case, planner.narrator(run, "coach"))
    return Rendered(plan, "", told, told)
