"""The log in words: plain rows for a coach's terminal."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from assistant.audit.entry import DecisionEntry, Entry, FactShown, OverrideEntry, PlainValue
from assistant.audit.replay import Replayed, fact_words, value_words
from assistant.plan.phrases import wrapped

_MOST_CHANGES = 8


def list_rows(entries: Iterable[Entry]) -> list[str]:
    """Return a head and one row for each entry."""
    rows = [f"{'No.':>5}  {'Day':10}  {'Client':14}  {'Screen':9}  What"]
    for entry in entries:
        if isinstance(entry, DecisionEntry):
            what = f"plan for the {entry.audience}, {len(entry.outcome.fired)} rules fired, {entry.engine}"
            rows.append(
                f"{entry.sequence:>5}  {entry.as_of:10}  {entry.client:14}  "
                f"{entry.outcome.level:9}  {what}"
            )
        else:
            what = f"change of {entry.decision}: {entry.line} {_change(entry)}, by {entry.by}"
            rows.append(f"{entry.sequence:>5}  {entry.written[:10]:10}  {'':14}  {'':9}  {what}")
    return rows


def decision_rows(
    entry: DecisionEntry, changes: Sequence[OverrideEntry], hides: Callable[[str], bool]
) -> list[str]:
    """Return a decision in full: where it came from, what it said, and what was changed since.

    hides: tells whether a fact shows what the screen withheld; its figure is then left out here, too.
    """
    book = entry.book
    rows = [
        f"Decision {entry.sequence} ({entry.id}) for client {entry.client}, as of {entry.as_of}",
        f"Written {entry.written}, printed for the {entry.audience}",
        f"Rule book {book.version}, logic {book.logic_hash[:12]}, content {book.content_hash[:12]}",
        f"Engine {entry.engine}",
        f"Plan hash {entry.outcome.plan_hash}",
        f"Screen: {entry.outcome.level}",
    ]
    rows += [f"  flag {flag}" for flag in entry.outcome.flags]
    rows += [f"Own setting: {name} = {value:g}" for name, value in sorted(book.house.items())]
    for name, told in sorted((book.laid_over or {}).items()):
        rows += wrapped(f"House folder: {name.replace(':', ' ')}: {told}")
    for decided in entry.decisions:
        rows += wrapped(
            f"{decided.kind.replace('_', ' ').capitalize()}: {decided.flag}, {decided.since} to "
            f"{decided.until}, by {decided.by}: {decided.reason}"
        )
    if entry.set_aside:
        rows.append(f"Before it a torn line of {entry.set_aside['bytes']} bytes was set aside.")
    rows += ["", "Answers"]
    rows += [
        f"  {key}: {'withheld' if hides(key) else value_words(value)}"
        for key, value in sorted(entry.answers.items())
    ]
    if entry.measured:
        rows += ["", "Told by the client's record"]
    rows += [
        f"  {key}: {'withheld' if hides(key) else fact_words(fact)}"
        for key, fact in sorted(entry.measured.items())
    ]
    rows += ["", "Conclusions"]
    rows += [f"  {key}: {fact_words(fact)}" for key, fact in sorted(entry.outcome.facts.items())]
    rows += ["", "Lines of the plan, each with the rule behind it"]
    rows += [f"  {key}: {line.rule or '-'}" for key, line in entry.outcome.lines.items()]
    if entry.week is not None:
        rows += ["", f"Sessions (seed {entry.week.seed})"]
        for day, lines in entry.week.sessions.items():
            rows += [f"  {day}", *(f"    {line}" for line in lines)]
    for title, names in (
        ("Fired", entry.outcome.fired),
        ("Blocked", entry.outcome.blocked_by),
        ("Lack an answer", entry.outcome.needs),
        ("Gave way", entry.outcome.overridden),
        ("Assumed", entry.outcome.assumptions),
    ):
        rows += [
            "",
            f"{title} ({len(names)})",
            *(wrapped(", ".join(names), "  ", "    ") if names else ()),
        ]
    rows += ["", f"Changes by hand ({len(changes)})"]
    for change in changes:
        rows += wrapped(
            f"{change.sequence}: {change.line} {_change(change)}, by {change.by}: {change.reason}",
            "  ",
            "    ",
        )
    return rows


def override_row(body: Mapping[str, Any]) -> str:
    """Return what a change that was just written down says."""
    was, to = value_words(_plain(body["was"])), value_words(_plain(body["to"]))
    return f"Written down: decision {body['decision']}, {body['line']} {was} -> {to}."


def replay_rows(done: Sequence[Replayed], *, in_full: bool) -> list[str]:
    """Return every decision that would be another one, how, and a count at the end."""
    rows = []
    for one in done:
        if one.same:
            continue
        entry = one.entry
        moved = "another plan" if one.printed else "the same lines, other figures behind them"
        told = moved if one.engine else "cannot be made again"
        rows.append(f"Decision {entry.sequence} of {entry.as_of}, client {entry.client}: {told}")
        if one.same_book:
            rows += wrapped(
                "The rule book is the one of then, so the log or the program is at fault.",
                "  ",
                "    ",
            )
        if one.caused_by:
            rows += wrapped(f"because of: {', '.join(one.caused_by)}", "  ", "    ")
        shown = one.changes if in_full else one.changes[:_MOST_CHANGES]
        for change in shown:
            rows += wrapped(change, "  ", "    ")
        if len(one.changes) > len(shown):
            more = len(one.changes) - len(shown)
            rows.append(f"  and {more} more: whyplan log replay --only {entry.sequence}")
    same = sum(one.same for one in done)
    behind = sum(not one.same and not one.printed for one in done)
    books = sum(not one.same_book for one in done)
    rows.append(f"{len(done)} decisions made again: {same} the same, {len(done) - same} not.")
    if behind:
        rows.append(
            f"Of these {behind} print the same lines; only figures or rules behind them differ."
        )
    if books:
        rows.append(f"Made with another rule book than today's: {books}.")
    folders = sum(not one.same_book and bool(one.entry.book.laid_over) for one in done)
    if folders:
        told = "lay it over today's book with --house FOLDER"
        rows.append(f"Of these {folders} with a house's own folder; {told}.")
    engines = sorted({one.engine for one in done if one.engine})
    rows.append(f"Engine now: {', '.join(engines) or 'none'}.")
    return rows


def _change(entry: OverrideEntry) -> str:
    return f"{value_words(entry.was)} -> {value_words(entry.to)}"


def _plain(value: Any) -> PlainValue:
    shown: PlainValue = FactShown(value=tuple(value) if isinstance(value, list) else value).value
    return shown
