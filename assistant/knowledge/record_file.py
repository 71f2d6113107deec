"""A client's record from a file: dated rows in YAML, JSON or CSV, read strictly.

A row is a day and any of the columns below; a day may have many rows (several sets, girths or
pains). YAML and JSON hold the rows under `rows`; the first line of a CSV names the columns.
"""

import contextlib
import csv
import datetime as dt
import io
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from assistant.knowledge.nearest import did_you_mean, shown
from assistant.knowledge.strict_yaml import MAX_BYTES, parse_file
from assistant.model.errors import InputProblems, Problem
from assistant.model.history import (
    Agreement,
    DayNote,
    DayOfEating,
    Girth,
    GirthSite,
    History,
    Joint,
    OpenReferral,
    Pain,
    Seen,
    SessionMark,
    Sign,
    SignMark,
    TopSet,
    Weighing,
)

DAY = "day"
_SITES: tuple[str, ...] = get_args(GirthSite)
# Columns with a number: the range that is read, and whether it is a whole number.
_NUMBERS: Mapping[str, tuple[float, float, bool]] = {
    "weight_kg": (30, 250, False),
    "energy_kcal": (0, 10000, False),
    "protein_g": (0, 500, False),
    **{f"{site}_cm": (15, 250, False) for site in _SITES},
    "load_kg": (0, 600, False),
    "repetitions": (1, 100, True),
    "reserve": (0, 10, False),
    "pain_0_to_10": (0, 10, True),
    "sleep_hours": (0, 20, False),
    "soreness_1_to_5": (1, 5, True),
    "mood_1_to_5": (1, 5, True),
    "appetite_1_to_5": (1, 5, True),
    "agreed_kcal": (800, 7000, False),
}
_SIGNS: tuple[Sign, ...] = get_args(Sign)
_ROLE, _SEEN, _ASKED = "referral", "seen", "urgent_signs_asked"
_MARKS = ("block_started", "sets_changed", "easier_week", "log_mended")
_WORDS: Mapping[str, tuple[str, ...]] = {
    "session": ("done", "missed"),
    "agreed_phase": ("hold", "build", "cut"),
    **dict.fromkeys(("period_started", *_MARKS), ("true", "false")),
    **dict.fromkeys(_SIGNS, ("yes", "no")),
    "joint": get_args(Joint),
    _SEEN: get_args(Seen),
    _ASKED: ("clear", "open"),
}
_TEXTS = ("exercise", _ROLE)
COLUMNS = (DAY, *_NUMBERS, *_WORDS, *_TEXTS)
_TOGETHER = {
    "exercise": ("load_kg", "repetitions"),
    "load_kg": ("exercise", "repetitions"),
    "repetitions": ("exercise", "load_kg"),
    "reserve": ("exercise",),
    "joint": ("pain_0_to_10",),
    "pain_0_to_10": ("joint",),
    "protein_g": ("energy_kcal",),
    _SEEN: (_ROLE,),
}
_LONGEST_NAME = 100


@dataclass(frozen=True)
class _Row:
    place: str
    cells: Mapping[str, Any]


def read_record(path: Path) -> History:
    """Read and check a record file. Raises InputProblems with everything that is wrong."""
    rows = list(_csv_rows(path) if path.suffix.lower() == ".csv" else _document_rows(path))
    problems: list[Problem] = []
    checked = [cells for row in rows if (cells := _check(row, problems)) is not None]
    if problems:
        raise InputProblems(problems)
    return _history(sorted(checked, key=lambda cells: cells[DAY]))


def last_day(history: History) -> dt.date | None:
    """Return the last day of a record; None for an empty one."""
    series = (history.weighings, history.girths, history.eating, history.top_sets, history.sessions,
              history.pains, history.notes, history.agreements, history.signs)  # fmt: skip
    return max((row.day for rows in series for row in rows), default=None)


def _document_rows(path: Path) -> Iterator[_Row]:
    parsed = parse_file(path, str(path), plain_dates=True)
    data = parsed.data
    rows = data.get("rows") if isinstance(data, dict) else None
    if not isinstance(rows, list) or set(data) - {"rows", "name"}:
        text = "a record has the field `rows`, a list of rows with a day (and `name`, if you like)"
        raise InputProblems([Problem(parsed.place(), "bad-type", text)])
    for number, row in enumerate(rows):
        place = parsed.place("rows", number)
        if not isinstance(row, dict):
            text = f"`{shown(row)}` is no row; write {{day: 2026-01-12, weight_kg: 63.5}}"
            raise InputProblems([Problem(place, "bad-type", text)])
        yield _Row(place, row)


def _csv_rows(path: Path) -> Iterator[_Row]:
    try:
        raw = path.read_bytes() if path.is_file() else None
    except OSError as error:
        text = f"the file cannot be read ({error.strerror})"
        raise InputProblems([Problem(str(path), "unreadable-file", text)]) from None
    if raw is None:
        raise InputProblems([Problem(str(path), "missing-file", "there is no such file")])
    if len(raw) > MAX_BYTES:
        text = f"the file is larger than {MAX_BYTES} bytes; split it"
        raise InputProblems([Problem(str(path), "too-big", text)])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        wrong = "the file is not UTF-8 text; save it as CSV UTF-8"
        raise InputProblems([Problem(str(path), "not-utf-8", wrong)]) from None
    reader = csv.DictReader(io.StringIO(text, newline=""), restkey="", restval="")
    try:
        for cells in reader:
            place = f"{path}:{reader.line_num}"
            if "" in cells:
                wrong = "the row has more cells than the first line has columns"
                raise InputProblems([Problem(place, "too-many-cells", wrong)])
            yield _Row(place, {name: cell.strip() for name, cell in cells.items() if cell.strip()})
    except csv.Error as error:
        wrong = f"this is no CSV ({error})"
        raise InputProblems([Problem(f"{path}:{reader.line_num}", "bad-csv", wrong)]) from None


def _check(row: _Row, problems: list[Problem]) -> dict[str, Any] | None:
    cells: dict[str, Any] = {}
    before = len(problems)
    for name, raw in row.cells.items():
        if name not in COLUMNS:
            hint = did_you_mean(str(name), COLUMNS, f"; columns: {', '.join(COLUMNS)}")
            text = f"`{shown(name)}` is no column of a record{hint}"
            problems.append(Problem(row.place, "unknown-column", text))
            continue
        try:
            cells[name] = _cell(name, raw)
        except ValueError as error:
            text = f"`{name}` is `{shown(raw)}`; allowed: {error}"
            problems.append(Problem(row.place, "bad-value", text))
    if DAY not in row.cells:
        problems.append(Problem(row.place, "missing-day", "a row needs `day`, e.g. 2026-01-12"))
    for name, others in _TOGETHER.items():
        missing = [other for other in others if name in row.cells and other not in row.cells]
        if missing:
            text = f"`{name}` goes with {' and '.join(f'`{m}`' for m in missing)}; add it"
            problems.append(Problem(row.place, "missing-column", text))
            break
    return cells if len(problems) == before else None


def _cell(name: str, raw: Any) -> Any:
    """Return a cell's value. Raises ValueError saying what is allowed."""
    if name == DAY:
        return _day(raw)
    if name in _NUMBERS:
        return _number(name, raw)
    if name in _WORDS:
        word = str(raw).lower() if isinstance(raw, bool | str) else ""
        word = word.replace(" ", "_") if name == "joint" else word
        if word not in _WORDS[name]:
            raise ValueError(", ".join(_WORDS[name]))
        return word
    if not isinstance(raw, str) or not raw.isprintable() or len(raw) > _LONGEST_NAME:
        raise ValueError("one line of text")
    return raw


def _day(raw: Any) -> dt.date:
    try:
        if isinstance(raw, str) and len(raw) == len("2026-01-31"):
            return dt.date.fromisoformat(raw)
    except ValueError:
        pass
    raise ValueError("a date such as 2026-01-31")


def _number(name: str, raw: Any) -> float:
    low, high, whole = _NUMBERS[name]
    allowed = f"a {'whole ' if whole else ''}number from {low:g} to {high:g}"
    value = math.nan
    if isinstance(raw, int | float | str) and not isinstance(raw, bool):
        with contextlib.suppress(ValueError):
            value = float(raw)
    if not math.isfinite(value) or not low <= value <= high or (whole and value != int(value)):
        raise ValueError(allowed)
    return value


def _history(rows: list[dict[str, Any]]) -> History:
    asked = [row for row in rows if _ASKED in row]
    clear = asked[-1][DAY] if asked and asked[-1][_ASKED] == "clear" else dt.date.min
    return History(
        weighings=tuple(Weighing(r[DAY], r["weight_kg"]) for r in rows if "weight_kg" in r),
        girths=tuple(
            Girth(r[DAY], site, r[f"{site}_cm"])  # type: ignore[arg-type]
            for r in rows for site in _SITES if f"{site}_cm" in r
        ),
        eating=tuple(
            DayOfEating(r[DAY], r["energy_kcal"], r.get("protein_g"))
            for r in rows if "energy_kcal" in r
        ),
        top_sets=tuple(
            TopSet(r[DAY], r["exercise"], r["load_kg"], int(r["repetitions"]), r.get("reserve"))
            for r in rows if "exercise" in r
        ),
        sessions=tuple(
            SessionMark(r[DAY], r["session"] == "done") for r in rows if "session" in r
        ),
        pains=tuple(
            Pain(r[DAY], r["joint"], int(r["pain_0_to_10"]), asked_clear=r[DAY] <= clear)
            for r in rows if "joint" in r
        ),
        notes=tuple(note for r in rows if (note := _note(r)) is not None),
        agreements=tuple(one for r in rows if (one := _agreement(r)) is not None),
        signs=tuple(
            SignMark(r[DAY], sign, r[sign] == "yes") for r in rows for sign in _SIGNS if sign in r
        ),
        referrals=_open_referrals(rows),
    )  # fmt: skip


def _open_referrals(rows: list[dict[str, Any]]) -> tuple[OpenReferral, ...]:
    """Return who is still to be seen: the row of a role opens it, and only a yes closes it."""
    still: dict[str, OpenReferral] = {}
    for row in rows:
        if (role := row.get(_ROLE)) is None:
            continue
        seen: Seen | None = row.get(_SEEN)
        if seen == "yes":
            still.pop(role, None)
            continue
        since = still[role].since if role in still else row[DAY]
        still[role] = OpenReferral(role, since, seen, row[DAY] if seen else None)
    return tuple(each for _, each in sorted(still.items()))


def _note(row: dict[str, Any]) -> DayNote | None:
    names = ("sleep_hours", "soreness_1_to_5", "mood_1_to_5", "appetite_1_to_5")
    if not any(name in row for name in (*names, "period_started")):
        return None
    return DayNote(
        row[DAY],
        sleep_hours=row.get("sleep_hours"),
        soreness_1_to_5=_whole(row.get("soreness_1_to_5")),
        mood_1_to_5=_whole(row.get("mood_1_to_5")),
        appetite_1_to_5=_whole(row.get("appetite_1_to_5")),
        cycle_start=row.get("period_started") == "true",
    )


def _whole(value: float | None) -> int | None:
    return None if value is None else int(value)


def _agreement(row: dict[str, Any]) -> Agreement | None:
    marks = [row.get(name) == "true" for name in _MARKS]
    if not any(marks) and "agreed_kcal" not in row and "agreed_phase" not in row:
        return None
    return Agreement(row[DAY], row.get("agreed_kcal"), row.get("agreed_phase"), *marks)
