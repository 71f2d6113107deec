"""A word of the trade stands in brackets behind the plain one where a reader meets it first, and no more."""

import re
from collections.abc import Iterable

_EXPLAINED = re.compile(r"(?P<plain>.+) (?P<trade>\([^()]+\))")


class Once:
    """Takes brackets off labels (`front thighs (quads)`) that a text has shown before; ask it in reading order."""

    def __init__(self, labels: Iterable[str]) -> None:
        found = filter(None, map(_EXPLAINED.fullmatch, labels))
        either = "|".join(
            rf"{re.escape(each['plain'])} {re.escape(each['trade'])}" for each in found
        )
        self._label = re.compile(either or "(?!)", re.IGNORECASE)
        self._shown: set[str] = set()

    def __call__(self, text: str) -> str:
        """Return the text as a reader needs it who has read all that was asked before."""

        def shorter(label: re.Match[str]) -> str:
            if label[0].casefold() in self._shown:
                return label[0].rpartition(" (")[0]
            self._shown.add(label[0].casefold())
            return label[0]

        return self._label.sub(shorter, text)
