"""How much a check tries: a little by default, a part in CI so that all of it ends in time, by hand the whole.

`WHYPLAN_CHECKS=whole python -m pytest -m slow tests/screen` tries what each check promises.
"""

import os
from collections.abc import Iterable
from typing import Any

import pytest

_WHOLE = os.environ.get("WHYPLAN_CHECKS") == "whole"


def at_length(whole: int, in_ci: int) -> int:
    """Return how many people, weeks, records or damages to try."""
    return whole if _WHOLE else in_ci


def first_by_default(values: Iterable[Any], count: int = 1) -> list[Any]:
    """Return the values (or tuples of them) of a parametrized test: only the first few are tried outside the long checks."""
    listed = list(values)
    return [
        *listed[:count],
        *(
            pytest.param(*(value if isinstance(value, tuple) else (value,)), marks=pytest.mark.slow)
            for value in listed[count:]
        ),
    ]
