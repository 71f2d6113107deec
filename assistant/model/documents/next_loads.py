"""`next_loads` of plan.yaml: what comes next on a line of the week, in one sentence each."""

from typing import Annotated

from assistant.model.base import Document
from assistant.model.marks import Plain, Slots, Text

_NEXT = ("load", "before", "step", "low", "high", "reserve", "count", "percent", "exercise")
_NextLoad = Annotated[Text, Slots(_NEXT)]


class NextLoadWords(Document):
    """What comes next on a line, by the way it was found (`assistant/programme/next_load.py`).

    every_set: the one rule a client needs, where the load of some line is in kilograms.
    """

    up: _NextLoad
    up_if: _NextLoad
    wider: _NextLoad
    down: _NextLoad
    keep: _NextLoad
    hold: _NextLoad
    hold_sore: _NextLoad
    other_range: _NextLoad
    lighter: _NextLoad
    after_lighter: _NextLoad
    back: _NextLoad
    repetitions: _NextLoad
    more_repetitions: _NextLoad
    harder: _NextLoad
    every_set: Plain

    def __getitem__(self, way: str) -> str:
        """Return the sentence of a way."""
        return str(getattr(self, way))
