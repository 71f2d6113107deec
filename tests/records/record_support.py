"""What the tests of the record share."""

from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOUR_DAYS = ROOT / "cases" / "four_days.yaml"

Command = Callable[..., int]
