"""Two runs beside each other: what the screen withholds in either is shown of neither.

Without this, a change of one safety answer would print the figures that the real answers withhold.
"""

from dataclasses import dataclass

from assistant.model.derivation import Run
from assistant.model.values import FactKey
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_hidden, withheld_outputs


@dataclass(frozen=True)
class GuardedNarrator(Narrator):
    """A narrator that also keeps back what other runs of the same person withhold."""

    also_withheld: frozenset[str] = frozenset()

    def hides(self, key: FactKey) -> bool:
        """Tell whether this reader may not see a fact."""
        withheld = withheld_outputs(self.run) | self.also_withheld
        return is_hidden(self.kb, key, withheld, self.audience)


def guarded(narrator: Narrator, other: Run) -> GuardedNarrator:
    """Return the narrator with another run's withheld outputs kept back as well."""
    return GuardedNarrator(
        narrator.kb,
        narrator.run,
        narrator.on,
        narrator.audience,
        narrator.phrases,
        withheld_outputs(other),
    )
