"""Random cases on durable_rules alone; `run.sh` starts this with a checked build of the library."""

import importlib
import random
import sys
from pathlib import Path

from engine_books import ON
from engine_fuzz import CALCULATORS, Draw
from engine_load import load_answers, load_book

from assistant.engine import compile_knowledge, run_engine
from assistant.model.errors import EngineFault

PEOPLE_PER_BOOK = 4


def main(cases: int, build: Path) -> None:
    """Run cases; every run checks its own fired rules, and the library checks its memory."""
    native = importlib.import_module("durable_rules_engine")
    if Path(str(native.__file__)).parent != build:
        sys.exit(f"the checked build was not used: {native.__file__}")
    done = contradictory = 0
    for seed in range(-(-cases // PEOPLE_PER_BOOK)):
        draw = Draw(random.Random(seed))
        compiled = compile_knowledge(draw.knowledge(), ON)
        for _ in range(PEOPLE_PER_BOOK):
            try:
                run_engine(compiled, draw.person(), ON, "durable", CALCULATORS)
            except EngineFault as fault:
                if "has one value, but" not in str(fault):
                    raise
                contradictory += 1  # two rules said different things: drawn on purpose
            done += 1
        compiled.close()
    large = load_book()
    for seed in range(20):
        run_engine(large, load_answers(seed), ON, "durable")
    large.close()
    print(f"{done} random and 20 large cases clean ({contradictory} of them contradictory)")


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]))
