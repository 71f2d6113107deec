"""The week as a coach's sheet."""

import textwrap

from assistant.model.programme import Line, Programme
from assistant.plan.phrases import Phrasebook, sentence_case

WIDTH = 80


def week_text(programme: Programme, phrases: Phrasebook, name: str, as_of: str) -> str:
    """Return sessions in order of days, then what gave way and how far the search got."""
    rows = [f"Week for {name}", f"As of {as_of}", "=" * 22]
    for session in programme.sessions:
        day, kind = phrases.label(session.day), phrases.label(session.type)
        title = f"{day}: {kind}, about {session.minutes:.0f} of {session.minutes_allowed} minutes"
        rows += ["", title, "-" * len(title)]
        for line in session.lines:
            rows += _line(line)
    if programme.muscles:
        rows += ["", "Hard sets this week (fractions counted)", "-" * 39]
        rows += [
            f"- {sentence_case(phrases.label(m.muscle))}: {m.sets:g} over {m.sessions} days, "
            f"asked {m.target:g}{' (priority)' if m.priority else ''}"
            for m in sorted(programme.muscles, key=lambda m: (not m.priority, m.muscle))
        ]
    if programme.unmet:
        rows += ["", "What gives way", "-" * 14]
        for item in programme.unmet:
            remedy = f" What would help: {item.remedy}" if item.remedy else ""
            rows += _wrapped(f"{item.why}{remedy}", "- ", "  ")
    rows += ["", "How far the search got", "-" * 22]
    for phase in programme.phases:
        state = "proven best" if phase.gap_percent == 0 else f"within {phase.gap_percent:.0f} %"
        rows += _wrapped(f"{phase.title}: {state}", "- ", "  ")
    rows += [w for note in programme.notes for w in _wrapped(note, "- ", "  ")]
    return "\n".join([*rows, "", "Coaching information, not medical advice."]) + "\n"


def _line(line: Line) -> list[str]:
    unit = "" if line.measure == "repetitions" else f" {line.measure}"
    dose = f"{line.sets} x {line.low} to {line.high}{unit}, {line.rir} in reserve"
    load = f"{line.load_kg:g} kg" if line.load_kg is not None else ""
    text = f"{line.order}. {line.name}: {dose}, rest {line.rest_s} s{', ' + load if load else ''}"
    rows = _wrapped(text, "", "   ")
    rows += _wrapped(f"why: {line.reason}", "   ", "   ")
    if line.substitutes:
        swaps = "; ".join(f"{item.name} ({item.changes})" for item in line.substitutes)
        rows += _wrapped(f"or: {swaps}", "   ", "   ")
    return rows


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest)
