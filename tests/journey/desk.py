"""A coach's desk for one client: commands as they are typed, and what every reader is shown on a day."""

import datetime as dt
import html
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import icalendar
import pytest

from assistant.cli.main import main
from assistant.model.values import WEEKDAYS

WHO = "nora-bell"
COACH = "L. Marrow"


class Desk:
    """Runs commands on one record; the day is the desk's own."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], on: dt.date) -> None:
        self.folder, self.on = folder, on
        self._capsys = capsys

    def type_plain(self, *words: str) -> str:
        """Run a command that opens no record."""
        self._capsys.readouterr()
        assert main([*words, "--as-of", self.on.isoformat()]) == 0
        return self._capsys.readouterr().out

    def type(self, *words: str, code: int | None = 0) -> str:
        """Run a command and return what it printed; code: its exit code, None for any."""
        self._capsys.readouterr()
        found = main(
            [*words, "--db", str(self.folder / "record.sqlite3"), "--as-of", self.on.isoformat()]
        )
        said = self._capsys.readouterr()
        assert code is None or found == code, (words, found, said.err)
        assert "Traceback" not in said.err
        return said.out

    def written(self, *words: str, name: str) -> str:
        """Run a command that writes a file, and return the file's text."""
        path = self.folder / name
        path.unlink(missing_ok=True)
        self.type(*words, "--out", str(path))
        return path.read_text("utf-8")


@dataclass(frozen=True)
class Exercise:
    """A line of a session, as the JSON plan holds it."""

    day: str
    order: int
    name: str
    sets: int
    low: int
    high: int


@dataclass(frozen=True)
class Shown:
    """All that is shown of one client on one day: figures from the JSON plan, and every other form."""

    plan: dict[str, Any]
    for_client: dict[str, Any]
    texts: dict[str, str]
    pages: dict[str, str]
    week: str
    sheet: str
    events: list[dict[str, Any]]
    review: str
    message: str

    @property
    def exercises(self) -> Iterator[Exercise]:
        """The lines of the week."""
        programme = self.plan["programme"]
        for session in programme["sessions"] if programme else ():
            for line in session["lines"]:
                low, high = line["reps"]
                yield Exercise(session["day"], line["order"], line["name"], line["sets"], low, high)


def look(desk: Desk) -> Shown:
    """Return what every reader is shown on the desk's day."""
    events = icalendar.Calendar.from_ical(
        desk.written("plan", WHO, "--format", "ics", "--timezone", "Europe/London", name="a.ics")
    ).walk("VEVENT")
    return Shown(
        plan=json.loads(desk.type("plan", WHO, "--format", "json")),
        for_client=json.loads(desk.type("plan", WHO, "--format", "json", "--for", "client")),
        # The whole for the coach, what is printed by default for the client.
        texts={
            "coach": desk.type("plan", WHO, "--full"),
            "client": desk.type("plan", WHO, "--for", "client"),
        },
        pages={
            who: _bare(desk.written("plan", WHO, "--format", "html", "--for", who, name="a.html"))
            for who in ("coach", "client")
        },
        week=desk.type("week", WHO, code=None),
        sheet=desk.type("week", WHO, "--log-sheet", code=None),
        events=[
            {
                "day": _day(event["DTSTART"].dt),
                "title": str(event["SUMMARY"]),
                "text": str(event.get("DESCRIPTION", "")),
            }
            for event in events
        ],
        review=desk.type("review", WHO, code=None),
        message=desk.type("review", WHO, "--message", code=None),
    )


def agree(shown: Shown) -> None:
    """Hold everything that is shown on a day against the JSON plan: version, week, figures, days."""
    _same_version(shown)
    _same_week(shown)
    _same_figures(shown)
    _same_look(shown)
    _same_review(shown)


def _same_version(shown: Shown) -> None:
    number = shown.plan["version"]["number"]
    assert shown.for_client["version"]["number"] == number
    for name, text in (*shown.texts.items(), *shown.pages.items(), ("week", shown.week)):
        assert re.search(rf"Version {number}\b", text), name
    told = {m for e in shown.events for m in re.findall(r"Version (\d+) of the plan", e["text"])}
    assert told <= {str(number)}
    if any("Version" in event["text"] for event in shown.events):
        assert told


def _same_week(shown: Shown) -> None:
    week = _joined(shown.week)
    texts = {name: _joined(text) for name, text in shown.texts.items()}
    today = dt.date.fromisoformat(shown.plan["as_of"])
    for line in shown.exercises:
        sets = f"{line.sets} set{'s' if line.sets != 1 else ''}"
        dose = f"{line.day} {line.order} {line.name}: {sets} of {line.low} to {line.high}"
        assert dose in week, dose
        assert dose in texts["coach"], dose
        times = f"{line.low}" if line.low == line.high else f"{line.low}\u2013{line.high}"
        short = rf"{line.day} {line.order} \*{{0,3}}{re.escape(line.name)}(, [\d.]+ \w+)? {line.sets} \u00d7 {times}"
        assert re.search(short, texts["client"]), short
        # The log sheet is the block's own; a week of travel has its own week beside it.
        assert line.name in shown.sheet or "Travel" in shown.week, line
        for name, page in shown.pages.items():
            assert re.search(
                rf"{re.escape(line.name)}.{{0,400}}?{line.sets} \u00d7 {line.low}\u2013{line.high}",
                page,
            ), (name, dose)
        first = today + dt.timedelta(days=(WEEKDAYS.index(line.day) - today.weekday()) % 7)
        on_day = [event["text"] for event in shown.events if event["day"] == first]
        if any(" left, rest" in text for text in on_day):
            reps = f"{line.low}" if line.low == line.high else f"{line.low} to {line.high}"
            assert any(
                f"{line.order}. {line.name}: {line.sets} x {reps}" in text for text in on_day
            ), (first, dose)


# A figure of food and how the plan's text says it.
_FIGURES = {
    "energy.target_kcal_per_day": (-1, r"(\d+) kcal a day"),
    "protein.g_per_day": (0, r"(\d+) g"),
}


def _same_figures(shown: Shown) -> None:
    assert shown.plan["facts"].keys() >= {"review.next_date", "phase.now"}
    for fact, (decimals, _) in _FIGURES.items():
        if fact not in shown.for_client["facts"]:
            continue
        figure = f"{round(shown.plan['facts'][fact]['value'], decimals):.0f}"
        assert shown.for_client["facts"][fact]["value"] == shown.plan["facts"][fact]["value"]
        for name, text in (*shown.texts.items(), *shown.pages.items()):
            assert re.search(rf"\b{figure}\b", text), (name, fact, figure)


def _same_look(shown: Shown) -> None:
    day = shown.plan["facts"]["review.next_date"]["value"]
    assert shown.for_client["facts"]["review.next_date"]["value"] == day
    for name, text in shown.texts.items():
        assert day in text, name
    looks = [e["day"] for e in shown.events if "look at the plan again" in e["title"].lower()]
    assert looks == [dt.date.fromisoformat(day)]


def _same_review(shown: Shown) -> None:
    """The review speaks of the food that the plan shows, and the message of nothing else."""
    if not re.search(r"Decision: ", shown.review):
        return  # nothing is told yet
    target = f"{round(shown.plan['facts']['energy.target_kcal_per_day']['value'], -1):.0f}"
    agreed = re.search(r"Food agreed: (\d+) kcal", shown.review)
    assert agreed is None or agreed[1] == target
    for moves in re.findall(r"energy to aim for: (\d+) kcal a day -> (\d+)", shown.review):
        assert moves[0] == target
    figures = set(re.findall(r"\d+", shown.review))
    told = set(re.findall(r"(\d+) kcal", shown.message))
    assert told <= figures, (told, shown.message)


def _bare(page: str) -> str:
    """Return the words of a page, without its marks."""
    return _joined(html.unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", page, flags=re.DOTALL)))


def _joined(text: str) -> str:
    """Return a text without line breaks in sentences."""
    return re.sub(r"\s+", " ", text)


def _day(value: dt.date | dt.datetime) -> dt.date:
    return value.date() if isinstance(value, dt.datetime) else value
