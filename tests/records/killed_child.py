"""Checks in line by line, keeps versions of a plan, and says which lines are confirmed; a test kills it at any moment.

One process loads the program and forks a child for each request, so that a kill comes cheap and
hits the writing, not the loading. A request is a line on stdin: the record and the file to which
the child writes the number of each confirmed line.
"""

import datetime as dt
import os
import sys

import alembic.command  # loaded before any child works
import alembic.config  # noqa: F401

from assistant.model.entries import Entry
from assistant.model.wishes import WeekWishes
from assistant.records.chain import NewLine
from assistant.records.projection import answers_line, entry_line
from assistant.records.store import open_records
from assistant.records.versions import version_lines

DAY = dt.date(2026, 1, 12)


def work(path: str, confirmed: str) -> None:
    told = os.open(confirmed, os.O_WRONLY | os.O_APPEND)
    with open_records(path, DAY) as records:
        client = records.client("ines-farrow")
        while True:
            client = records.append(client, _next(client.lines))
            os.write(told, f"{client.lines}\n".encode())


def _next(lines: int) -> list[NewLine]:
    """Return what is written next: a weight, or every third time an edit with the version it makes."""
    day = DAY - dt.timedelta(days=lines % 300)
    if lines % 3:
        return [entry_line(Entry("weight_kg", day, 60.0 + lines / 1000), DAY)]
    facts = {"review.next_date": DAY.isoformat(), "dose.sets_per_week[lats]": float(lines)}
    week = {"style": "moderate", "days": {"mon": [["thrust_machine", 1 + lines % 5]]}}
    digest = {"as_of": DAY.isoformat(), "level": "none", "facts": facts, "week": week}
    return [
        answers_line({}, DAY, week=WeekWishes(likes=("thrust_machine",))),
        *version_lines(digest, DAY, "edit", "L. Marrow", f"change {lines}"),
    ]


def main() -> None:
    for request in sys.stdin:
        path, confirmed = request.rstrip("\n").split("\t")
        child = os.fork()
        if child == 0:
            try:
                work(path, confirmed)
            finally:
                os._exit(3)  # only a kill ends the work
        print(child, flush=True)
        print(os.waitpid(child, 0)[1], flush=True)


if __name__ == "__main__":
    main()
