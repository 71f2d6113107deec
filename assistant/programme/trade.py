"""Records of the trade: an exercise, a muscle, a movement pattern, a source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

# One hard set adds this much to a muscle it trains fully, or helps strongly.
FULL_CREDIT = 1.0
HALF_CREDIT = 0.5
HIGHEST_SKILL = 3


@dataclass(frozen=True)
class Source:
    """Where a fact about an exercise comes from, and how it was read."""

    citation: str
    finding: str
    kind: str
    mark: str


@dataclass(frozen=True)
class Muscle:
    """A muscle group that is counted. `volume_target` false: logged, never given sets of its own."""

    id: str
    name: str
    plain_name: str
    region: str
    volume_target: bool
    action: str
    anatomy: tuple[str, ...]


@dataclass(frozen=True)
class Pattern:
    """A movement pattern; `kind` is compound, single_joint or trunk."""

    id: str
    name: str
    region: str
    kind: str
    meaning: str


@dataclass(frozen=True)
class Exercise:
    """One exercise. Credits are fractional sets a muscle earns from one hard set."""

    id: str
    name: str
    pattern: str
    measure: str
    equipment: tuple[str, ...]
    primary: Mapping[str, float]
    secondary: Mapping[str, float]
    unilateral: bool
    axial_load: str
    skill: int
    loadability: int
    joint_stress: tuple[str, ...]
    home_friendly: bool
    rep_zones: tuple[str, ...]
    rest_s: int
    setup_s: int
    position: str
    peak_tension: str
    flags: tuple[str, ...]
    regressions: tuple[str, ...]
    progressions: tuple[str, ...]
    evidence: tuple[str, ...]
    grade: str
    equipment_any: tuple[tuple[str, ...], ...] = field(default=())

    @property
    def credits(self) -> Mapping[str, float]:
        """All credits, primary and secondary together."""
        return {**self.primary, **self.secondary}

    def possible_with(self, kit: frozenset[str]) -> bool:
        """True if every needed piece is in `kit` (the floor counts as always there)."""
        return all(piece in kit or piece == "bodyweight" for piece in self.equipment) and all(
            any(piece in kit for piece in choice) for choice in self.equipment_any
        )


@dataclass(frozen=True)
class Words:
    """The allowed words of the exercise table."""

    measures: tuple[str, ...]
    axial_loads: tuple[str, ...]
    joints: tuple[str, ...]
    positions: tuple[str, ...]
    peak_tensions: tuple[str, ...]
    flags: Mapping[str, str]
    equipment: tuple[str, ...]
