"""The claims of a book as a table that a reviewer fills in, and what is taken back from it."""

import csv
import datetime as dt
import io
import json
from collections.abc import Iterable, Iterator, Sequence

from assistant.knowledge.nearest import did_you_mean
from assistant.model.documents.reviews import Review
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.evidence import claims_of

_TOLD = ("rule", "statement", "grade", "title", "says", "settled_by", "sources")
_FILLED = ("agrees", "by", "profession", "day", "note")
COLUMNS = frozenset({*_TOLD, *_FILLED})
_YES_NO = {"yes": True, "no": False}
_HEAD = "# What professionals said to the claims of this book; written by `whyplan evidence --take-back`.\n"


def review_table(kb: KnowledgeBase) -> str:
    """Return every claim as a row of CSV (RFC 4180), with empty cells for the reviewer."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow((*_TOLD, *_FILLED))
    for rule in claims_of(kb):
        sources = "; ".join(kb.sources[use.ref].citation for use in rule.source)
        told = (
            rule.id,
            kb.statement(rule.id),
            rule.grade.certainty.value,
            rule.title,
            rule.because,
            rule.settled_by or "",
            sources,
        )
        writer.writerow((*told, *("" for _ in _FILLED)))
    return out.getvalue()


def reviews_in(
    columns: Sequence[str],
    rows: Iterable[tuple[int, Sequence[str]]],
    shown_as: str,
    kb: KnowledgeBase,
) -> list[Review]:
    """Return what a filled table says; rows without an answer say nothing. Raises InputProblems.

    rows: each with its line in the file.
    """
    missing = [name for name in (*_TOLD[:2], *_FILLED) if name not in columns]
    if missing:
        told = f"there is no column `{missing[0]}`; fill in the table of `whyplan evidence --format csv`"
        raise InputProblems([Problem(f"{shown_as}:1", "missing-column", told)])
    found: list[Review] = []
    problems: list[Problem] = []
    for line, row in rows:
        told_there = dict(zip(columns, row, strict=False))
        cells = {name: told_there.get(name, "").strip() for name in (*_TOLD[:2], *_FILLED)}
        if not cells["agrees"]:
            continue
        wrong = list(_wrong(cells, kb))
        problems += [Problem(f"{shown_as}:{line}", "bad-review", each) for each in wrong]
        if not wrong:
            said = {**cells, "agrees": _YES_NO[cells["agrees"].casefold()]}
            found.append(
                Review.model_validate({**said, "day": dt.date.fromisoformat(cells["day"])})
            )
    if problems:
        raise InputProblems(problems)
    return found


def _wrong(cells: dict[str, str], kb: KnowledgeBase) -> Iterator[str]:
    rule = cells["rule"]
    if rule not in kb.rules:
        yield f"`{rule}` is no rule of this book{did_you_mean(rule, kb.rules)}"
    elif cells["statement"] != kb.statement(rule):
        yield f"`{rule}` says something else now; look at it again in a new table"
    if cells["agrees"].casefold() not in _YES_NO:
        yield f"`agrees` is `{cells['agrees']}`; allowed: yes, no, or nothing"
    for name in ("by", "profession"):
        if not cells[name] or not cells[name].isprintable():
            yield f"`{name}` is empty; say who signs, and as what"
    try:
        dt.date.fromisoformat(cells["day"])
    except ValueError:
        yield f"`day` is `{cells['day']}`, which is not a day; write it like 2026-01-12"


def reviews_file(kept: Iterable[Review], new: Iterable[Review]) -> str:
    """Return reviews.yaml with new reviews; somebody's new word on a rule takes the place of their last."""
    by_whom = {(each.rule, each.by): each for each in (*kept, *new)}
    rows = [
        f"  - {json.dumps(by_whom[key].model_dump(mode='json'), ensure_ascii=False)}"
        for key in sorted(by_whom)
    ]
    return "\n".join((f"{_HEAD}reviews:" if rows else f"{_HEAD}reviews: []", *rows, ""))
