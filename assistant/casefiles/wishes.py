"""The `week` part of a case file: recent hard sets, likes, minutes of single days, edits by hand."""

from collections.abc import Callable
from typing import Any

from assistant.casefiles.away import read_away
from assistant.casefiles.edits import read_edits
from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import WEEKDAYS
from assistant.model.wishes import RecentSet, WeekWishes

_FIELDS = ("recent_sets", "likes", "dislikes", "minutes_on", "edits", "away")
_SET_FIELDS = ("load_kg", "repetitions", "reserve")
# Wide enough for any person and bar; what lies outside is a slip of the pen.
_SET_LIMITS = {"load_kg": (0.0, 600.0), "repetitions": (1, 50), "reserve": (0.0, 10.0)}
_MINUTE_LIMITS = (10, 180)


def read_wishes(
    raw: Any, kb: KnowledgeBase, parsed: Parsed, problems: list[Problem], *, kept: bool = False
) -> WeekWishes:
    """Return the wishes of a case; what is wrong is added to `problems`. kept: see `read_edits`."""
    reader = _Reader(kb, parsed, problems)
    if not isinstance(raw, dict):
        reader.refuse((), "bad-type", f"`week` is `{shown(raw)}`; allowed: {', '.join(_FIELDS)}")
        return WeekWishes()
    for name in raw:
        if name not in _FIELDS:
            hint = did_you_mean(name, _FIELDS, f"; fields: {', '.join(_FIELDS)}")
            reader.refuse((name,), "unknown-field", f"`{shown(name)}` is no part of `week`{hint}")
    likes, dislikes = reader.names(raw, "likes"), reader.names(raw, "dislikes")
    both = sorted({*likes} & {*dislikes})
    if both:
        text = f"`{both[0]}` is both liked and disliked; name it once"
        reader.refuse(("dislikes",), "bad-value", text)
    sets = reader.mapping(raw, "recent_sets", reader.recent_set)
    minutes = reader.mapping(raw, "minutes_on", reader.minutes)
    edits = read_edits(raw.get("edits", []), kb, parsed, problems, kept=kept)
    away = read_away(raw.get("away", []), kb, parsed, problems)
    return WeekWishes(sets, likes, dislikes, minutes, edits, away)


class _Reader:
    """Reads one `week` part and collects what is wrong with it."""

    def __init__(self, kb: KnowledgeBase, parsed: Parsed, problems: list[Problem]) -> None:
        self._exercises = tuple(row.id for row in kb.exercises.exercises)
        self._parsed = parsed
        self._problems = problems

    def refuse(self, path: tuple[str | int, ...], code: str, text: str) -> None:
        self._problems.append(Problem(self._parsed.place("week", *path), code, text))

    def names(self, raw: dict[str, Any], part: str) -> tuple[str, ...]:
        listed = raw.get(part, [])
        if not isinstance(listed, list):
            text = f"`{part}` is `{shown(listed)}`; allowed: a list of exercises"
            self.refuse((part,), "bad-type", text)
            return ()
        return tuple(name for name in listed if self._is_exercise(name, part))

    def mapping(self, raw: dict[str, Any], part: str, read: Callable[[str, Any], Any]) -> Any:
        items = raw.get(part, {})
        if not isinstance(items, dict):
            text = f"`{part}` is `{shown(items)}`; allowed: a mapping"
            self.refuse((part,), "bad-type", text)
            return {}
        read_items = {name: read(name, item) for name, item in items.items()}
        return {name: item for name, item in read_items.items() if item is not None}

    def recent_set(self, exercise: str, item: Any) -> RecentSet | None:
        if not self._is_exercise(exercise, "recent_sets"):
            return None
        path = ("recent_sets", exercise)
        if not isinstance(item, dict) or set(item) != set(_SET_FIELDS):
            self.refuse(path, "bad-value", f"a set has {', '.join(_SET_FIELDS)} and nothing else")
            return None
        for name, (low, high) in _SET_LIMITS.items():
            value = item[name]
            whole = name != "repetitions" or isinstance(value, int)
            number = isinstance(value, int | float) and not isinstance(value, bool)
            if not number or not whole or not low <= value <= high:
                text = f"`{name}` is `{shown(value)}`; allowed: {low:g} to {high:g}"
                self.refuse((*path, name), "bad-value", text)
                return None
        return RecentSet(float(item["load_kg"]), item["repetitions"], float(item["reserve"]))

    def minutes(self, day: str, item: Any) -> int | None:
        low, high = _MINUTE_LIMITS
        if day not in WEEKDAYS:
            hint = did_you_mean(str(day), WEEKDAYS, f"; allowed: {', '.join(WEEKDAYS)}")
            self.refuse(("minutes_on", day), "bad-value", f"`{shown(day)}` is no day{hint}")
        elif not isinstance(item, int) or isinstance(item, bool) or not low <= item <= high:
            text = f"`{day}` is `{shown(item)}`; allowed: whole minutes from {low} to {high}"
            self.refuse(("minutes_on", day), "bad-value", text)
        else:
            return item
        return None

    def _is_exercise(self, name: Any, part: str) -> bool:
        if name in self._exercises:
            return True
        hint = did_you_mean(str(name), self._exercises, "; exercises stand in rules/exercises.yaml")
        self.refuse((part,), "unknown-exercise", f"`{shown(name)}` is no exercise{hint}")
        return False
