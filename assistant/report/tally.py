"""A tally over many clients as tables: printed, and as a page with pictures. No client stands in it."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from assistant.model.knowledge import KnowledgeBase
from assistant.model.tally import HandChange, Tally
from assistant.plan.phrases import underlined, wrapped
from assistant.report.page.whole import TEMPLATES
from assistant.report.pictures.bars import bars

_MOST_ROWS = 12
NOT_CODED = "in other words"
_NO_RULE = "no one rule"


@dataclass(frozen=True)
class Row:
    """A line of a table. of: out of how many; None where that says nothing."""

    item: str
    words: str
    count: int
    of: int | None = None


@dataclass(frozen=True)
class Table:
    """id: its name in CSV. short: printed as names alone, since all counts are the same."""

    id: str
    title: str
    rows: tuple[Row, ...]
    short: bool = False


def tables(tally: Tally, kb: KnowledgeBase, on: dt.date) -> list[Table]:
    """Return every table; what has nothing to tell has no rows."""
    plans, changes, rates = tally.plans.total(), tally.changes, tally.rates()
    titles = {rule.id: rule.title for rule in kb.rules.values()}
    codes: Mapping[str, str] = {**kb.overrides.reasons.codes, NOT_CODED: "no code before a colon"}
    coded = [kb.overrides.reasons.code_of(each.reason) or NOT_CODED for each in changes]
    became = [answer for answer in tally.referrals.values() if answer]
    roles = Counter(role for _, role in tally.referrals)
    told = Counter(role for (_, role), answer in tally.referrals.items() if answer)
    seen = Counter(role for (_, role), answer in tally.referrals.items() if answer == "yes")

    def named(rule: str) -> str:
        return titles.get(rule, "not in the book of today" if rule else "")

    return [
        Table("review", "Rules proposed for review", tuple(_proposed(tally, kb, on))),
        Table("by-rule", "Changes by hand, by rule", _counted((each.rule or _NO_RULE for each in changes),
              len(changes), titles)),
        Table("changed-in", "Plans with a rule's line changed by hand, of those it fired in",
              tuple(Row(rate.rule, named(rate.rule), rate.changed, rate.fired) for rate in rates if rate.changed)),
        Table("by-coach", "Changes by hand, by who", _counted((" ".join(each.by.split()) for each in changes), len(changes))),
        Table("by-month", "Changes by hand, by month", _in_order(each.day[:7] for each in changes)),
        Table("by-direction", "Changes by hand, by direction",
              _counted((each.direction for each in changes), len(changes))),
        Table("by-reason", "Changes by hand, by reason", _counted(coded, len(changes), codes)),
        Table("reasons", "Reasons in words", _counted(f"{each.line}: {each.reason}" for each in changes)),
        Table("by-line", "Lines most often changed by hand", _counted((each.line for each in changes), len(changes))),
        Table("referred", "Clients asked to see somebody, by whom",
              _counted(roles.elements(), len(tally.clients))),
        Table("seen", "Of those the record knows of: seen", tuple(Row(role, "", seen[role], count)
              for role, count in sorted(told.items()))),
        Table("asked", "What was said about a referral last", _counted(became, len(became))),
        Table("plans", "Plans in the log, by month", _in_order(tally.plans.elements())),
        Table("fired", "Rules by how often they fired", tuple(Row(rate.rule, named(rate.rule), rate.fired, plans)
              for rate in sorted(rates, key=lambda rate: (-rate.fired, rate.rule)) if rate.fired)),
        Table("never-fired", "Rules of the book that fired in no logged plan", tuple(Row(rule, title, 0, plans)
              for rule, title in sorted(titles.items()) if plans and not tally.fired[rule]), short=True),
    ]  # fmt: skip


def _proposed(tally: Tally, kb: KnowledgeBase, on: dt.date) -> Iterable[Row]:
    """Yield the rules to look at again: their lines are often changed, and in a good part of their plans."""
    least = kb.parameter_value("override.review_changes", on).value
    percent = kb.parameter_value("override.review_percent", on).value
    for rate in tally.rates():
        if rate.changed < least or 100 * rate.changed < percent * rate.fired:
            continue
        mine = [each for each in tally.changes if each.rule == rate.rule]
        yield Row(rate.rule, _why(mine, kb), rate.changed, rate.fired)


def _why(changes: list[HandChange], kb: KnowledgeBase) -> str:
    reasons = kb.overrides.reasons
    ways = Counter(each.direction for each in changes)
    codes = Counter(reasons.code_of(each.reason) or NOT_CODED for each in changes)
    return f"{_listed(ways)}; {_listed(codes)}"


def _listed(counts: Counter[str]) -> str:
    return ", ".join(f"{name} {count}" for name, count in _ranked(counts))


def _ranked(counts: Counter[str]) -> list[tuple[str, int]]:
    return sorted(counts.items(), key=lambda pair: (-pair[1], pair[0]))


def _counted(
    items: Iterable[str], of: int | None = None, words: Mapping[str, str] | None = None
) -> tuple[Row, ...]:
    told = words or {}
    return tuple(
        Row(name, told.get(name, ""), count, of) for name, count in _ranked(Counter(items))
    )


def _in_order(items: Iterable[str]) -> tuple[Row, ...]:
    counts = Counter(items)
    return tuple(Row(name, "", counts[name], counts.total()) for name in sorted(counts))


def tally_text(told: Iterable[Table]) -> str:
    """Return the tables for a terminal, the longest rows of each."""
    lines: list[str] = []
    for table in told:
        if not table.rows:
            continue
        lines += underlined(f"{table.title} ({len(table.rows)})")
        if table.short:
            lines += wrapped(", ".join(row.item for row in table.rows), rest="")
            continue
        for row in table.rows[:_MOST_ROWS]:
            of = f" of {row.of} ({100 * row.count / row.of:.0f} %)" if row.of else ""
            words = f". {row.words}" if row.words else ""
            lines += wrapped(f"{row.item}: {row.count}{of}{words}", "- ", "  ")
        if len(table.rows) > _MOST_ROWS:
            lines.append(f"  and {len(table.rows) - _MOST_ROWS} more, all with --format csv")
    return "\n".join(lines).strip() or "No plan is logged and nothing was changed by hand."


def tally_html(told: Iterable[Table], said: str) -> str:
    """Return the tables as one page, the counts also as pictures. said: what was counted."""
    parts = [(table, _picture(table)) for table in told if table.rows]
    template = TEMPLATES.get_template("tally.html")
    return template.render(title="Rules, changes by hand, referrals", said=said, parts=parts)


def _picture(table: Table) -> str:
    counts = [(row.item, row.count, row.of or row.count) for row in table.rows[:_MOST_ROWS]]
    return bars(f"p-{table.id}", table.title, counts).svg
