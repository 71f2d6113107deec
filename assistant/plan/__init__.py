"""From a case to a plan: every value explained, everything withheld left out.

What makes plans is imported when it is asked for: words and languages of the room need none of it.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from assistant.engine import EngineChoice
    from assistant.plan.build import Planner, prepare

__all__ = ["EngineChoice", "Planner", "prepare"]


def __getattr__(name: str) -> Any:
    """Return what the room offers, from the module that makes it."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module = "assistant.engine" if name == "EngineChoice" else "assistant.plan.build"
    return getattr(import_module(module), name)
