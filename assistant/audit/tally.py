"""The decision log counted while it is read, entry by entry: a log of years is never held whole."""

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from assistant.audit.entry import misshapen
from assistant.audit.store import sound_log
from assistant.model.errors import InputProblems, Problem
from assistant.model.tally import HandChange, Tally

_URGENCY = "screen.referral_urgency["


class LogTally:
    """Counts the entries of one log. problems: entries of another shape than is written."""

    def __init__(self, tally: Tally, shown_as: str) -> None:
        """Count into `tally`."""
        self.problems: list[Problem] = []
        self._tally = tally
        self._shown = shown_as
        self._number = 0

    def take(self, entry: Mapping[str, Any]) -> None:
        """Count one entry."""
        self._number += 1
        try:
            if entry["kind"] == "decision":
                self._decision(entry)
            else:
                self._override(entry)
        except (KeyError, TypeError, AttributeError, ValueError) as wrong:
            self.problems.append(misshapen(self._shown, self._number, f"at {wrong}"))

    def _decision(self, entry: Mapping[str, Any]) -> None:
        tally, outcome, who = self._tally, entry["outcome"], str(entry["client"])
        tally.plans[entry["as_of"][:7]] += 1
        tally.clients.add(who)
        tally.fired.update({name.partition("[")[0] for name in outcome["fired"]})
        for made in entry.get("overrides", ()):
            line = outcome["lines"].get(made["line"], {})
            rule = line.get("rule", "")
            tally.standing(who, made, rule, partial(made.get, "was"))
            if line and made.get("was") is not None:
                tally.changed.setdefault(rule, set()).add(entry["sequence"])
        for made in entry["wishes"].get("edits", ()):
            tally.edited(who, made)
        for made in entry["decisions"]:
            tally.decided(who, made["kind"], made["flag"], made)
        for key in outcome["facts"]:
            if key.startswith(_URGENCY):
                tally.referrals.setdefault((who, key[len(_URGENCY) : -1]), "")

    def _override(self, entry: Mapping[str, Any]) -> None:
        said = (entry["line"], entry["rule"], entry["by"], entry["written"][:10], entry["reason"])
        change = HandChange(*said, entry["was"], entry["to"])
        self._tally.set_by_hand((entry["decision"], entry["line"]), change)
        self._tally.changed.setdefault(entry["rule"], set()).add(entry["decision"])


def count_log(tally: Tally, path: Path) -> None:
    """Count a log that must be whole. Raises InputProblems with everything that is wrong."""
    counting = LogTally(tally, str(path))
    sound_log(path, counting.take)
    if counting.problems:
        raise InputProblems(counting.problems)
