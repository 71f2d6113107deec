"""The engines a benchmark can run here; a missing one says so instead of vanishing."""

import pytest

from assistant.engine import durable

ENGINES = [
    pytest.param(
        "durable",
        marks=pytest.mark.skipif(
            not durable.importable(), reason="durable_rules is not installed for this Python"
        ),
    ),
    "clips",
]
