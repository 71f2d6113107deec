"""A sheet to print and fill in with a pen: every line of the week, a column for each week of the block."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from assistant.model.history import History
from assistant.model.programme import Line, Programme, Session
from assistant.model.values import weekday_of
from assistant.plan.loads import load_words
from assistant.plan.phrases import underlined, wrapped
from assistant.programme.catalogue import Catalogue
from assistant.programme.progression import BlockWeek, block_weeks, easier_week
from assistant.report.page.sessions import coming_next, load_notes
from assistant.report.page.words import PageWords
from assistant.report.week_text import dose_parts, load, warm_up_said

_WEEK = dt.timedelta(weeks=1)


@dataclass(frozen=True)
class Block:
    """The block that the sheet is for: its first day, its weeks, and the first days of lighter weeks."""

    start: dt.date
    weeks: int
    lighter: tuple[dt.date, ...] = ()


@dataclass(frozen=True)
class Cell:
    """What stands in one week of a line: sets done, in words, and how many are left to write down."""

    done: tuple[str, ...]
    empty: int


@dataclass(frozen=True)
class Row:
    """A line of a session with its cells, one a week."""

    line: Line
    coming: Markup
    warm_up: Markup
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Column:
    """A week of the block: its number and first day in words, and what is special about it."""

    number: Markup
    since: Markup
    note: Markup


@dataclass(frozen=True)
class LogSheet:
    """A whole sheet in words: how to fill it in, the weeks, and the rows of each session."""

    title: Markup
    dates: Markup
    how: tuple[Markup, ...]
    spared: tuple[Markup, ...]
    columns: tuple[Column, ...]
    sessions: tuple[tuple[Session, tuple[Row, ...]], ...]


def log_sheet(
    name: str,
    programme: Programme,
    block: Block,
    history: History | None,
    catalogue: Catalogue,
    words: PageWords,
) -> LogSheet:
    """Return the sheet of a block; what was told of its weeks already stands in it."""
    building = block_weeks(programme, block.weeks, catalogue, easier_last=False)
    easier = easier_week(programme, catalogue)
    days = tuple(block.start + number * _WEEK for number in range(block.weeks))
    lighter = tuple(any(day <= each < day + _WEEK for each in block.lighter) for day in days)
    columns = tuple(
        _column(week, programme, day, words, is_lighter=light)
        for week, day, light in zip(building, days, lighter, strict=True)
    )
    told = _told(history, words)
    sessions = []
    for session, light_session in zip(programme.sessions, easier, strict=True):
        rows = []
        for line, light_line in zip(session.lines, light_session.lines, strict=True):
            cells = []
            for day, light in zip(days, lighter, strict=True):
                done = told.get((line.exercise, day, session.day), ())
                sets = light_line.sets if light else line.sets
                cells.append(Cell(done, max(0, sets - len(done))))
            coming = coming_next(programme, session, line, words)
            first = words.html(warm_up_said(line, words))
            rows.append(Row(line, coming, first, tuple(cells)))
        sessions.append((session, tuple(rows)))
    return LogSheet(
        title=words.told("log_title", name=name),
        dates=words.told("log_dates", start=block.start.isoformat(), weeks=block.weeks),
        how=(words.told("log_how"), *load_notes(programme, catalogue, words)),
        spared=tuple(words.html(words.free(note)) for note in programme.notes),
        columns=columns,
        sessions=tuple(sessions),
    )


def _column(
    week: BlockWeek, programme: Programme, day: dt.date, words: PageWords, *, is_lighter: bool
) -> Column:
    more = week.sessions[0].lines[0].rir - programme.sessions[0].lines[0].rir
    note = Markup()
    if is_lighter:
        note = Markup(words.say("log_lighter"))  # noqa: S704 - our own words, within a line
    elif more > 0:
        note = Markup(words.say("log_more_left", count=str(more)))  # noqa: S704
    number = words.told("log_week", number=week.number)
    return Column(number, Markup(words.date(day, "date_short")), note)  # noqa: S704 - our own words


def _told(
    history: History | None, words: PageWords
) -> dict[tuple[str, dt.date, str], tuple[str, ...]]:
    """Return the sets told, by exercise, day the week began, and weekday."""
    found: dict[tuple[str, dt.date, str], tuple[str, ...]] = {}
    for row in () if history is None else history.top_sets:
        sets = tuple(
            words.say(
                "log_set",
                load=load_words(each.load_kg, words.phrases),
                repetitions=str(each.repetitions),
            )
            for each in row.sets
        )
        for back in range(7):
            found[row.exercise, row.day - dt.timedelta(days=back), weekday_of(row.day)] = sets
    return found


def log_sheet_text(sheet: LogSheet, words: PageWords) -> str:
    """Return the sheet as text, a line of blanks for each week."""
    title = words.plain(str(sheet.title))
    rows = [title, _plain(sheet.dates, words), "=" * max(len(title), 22)]
    for note in (*sheet.how, *sheet.spared):
        rows += wrapped(_plain(note, words), "- ")
    for column in sheet.columns:
        if column.note:
            week = f"{_plain(column.number, words)}, {_plain(column.since, words)}"
            rows += wrapped(f"{week}: {column.note.striptags()}", "- ")
    for session, lines in sheet.sessions:
        rows += underlined(words.plain(session_heading(session, words)))
        for row in lines:
            rows += _text_row(row, sheet.columns, words)
    return "\n".join(rows) + "\n"


def _text_row(row: Row, columns: Sequence[Column], words: PageWords) -> Iterator[str]:
    line = row.line
    name = words.plain(words.exercise(line.exercise, line.name))
    first = f"{line.order}. {name}: {line_dose(line, words)}"
    yield from wrapped(first, "", "   ")
    for said in filter(None, (row.warm_up, row.coming)):
        yield from wrapped(_plain(said, words), "   ", "   ")
    for column, cell in zip(columns, row.cells, strict=True):
        blank = "____ s" if line.measure == "seconds" else "_____ x ___"
        sets = [*cell.done, *[blank] * cell.empty]
        yield f"   {_plain(column.since, words):<13}" + "  ".join(sets)


def _plain(text: Markup, words: PageWords) -> str:
    return words.plain(text.striptags())


def session_heading(session: Session, words: PageWords) -> str:
    """Return e.g. `Monday: lower body`."""
    label = words.phrases.label
    return words.say("session_title", day=label(session.day), type=label(session.type, "in_title"))


def line_dose(line: Line, words: PageWords) -> str:
    """Return sets, range, reserve, rest and load of a line."""
    said = (*dose_parts(line, words), load(line, words.phrases))
    return ", ".join(part for part in said if part)
