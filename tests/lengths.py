"""How much a long check tries: in CI a part of it, so that all of them end in time; by hand the whole.

`WHYPLAN_CHECKS=whole python -m pytest -m slow tests/screen` tries what each check promises.
"""

import os

_WHOLE = os.environ.get("WHYPLAN_CHECKS") == "whole"


def at_length(whole: int, in_ci: int) -> int:
    """Return how many people, weeks, records or damages to try."""
    return whole if _WHOLE else in_ci
