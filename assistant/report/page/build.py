"""From a plan to what the templates are given."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from markupsafe import Markup

from assistant.model.derivation import word_in
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.sources import Source
from assistant.model.version import Place
from assistant.plan.how_to import how_to
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped
from assistant.plan.week import catalogue_of
from assistant.report.page.lines import Said, said_lines
from assistant.report.page.pictured import (
    food_pictures,
    road_pictures,
    spread_pictures,
    week_pictures,
)
from assistant.report.page.sessions import coming_next, load_notes, plates
from assistant.report.page.tomorrow import tomorrow_cards
from assistant.report.page.words import PageWords
from assistant.report.pictures.figure import figure_svg
from assistant.report.pictures.svg import Picture
from assistant.report.week_text import load, minutes_said, warm_up_said

_FIRST = "first"


def page_parts(
    plan: Plan, narrator: Narrator, words: PageWords, trends: tuple[Picture, ...] = ()
) -> dict[str, Any]:
    """Return what the page's template is filled with. trends: pictures of the client's record."""
    coach, programme = plan.audience == "coach", plan.programme
    level = word_in(narrator.run.facts, "screen.level")
    stopped = is_stopped(narrator.run)
    kb = narrator.kb
    today = dt.date.fromisoformat(plan.as_of)
    catalogue = catalogue_of(kb, today)
    cards = () if stopped or coach else tomorrow_cards(plan, catalogue, words)
    # The day on the first page is not printed again, and lines that stand in the cards are not said twice.
    on_first_page = {card.session.day for card in cards if card.session is not None}
    in_cards = {line for card in cards for line in card.lines}
    said = {s.id: said_lines(s.lines, narrator, words) for s in plan.sections}
    pictures = {
        "aim": (*road_pictures(plan, narrator, words), *spread_pictures(plan, narrator, words)),
        "food": food_pictures(plan, narrator, words),
        _evidence(plan): trends,
    }
    return {
        "words": words,
        "order": kb.plan.order,
        "label": words.phrases.label,
        "told": words.told,
        "html": words.html,
        "load": load,
        "coming_next": coming_next,
        "minutes_said": minutes_said,
        "warm_up_said": warm_up_said,
        # The coach has `whyplan exercise`; the client's page must do by itself.
        "how_to": lambda name: None if coach else how_to(kb, name, words.language),
        "picture_of": _pictures_of_exercises(plan, on_first_page, words),
        "plan": plan,
        "place": _place(plan.place, words),
        "coach": coach,
        "sessions": [s for s in programme.sessions if s.day not in on_first_page]
        if programme
        else [],
        "review": None if stopped else plan.facts.get("review.next_date"),
        "plates": plates(programme),
        "alert": {"stop": "stop", "withhold": "care", "caution": "care"}.get(level, "calm"),
        "first": next((section for section in plan.sections if section.id == _FIRST), None),
        "first_lines": [line for line in said.get(_FIRST, ()) if line.text not in in_cards],
        "cards": cards,
        "tomorrow": words.date(today + dt.timedelta(days=1), "date_weekday"),
        "week_pictures": week_pictures(programme, catalogue, kb.book.domains["muscle"], words),
        "unmet": _unmet(programme) if programme and coach else (),
        "load_notes": load_notes(programme, catalogue, words) if programme and coach else (),
        "sections": [section for section in plan.sections if section.id != _FIRST],
        "said": said,
        "pictures": pictures,
        "sources": _sources((line for lines in said.values() for line in lines), kb.sources),
        "grades": kb.grades.values(),
    }


def _pictures_of_exercises(
    plan: Plan, first_days: set[str], words: PageWords
) -> Callable[[str, str], Markup | None]:
    """Return what draws an exercise on a day: on the first that shows it, so that it is drawn once."""
    sessions = plan.programme.sessions if plan.programme else ()
    shown = sorted(sessions, key=lambda session: session.day not in first_days)
    first_on: dict[str, str] = {}
    for session in shown:
        for line in session.lines:
            first_on.setdefault(line.exercise, session.day)
    kb, language = words.phrases.kb, words.language.language

    def draw(exercise: str, day: str) -> Markup | None:
        return figure_svg(kb, exercise, language) if first_on.get(exercise) == day else None

    return draw


def _place(place: Place | None, words: PageWords) -> list[Markup]:
    """Return which version of a client's plan this is, and in which week of the block."""
    if place is None:
        return []
    version = place.version
    rows = [words.told("version", number=version.number, day=version.on)]
    if place.block_until is not None:
        over = place.block_week > (place.block_weeks or 0)
        slots = {"week": place.block_week, "weeks": place.block_weeks, "until": place.block_until}
        rows.append(words.told("block_over" if over else "block_week", **slots))
    rows += [words.told(f"away_{a.kind}", since=a.since, until=a.until) for a in place.away]
    if place.easier_until is not None:
        rows.append(words.told("lighter_week", until=place.easier_until))
    return rows


def _evidence(plan: Plan) -> str:
    """Return the section that tells what the weeks say; without a record the one on the review."""
    ids = [section.id for section in plan.sections]
    return next(
        (name for name in ("review_evidence", "review_decision", "review") if name in ids), ""
    )


def _unmet(programme: Programme) -> list[str]:
    """Return what gives way and what would help, each once."""
    said = (f"{gap.told}. {gap.remedy}" if gap.remedy else gap.told for gap in programme.unmet)
    return list(dict.fromkeys(said))


def _sources(lines: Iterable[Said], known: Mapping[str, Source]) -> list[tuple[str, Source]]:
    """Return the sources that the reasons on the page lean on, by their id."""
    used = {ref for line in lines for step in line.why for ref in step.leans_on}
    return [(ref, known[ref]) for ref in sorted(used & known.keys())]
