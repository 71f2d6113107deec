"""Changes of the week by hand, as they stand under `edits` of a case file's `week`."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from assistant.casefiles.overrides import check_reason
from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.parsed import Parsed
from assistant.model.documents.exercises import Exercise
from assistant.model.errors import Problem, Refused
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import WEEKDAYS
from assistant.model.wishes import EDIT_KINDS, EditKind, WeekEdit

_WORDS = ("other", "days", "to", "numbers", "by", "reason", "since")
# Wide enough for any week; what lies outside is a slip of the pen.
_MOST_SETS, _MOST_REPETITIONS, _MOST_SECONDS, _MOST_PLACES = 10, 50, 120, 20
_LONGEST_TEXT = 300


@dataclass(frozen=True)
class _Form:
    """What a kind of edit takes: days (least, most), how many numbers, and its other words."""

    days: tuple[int, int] = (0, 7)
    numbers: tuple[int, int] = (0, 0)
    words: tuple[str, ...] = ()


_FORMS = {
    "replace": _Form(words=("other",)),
    "add": _Form(days=(1, 7), numbers=(0, 1)),
    "remove": _Form(),
    "move": _Form(days=(1, 1), words=("to",)),
    "pin": _Form(numbers=(0, 1)),
    "sets": _Form(numbers=(1, 1)),
    "repetitions": _Form(days=(0, 0), numbers=(2, 2)),
    "order": _Form(days=(1, 1), numbers=(1, 1)),
    "never": _Form(days=(0, 0)),
}


def read_edits(
    raw: Any, kb: KnowledgeBase, parsed: Parsed, problems: list[Problem], *, kept: bool = False
) -> tuple[WeekEdit, ...]:
    """Return the edits of a case in their order; what is wrong is added to `problems`.

    kept: they come from a record, where an exercise may have left the rule book since; the week says so.
    """
    if not isinstance(raw, list):
        text = f"`edits` is `{shown(raw)}`; allowed: a list of edits"
        problems.append(Problem(parsed.place("week", "edits"), "bad-type", text))
        return ()
    found = []
    for number, item in enumerate(raw):
        try:
            edit = checked_edit(item, kb, kept=kept)
            if not kept:
                check_reason(edit.reason, kb)
            found.append(edit)
        except Refused as refusal:
            place = parsed.place("week", "edits", number)
            problems.append(Problem(place, refusal.code, refusal.text))
    return tuple(found)


def checked_edit(item: Any, kb: KnowledgeBase, *, kept: bool = False) -> WeekEdit:
    """Return one edit from plain data. Raises Refused naming the part, its value and what is allowed."""
    if not isinstance(item, dict):
        raise Refused("bad-type", f"an edit is a mapping, not `{shown(item)}`")
    kinds = [kind for kind in EDIT_KINDS if kind in item]
    if len(kinds) != 1:
        wrong = "none of them" if not kinds else f"{kinds[0]} and {kinds[1]}"
        text = f"an edit names {wrong}; it is one of {', '.join(EDIT_KINDS)}, e.g. remove: EXERCISE"
        raise Refused("bad-edit", text)
    kind, form = kinds[0], _FORMS[kinds[0]]
    for name in item:
        if name not in (kind, *_WORDS):
            hint = did_you_mean(str(name), _WORDS, f"; parts: {', '.join(_WORDS)}")
            raise Refused("unknown-field", f"`{shown(name)}` is no part of an edit{hint}")
    known = kb.exercises.by_id
    exercise = _exercise(kind, item[kind], known, kept=kept)
    other = _exercise("other", item.get("other"), known, kept=kept) if "other" in form.words else ""
    if other == exercise:
        raise Refused("bad-value", f"`other` is `{other}` itself; name another exercise")
    to = _days("to", [item.get("to")], (1, 1))[0] if "to" in form.words else ""
    days = _days("days", item.get("days", []), form.days)
    if to and to in days:
        raise Refused("bad-value", f"`to` is `{to}`, where it stands; name another day")
    for name in ("other", "to"):
        if name in item and name not in form.words:
            raise Refused("bad-value", f"`{name}` says nothing for `{kind}`; leave it out")
    return WeekEdit(
        cast("EditKind", kind),
        exercise,
        _text("by", item),
        _text("reason", item),
        _since(item),
        other,
        days,
        to,
        _numbers(kind, item.get("numbers", []), known.get(exercise)),
    )


def _exercise(name: str, value: Any, known: Mapping[str, Exercise], *, kept: bool) -> str:
    if isinstance(value, str) and (kept or value in known):
        return value
    hint = did_you_mean(str(value), known, "; exercises stand in rules/exercises.yaml")
    raise Refused("unknown-exercise", f"`{name}`: `{shown(value)}` is no exercise{hint}")


def _days(name: str, listed: Any, how_many: tuple[int, int]) -> tuple[str, ...]:
    least, most = how_many
    if not isinstance(listed, list) or not least <= len(listed) <= most:
        allowed = "one day" if least == most else f"a list of {least} to {most} days"
        allowed = "none" if most == 0 else allowed
        raise Refused("bad-value", f"`{name}` is `{shown(listed)}`; allowed: {allowed}")
    for day in listed:
        if day not in WEEKDAYS:
            hint = did_you_mean(str(day), WEEKDAYS, f"; allowed: {', '.join(WEEKDAYS)}")
            raise Refused("bad-value", f"`{name}`: `{shown(day)}` is no day{hint}")
    return tuple(day for day in WEEKDAYS if day in listed)


def _numbers(kind: str, listed: Any, exercise: Exercise | None) -> tuple[int, ...]:
    least, most = _FORMS[kind].numbers
    timed = exercise is None or exercise.measure == "seconds"
    top = {"order": _MOST_PLACES, "repetitions": _MOST_SECONDS if timed else _MOST_REPETITIONS}.get(
        kind, _MOST_SETS
    )
    whole = isinstance(listed, list) and all(
        isinstance(each, int) and not isinstance(each, bool) and 1 <= each <= top for each in listed
    )
    if not whole or not least <= len(listed) <= most:
        count = f"{most} whole number{'s' if most > 1 else ''}" if most else "none"
        unless = " or none" if most and not least else ""
        span = f" from 1 to {top}" if most else ""
        text = f"`numbers` is `{shown(listed)}`; allowed for `{kind}`: {count}{span}{unless}"
        raise Refused("bad-value", text)
    if list(listed) != sorted(listed):
        raise Refused("bad-value", f"`numbers` is `{shown(listed)}`; the lower one comes first")
    return tuple(listed)


def _text(name: str, item: dict[str, Any]) -> str:
    value = item.get(name)
    is_text = isinstance(value, str) and value.strip() and value.isprintable()
    if not is_text or len(str(value)) > _LONGEST_TEXT:
        text = f"`{name}` is `{shown(value)}`; an edit needs it in words, one line of up to {_LONGEST_TEXT} letters"
        raise Refused("missing-field", text)
    return str(value).strip()


def _since(item: dict[str, Any]) -> dt.date:
    try:
        return dt.date.fromisoformat(item["since"])
    except (KeyError, TypeError, ValueError):
        text = f"`since` is `{shown(item.get('since'))}`; allowed: a day such as 2026-01-31"
        raise Refused("bad-value", text) from None
