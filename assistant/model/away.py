"""Days on which a client does not train as usual: travel, holidays, illness. Shapes only."""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias, get_args

AwayKind: TypeAlias = Literal["travel", "holiday", "ill"]
AWAY_KINDS: tuple[str, ...] = get_args(AwayKind)


@dataclass(frozen=True)
class Away:
    """A time away, both days included.

    travel: training goes on with what is there (`equipment`; nothing said: body weight alone).
    holiday, ill: no training.
    """

    kind: AwayKind
    since: dt.date
    until: dt.date
    equipment: tuple[str, ...] = ()

    def covers(self, day: dt.date) -> bool:
        """Tell whether a day lies in it."""
        return self.since <= day <= self.until

    @property
    def days(self) -> int:
        """How many days it takes."""
        return (self.until - self.since).days + 1

    def as_written(self) -> dict[str, Any]:
        """Return it as plain data, as it stands in a case file."""
        more = {"equipment": list(self.equipment)} if self.equipment else {}
        days = {"since": self.since.isoformat(), "until": self.until.isoformat()}
        return {"kind": self.kind, **days, **more}
