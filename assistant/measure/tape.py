"""Girths against what a tape can show."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from assistant.calculate.estimate import Estimate
from assistant.measure.settings import Settings
from assistant.measure.trend import ninety
from assistant.model.history import Girth


@dataclass(frozen=True)
class GirthChange:
    """Change of one girth from its first to its last day of measuring, in cm, 90 % interval.

    smallest_cm: change the tape can tell from chance, 95 times in a hundred.
    """

    site: str
    first: dt.date
    last: dt.date
    change_cm: Estimate
    smallest_cm: float

    @property
    def can_be_told(self) -> bool:
        """True where the change is larger than the tape's own error."""
        return abs(self.change_cm.value) >= self.smallest_cm


def girth_changes(
    girths: Sequence[Girth], since: dt.date, last: dt.date, settings: Settings
) -> tuple[GirthChange, ...]:
    """Return the change of every site measured on two days or more, in order of site.

    Readings of one day are averaged, and the error shrinks with them.
    """
    by_site: dict[str, dict[dt.date, list[float]]] = {}
    for row in girths:
        if since <= row.day <= last:
            by_site.setdefault(row.site, {}).setdefault(row.day, []).append(row.girth_cm)
    changes = []
    for site, days in sorted(by_site.items()):
        first, final = min(days), max(days)
        if first == final:
            continue
        before, after = fmean(days[first]), fmean(days[final])
        one = settings.tape_error_percent / 100.0 * before
        error = one * math.sqrt(1.0 / len(days[first]) + 1.0 / len(days[final]))
        # 1.96 standard errors: the smallest change 95 of 100 unchanged people stay under.
        changes.append(GirthChange(site, first, final, ninety(after - before, error), 1.96 * error))
    return tuple(changes)
