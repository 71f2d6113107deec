"""Checks in line by line and says which lines are confirmed; a test kills it at any moment.

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
from assistant.records.fold import entry_line
from assistant.records.store import open_records

DAY = dt.date(2026, 1, 12)


def work(path: str, confirmed: str) -> None:
    told = os.open(confirmed, os.O_WRONLY | os.O_APPEND)
    with open_records(path, DAY) as records:
        client = records.client("ines-farrow")
        while True:
            day = DAY - dt.timedelta(days=client.lines % 300)
            entry = Entry("weight_kg", day, 60.0 + client.lines / 1000)
            client = records.append(client, [entry_line(entry, DAY)])
            os.write(told, f"{client.lines}\n".encode())


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
