"""How far a long command has come and how long it still takes: one line on a terminal's error stream.

It shows after a second, is wiped at the end, and stands nowhere else: in no file, in no pipe, not with `--quiet`.
"""

import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from typing import Self, TypeVar

from assistant.clients import waiting

_FIRST_SECONDS, _EVERY_SECONDS, _SLACK_SECONDS = 1.0, 0.25, 2.0
_MINUTE = 60
_WIPE = "\r\x1b[K"
# Solving a week takes about this many times what a process took to get there (DEVELOPERS, From the keystroke).
_BEGUN, _WEEK_TO_START = time.monotonic(), 1.8

# Other work on the machine stretches a process's own time to so many times itself, at most.
_SLOWEST = 3.0

T = TypeVar("T")


class Line:
    """The line, drawn anew by a thread of its own, so that it moves while one step takes long."""

    # Whether the command at hand may show one, and the line that is there: a part of a part shows none.
    wanted = False
    now: "Line | None" = None

    def __init__(self) -> None:
        """Begin with nothing to show."""
        self._text, self._drawn = "", False
        self._ends: float | None = None
        self._done, self._lock = threading.Event(), threading.Lock()
        self._drawing = threading.Thread(target=self._draw, name="_draw", daemon=True)
        self._is_shown = Line.wanted and Line.now is None and sys.stderr.isatty()

    def __enter__(self) -> Self:
        if self._is_shown:
            Line.now = self
            self._drawing.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._is_shown:
            Line.now = None
            self._done.set()
            self._drawing.join()
            self._wipe()

    def at(self, text: str, left: float | None) -> None:
        """Say where the work is, and in how many seconds it should be done; None where that is not known yet."""
        with self._lock:
            self._text = text
            self._ends = None if left is None else time.monotonic() + left

    def _draw(self) -> None:
        pause = _FIRST_SECONDS
        while not self._done.wait(pause):
            pause = _EVERY_SECONDS
            with self._lock:
                if self._text:
                    print(f"{_WIPE}{self._text}{self._more()}", end="", file=sys.stderr, flush=True)
                    self._drawn = True

    def _more(self) -> str:
        if self._ends is None:
            return ""
        left = self._ends - time.monotonic()
        if left < -_SLACK_SECONDS:
            return ", longer than thought"
        return f", about {span(left)} left" if left >= 1 else ", nearly done"

    def _wipe(self) -> None:
        with self._lock:
            if self._drawn:
                print(_WIPE, end="", file=sys.stderr, flush=True)
                self._drawn = False


def say(text: str) -> None:
    """Print a line on the error stream, above the line of progress."""
    if Line.now is not None:
        Line.now._wipe()  # noqa: SLF001 - of this module
    print(text, file=sys.stderr)


def counted(items: Sequence[T], what: str) -> Iterator[T]:
    """Give each of the things, and tell meanwhile how many are done. what: their name, of several."""
    begun = time.monotonic()
    yield from items[:1]
    with Line() as line:
        for done, item in enumerate(items[1:], start=1):
            left = (time.monotonic() - begun) / done * (len(items) - done)
            line.at(f"{done} of {len(items)} {what}", left)
            yield item


@contextmanager
def offered(*, wanted: bool) -> Iterator[None]:
    """Stand around a command; wanted: whether it may show a line."""
    Line.wanted, waiting.around = wanted, _week
    try:
        yield
    finally:
        # A command that broke off amid a count leaves its line behind.
        if Line.now is not None:
            Line.now.__exit__()
        Line.wanted = False


@contextmanager
def doing(what: str, to_start: float) -> Iterator[None]:
    """Stand around one long step. to_start: it takes about so many times what came before it in this process."""
    with Line() as line:
        # Somebody who typed meanwhile made the process no slower.
        before = min(time.monotonic() - _BEGUN, _SLOWEST * time.process_time())
        line.at(what, to_start * before)
        yield


def _week() -> AbstractContextManager[None]:
    return doing("arranging the week", _WEEK_TO_START)


def span(seconds: float) -> str:
    """Return a time as people say it."""
    return f"{seconds:.0f} s" if seconds < _MINUTE * 1.5 else f"{seconds / _MINUTE:.0f} min"
