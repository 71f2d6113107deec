"""The decision log: its entries, whether its chain is whole, one made again, and how often rules fire."""

import datetime as dt
import tempfile
from collections import Counter
from pathlib import Path

from starlette.responses import Response

from assistant.audit.chain import Chain
from assistant.audit.entry import DecisionEntry, Entry, OverrideEntry, shaped
from assistant.audit.replay import Replayed, house_file, replay
from assistant.audit.store import read_log
from assistant.audit.tally import LogTally
from assistant.audit.words import decision_rows, replay_rows
from assistant.clients.book import planner
from assistant.model.tally import Tally
from assistant.plan import Planner
from assistant.plan.visibility import is_hidden
from assistant.web.visit import NotHere, Visit

A_PAGE = 50
MOST_RULES = 40
_HELD = "replayed"
_MOST_DIGITS = 9


def entries(visit: Visit) -> Response:
    """Show the log, newest first, and what a look at its whole chain finds."""
    path = visit.serving.log
    if path is None or not path.exists():
        return visit.show("trainer/no_log.html", path=path)
    chain, told = _read(path)
    tally = Tally()
    counting = LogTally(tally, path.name)
    for each in chain.entries if told else ():
        counting.take(each)
    by_number = list(reversed(told))
    start = _number(visit.asked("from"))
    kinds = Counter(each.kind for each in told)
    return visit.show(
        "trainer/log.html",
        entries=by_number[start : start + A_PAGE],
        decisions=kinds["decision"],
        kinds=kinds,
        problems=chain.problems,
        head=chain.head if told else "",
        start=start,
        older=start + A_PAGE if start + A_PAGE < len(by_number) else None,
        newer=max(start - A_PAGE, 0) if start else None,
        rates=tally.rates()[:MOST_RULES],
        titles={rule.id: rule.title for rule in visit.desk.kb.rules.values()},
    )


def entry(visit: Visit) -> Response:
    """Show one decision in full, with its changes, and how it came out when made again."""
    told, found = _decision(visit)
    changes = [
        each for each in told if isinstance(each, OverrideEntry) and each.decision == found.sequence
    ]
    kb, withheld = visit.desk.kb, found.outcome.withheld
    rows = decision_rows(found, changes, lambda key: is_hidden(kb, key, withheld, "coach"))
    done: object = visit.here.held.get(_HELD)
    again: list[str] = []
    if isinstance(done, Replayed) and done.entry.hash == found.hash:
        again = replay_rows([done], in_full=True)
    return visit.show("trainer/entry.html", entry=found, rows=rows, again=again)


def again(visit: Visit) -> Response:
    """Make one decision again, by the book of today with the settings of then."""
    _, found = _decision(visit)
    with tempfile.TemporaryDirectory(prefix="whyplan-") as folder:

        def planner_for(of: DecisionEntry) -> Planner:
            day = dt.date.fromisoformat(of.as_of)
            house = house_file(of, Path(folder))
            return planner(visit.serving.rules, house, day, visit.serving.engine)

        visit.here.held[_HELD] = replay(found, planner_for)
    return visit.go(f"/log/{found.sequence}#again")


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < _MOST_DIGITS else 0


def _read(path: Path) -> tuple[Chain, tuple[Entry, ...]]:
    """Return the chain of a log and its entries; none of a broken chain."""
    chain = read_log(path)
    return chain, () if chain.problems else shaped(chain.entries, path.name)


def _decision(visit: Visit) -> tuple[tuple[Entry, ...], DecisionEntry]:
    path = visit.serving.log
    if path is None or not path.exists():
        raise NotHere
    _, told = _read(path)
    number = _number(visit.path["number"])
    for each in told:
        if each.sequence == number and isinstance(each, DecisionEntry):
            return told, each
    raise NotHere
