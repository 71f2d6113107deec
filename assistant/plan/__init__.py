"""From a case to a plan: every value explained, everything withheld left out."""

from assistant.engine import EngineChoice
from assistant.plan.build import Planner, prepare

__all__ = ["EngineChoice", "Planner", "prepare"]
