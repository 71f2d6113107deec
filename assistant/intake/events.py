"""What a draft remembers: confirmed answers and switches of units, in the order they happened."""

from dataclasses import dataclass
from typing import TypeAlias

from assistant.intake.quantities import UnitSystem
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value


@dataclass(frozen=True)
class Confirmed:
    """A fact got this value (a status where the question was left blank or declined)."""

    fact: str
    value: Value


@dataclass(frozen=True)
class UnitsSwitched:
    """Plain numbers are read in these units from here on."""

    units: UnitSystem


@dataclass(frozen=True)
class SupportShown:
    """A session-only question was asked and its support text shown; the answer is not kept."""

    fact: str


Event: TypeAlias = Confirmed | UnitsSwitched | SupportShown


def to_keep(event: Event) -> Event:
    """Return the event as a draft may remember it."""
    if isinstance(event, Confirmed) and event.fact in SESSION_ONLY_FACTS:
        return SupportShown(event.fact)
    return event
