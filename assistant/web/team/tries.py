"""Slower and slower after wrong tries: for a name, known or not, and for an address."""

import threading
from collections.abc import Callable
from dataclasses import dataclass

# So many tries are free; each further one doubles the wait, up to a minute. That is at most some 70 an hour
# for one name (OWASP Application Security Verification Standard 4, 2.2.1: at most 100; from memory).
FREE, LONGEST_WAIT = 5, 60.0
FORGOTTEN_AFTER = 3600.0
MOST_KEPT = 10_000


@dataclass(frozen=True)
class _Tried:
    count: int
    last: float

    @property
    def wait(self) -> float:
        return 0.0 if self.count < FREE else min(2.0 ** (self.count - FREE), LONGEST_WAIT)


class Tries:
    """Counts tries by what they are about, such as a name or an address."""

    def __init__(self, seconds: Callable[[], float]) -> None:
        """Start without any."""
        self._seconds = seconds
        self._tried: dict[str, _Tried] = {}
        self._guard = threading.Lock()

    def begin(self, *about: str) -> float:
        """Count a try before it is looked at, and return 0; or return how long to wait, in seconds.

        Tries sent at once are counted one by one, so none of them is looked at for free. One that has to wait is
        not counted, and takes nobody's place.
        """
        with self._guard:
            now = self._seconds()
            tried = [self._of(each, now) for each in about]
            wait = max(each.last + each.wait - now for each in tried)
            if wait > 0:
                return wait
            for name, each in zip(about, tried, strict=True):
                self._tried.pop(name, None)
                if len(self._tried) >= MOST_KEPT:
                    del self._tried[next(iter(self._tried))]  # whoever was silent longest
                self._tried[name] = _Tried(each.count + 1, now)
            return 0.0

    def right(self, about: str) -> None:
        """Forget the tries about something: the last one was right."""
        with self._guard:
            self._tried.pop(about, None)

    def _of(self, about: str, now: float) -> _Tried:
        found = self._tried.get(about)
        if found is None or now - found.last > FORGOTTEN_AFTER:
            return _Tried(0, now)
        return found
