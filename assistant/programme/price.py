"""What a change by hand costs: the gaps of the week before it and after it, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.model.programme import Programme, Unmet

# No cost of its own: said elsewhere, or what follows from sets that are told anyway.
_NO_COST = ("edit", "refused")


@dataclass(frozen=True)
class Gap:
    """A gap of a week; `other` is the same gap in the week beside it, None where that has none."""

    gap: Unmet
    other: Unmet | None


def costs(before: Programme, after: Programme) -> tuple[Gap, ...]:
    """Gaps and overstepped limits that `after` has and `before` has not, or has to a lesser degree.

    With the two turned round, what the change brings.
    """
    had = {(gap.kind, gap.subject): gap for gap in before.unmet}
    found = [
        Gap(gap, had.get((gap.kind, gap.subject)))
        for gap in after.unmet
        if gap.kind not in _NO_COST
    ]
    return tuple(
        each for each in found if each.other is None or _width(each.gap) > _width(each.other)
    )


def _width(gap: Unmet) -> float:
    return abs(gap.wanted - gap.got)
