"""What the coach asks of a week: does it reach the targets, what gave way, how far the search got."""

from collections.abc import Mapping

from assistant.model.programme import Phase, Programme
from assistant.model.rules import Audience
from assistant.plan.phrases import Phrasebook, sentence_case
from assistant.programme.block import NextBlock
from assistant.programme.by_hand import edit_words
from assistant.programme.catalogue import Catalogue
from assistant.programme.hand import Hand
from assistant.programme.price import costs
from assistant.programme.progression import BlockWeek
from assistant.report.page.words import english_words
from assistant.report.week_text import titled

# What is told of a week beside the muscles that get too little.
_TOO_FEW_SETS = ("floor", "low", "target")
_ABOUT_DAYS = {"refused", "empty_day", "pin", "edit", "over"}


def targets_text(programme: Programme, phrases: Phrasebook) -> list[str]:
    """Return weekly sets and sessions per muscle against what was asked, priorities first."""
    points = [
        f"{sentence_case(phrases.label(m.muscle))}: {m.sets:g} {_over_days(m.sessions)}, "
        f"asked {m.target:g}{' (priority)' if m.priority else ''}"
        for m in sorted(programme.muscles, key=lambda m: (not m.priority, m.muscle))
    ]
    return titled("Sets this week (fractions counted)", points)


def _over_days(days: int) -> str:
    return f"over {days} day{'s' if days != 1 else ''}" if days else "in passing"


def gives_way_text(
    programme: Programme, phrases: Phrasebook, audience: Audience = "coach"
) -> list[str]:
    """Return what the week does not hold of what was asked, and for a coach what would buy it back."""
    if audience == "client":
        return _too_little(programme, phrases)
    points = [
        f"{sentence_case(item.told)}{'. What would help: ' + item.remedy if item.remedy else ''}"
        for item in programme.unmet
    ]
    return titled("What gives way", dict.fromkeys(points))


def _too_little(programme: Programme, phrases: Phrasebook) -> list[str]:
    """Return which muscles get too little, and what else does not fit, in plain words."""
    words = english_words(phrases)
    muscles = {m.muscle for m in programme.muscles}
    # A day or an angle too few is none of it: the sets may all be there.
    few = (gap.subject for gap in programme.unmet if gap.kind in _TOO_FEW_SETS)
    short = dict.fromkeys(muscle for muscle in few if muscle in muscles)
    points = [gap.why for gap in programme.unmet if gap.kind in _ABOUT_DAYS]
    if short:
        points += [words.say("text_too_little"), phrases.value("priority.muscles", tuple(short))]
    return titled(words.say("text_does_not_fit"), map(sentence_case, points))


def by_hand_text(hand: Hand, catalogue: Catalogue) -> list[str]:
    """Return every change by hand that is kept, in order, with why, by whom and since when."""
    points = [
        f"{number}. {edit_words(edit, catalogue.exercises)}: {edit.reason} ({edit.by}, {edit.since})"
        for number, edit in enumerate(hand.edits, start=1)
    ]
    return titled("Changed by hand", points)


def search_text(programme: Programme) -> list[str]:
    """Return how far the search got, phase by phase, and the limits with no room left."""
    rows = []
    if programme.phases:
        rows += titled("How far the search got", [_phase(phase) for phase in programme.phases])
    if programme.binding:
        rows += titled("Limits with no room left", [sentence_case(b) for b in programme.binding])
    return rows


def block_text(
    weeks: tuple[BlockWeek, ...], next_block: NextBlock, catalogue: Catalogue
) -> list[str]:
    """Return what changes from week to week, and what changes when the block ends."""
    points: list[str] = []
    start = 0
    while start < len(weeks):
        end = start
        while end + 1 < len(weeks) and weeks[end + 1].say == weeks[start].say:
            end += 1
        numbers = f"Week {weeks[start].number}"
        if end > start:
            numbers = f"Weeks {weeks[start].number} to {weeks[end].number}"
        points.append(f"{numbers}: {weeks[start].say}")
        start = end + 1
    swaps = [
        f"{catalogue.exercises[s.old].name} makes room for {catalogue.exercises[s.new].name}: {s.why}"
        for s in next_block.swaps
    ]
    kept = ", ".join(catalogue.exercises[name].name for name in next_block.kept_anchors)
    after = [sentence_case(next_block.why), *([f"These stay: {kept}"] if kept else []), *swaps]
    return [*titled("Through the block", points), *titled("When the block ends", after)]


def edit_price_text(
    before: Programme, after: Programme, phrases: Phrasebook, title: str
) -> list[str]:
    """Return what a change by hand costs and brings, under a heading."""
    return titled(title, edit_price_points(before, after, phrases))


def edit_price_points(before: Programme, after: Programme, phrases: Phrasebook) -> list[str]:
    """Return what a change by hand costs and brings: gaps, sets per muscle, minutes, lines that change."""
    points = [
        f"{sentence_case(each.gap.why)}"
        f"{'' if each.other is None else f' (before: {each.other.got:g})'}"
        for each in costs(before, after)
    ] or ["No gap that was not there before"]
    points += [f"No more: {each.gap.why}" for each in costs(after, before) if each.other is None]
    return [*points, *_moved(before, after, phrases)]


def _moved(before: Programme, after: Programme, phrases: Phrasebook) -> list[str]:
    """Return weekly sets per muscle that change, and lines that come and go."""
    had = {m.muscle: m.sets for m in before.muscles}
    changed = [
        f"{phrases.label(m.muscle)} {had.get(m.muscle, 0):g} to {m.sets:g}"
        for m in after.muscles
        if m.sets != had.get(m.muscle, 0)
    ]
    points = [f"Weekly sets that change: {', '.join(changed) or 'none'}"]
    old, new = _lines(before), _lines(after)
    for title, keys in (("Comes in", new.keys() - old.keys()), ("Leaves", old.keys() - new.keys())):
        named = [f"{new.get(k, old.get(k))} ({phrases.label(k[0])})" for k in sorted(keys)]
        if named:
            points.append(f"{title}: {', '.join(named)}")
    return points


def about_text(
    exercise: str, programme: Programme, phrases: Phrasebook, catalogue: Catalogue
) -> list[str]:
    """Return why an exercise is in the week, on which days, or why it is not."""
    name = catalogue.exercises[exercise].name
    points = [
        f"{phrases.label(session.day)}, place {line.order}, {line.sets} sets: {line.reason}"
        for session in programme.sessions
        for line in session.lines
        if line.exercise == exercise
    ]
    points += [
        f"Not in this week: {item.why}"
        for item in programme.not_chosen
        if item.exercise == exercise
    ]
    if not programme.sessions:
        points.append("There are no sessions this week")
    return titled(name, points)


def about_words(
    typed: str, programme: Programme, phrases: Phrasebook, catalogue: Catalogue
) -> list[str]:
    """Return the lines of the week that words of days and muscles mean, with their reasons.

    Empty where the words name neither, or another thing as well.
    """
    words = set(typed.casefold().replace(",", " ").split())
    days = {s.day for s in programme.sessions if _names(s.day, phrases) & words}
    muscles = {m for m in catalogue.muscles if _names(m, phrases) & words}
    meant = {name for each in (*days, *muscles) for name in _names(each, phrases)}
    if not words <= meant:
        return []
    rows = []
    for session in programme.sessions:
        points = [
            f"Place {line.order}, {line.name}, {line.sets} sets: {line.reason}"
            for line in session.lines
            if not muscles or muscles & catalogue.exercises[line.exercise].credits.keys()
        ]
        if points and (not days or session.day in days):
            rows += titled(f"{sentence_case(phrases.label(session.day))}, {session.type}", points)
    return rows


def _names(item: str, phrases: Phrasebook) -> set[str]:
    return {item, *phrases.label(item).casefold().split()}


def _lines(programme: Programme) -> Mapping[tuple[str, str], str]:
    return {(s.day, line.exercise): line.name for s in programme.sessions for line in s.lines}


def _phase(phase: Phase) -> str:
    if phase.gap_percent == 0:
        return f"{phase.title}: proven best"
    return f"{phase.title}: {phase.gap_words}"
