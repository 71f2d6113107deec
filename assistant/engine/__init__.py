"""Knowledge and answers in, final facts and a reason for every rule out.

Knows no file, terminal, clock or log. The same case gives the same `Run` on either engine.
"""

from assistant.engine.compile import compile_knowledge, on_another_day, with_numbers
from assistant.engine.compiled import CompiledBook
from assistant.engine.run import EngineChoice, run_engine
from assistant.engine.single import judge

__all__ = [
    "CompiledBook",
    "EngineChoice",
    "compile_knowledge",
    "judge",
    "on_another_day",
    "run_engine",
    "with_numbers",
]
