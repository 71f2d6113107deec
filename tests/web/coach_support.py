"""What the tests of the coach's desk share: a record with invented clients of Harrow Lane Strength, made once."""

import html
import re
import shutil
from pathlib import Path

from web_support import House

from assistant.casefiles.cases import case_of
from assistant.clients.adding import added
from assistant.clients.person import Person
from assistant.intake.checkin.book import checkin_book
from assistant.intake.quantities import UnitSystem
from assistant.intake.sheet.read import one_a_spot, read_record_sheet
from assistant.knowledge.strict_yaml import parse_text
from assistant.records.projection import entry_line
from assistant.records.store import Client

CASES = Path(__file__).parents[2] / "cases"
COACH = "Robin Vale"


def answers_of(case: str, **others: str) -> str:
    """Return the text of a case file, with other lines for some of its facts."""
    rows = (CASES / f"{case}.yaml").read_text("utf-8").split("\nexpect:")[0].splitlines()
    for fact, value in others.items():
        name = fact.replace("__", ".")
        rows = [f"  {name}: {value}" if row.startswith(f"  {name}:") else row for row in rows]
    return "\n".join(rows) + "\n"


def put_in(house: House, name: str, case: str, **others: str) -> Client:
    """Add a client to the record of a house, as a coach would."""
    desk = house.serving.desk()
    with desk.opened() as records:
        given = case_of(parse_text(answers_of(case, **others), case, plain_dates=True), desk.kb)
        return added(desk, records, name, given, COACH)


def copied(source: House, target: House) -> None:
    """Give a house the record of another one."""
    for path in source.folder.glob("records.sqlite3*"):
        shutil.copy(path, target.folder / path.name)


def with_weeks(place: House, name: str, path: Path) -> None:
    """Take the rows of a file into a client's record."""
    desk = place.serving.desk()
    book = checkin_book(desk.kb, desk.on)
    read = read_record_sheet(path, book, desk.on, UnitSystem.METRIC, None)
    lines, *_ = one_a_spot(read.found, book)
    with desk.opened() as records:
        entries = [entry_line(line.entry, line.entry.day) for line in lines]
        records.append(records.client(name), entries)


def person(place: House, name: str = "Ines Farrow") -> Person:
    desk = place.serving.desk()
    with desk.opened() as records:
        return desk.standing(records, name)


def at(place: House, name: str = "Ines Farrow") -> str:
    with place.serving.desk().opened() as records:
        return f"/desk/c/{records.client(name).token}"


def words(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))
