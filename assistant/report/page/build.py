"""From a plan to what the templates are given."""

import datetime as dt

from markupsafe import Markup

from assistant.model.plan import Plan, PlanSection
from assistant.model.programme import Programme
from assistant.plan.sentences import Narrator
from assistant.plan.week import catalogue_of
from assistant.report.page.lines import said_lines, section_view
from assistant.report.page.pictured import (
    food_pictures,
    road_pictures,
    spread_pictures,
    week_pictures,
)
from assistant.report.page.sessions import (
    load_notes,
    plates,
    session_view,
    unmet_lines,
)
from assistant.report.page.shapes import Card, PageView, Said, SectionView, SessionView, SourceView
from assistant.report.page.tomorrow import tomorrow_cards
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture

_FIRST = "first"
_LABELS = (
    "exercise", "dose", "leave", "rest", "load", "why", "swaps", "read", "numbers", "sources",
    "rule", "grade", "weakest", "as_list", "gives_way", "not_chosen", "search", "grades_title",
    "sources_title", "week_note",
)  # fmt: skip


def page_view(
    plan: Plan,
    narrator: Narrator,
    words: PageWords,
    trends: tuple[Picture, ...] = (),
) -> PageView:
    """Return the whole page for the plan's audience. trends: pictures of the client's record."""
    coach, programme = plan.audience == "coach", plan.programme
    stopped = _level(narrator) == "stop"
    kb = narrator.kb
    today = dt.date.fromisoformat(plan.as_of)
    catalogue = catalogue_of(kb, today)
    tomorrow = words.date(today + dt.timedelta(days=1), "date_weekday")
    first = next((s for s in plan.sections if s.id == _FIRST), None)
    cards = () if stopped or coach else tomorrow_cards(plan, catalogue, words)
    sections = tuple(
        section_view(section, narrator, words, _beside(section, plan, narrator, words, trends))
        for section in plan.sections
        if section.id != _FIRST
    )
    first_lines = _first_lines(first, cards, narrator, words)
    plan_title = words.say("title", name=plan.case_name)
    return PageView(
        language=words.language.language,
        audience=plan.audience,
        title=words.plain(plan_title),
        name=plan.case_name,
        dates=words.html(_dates(plan, words, stopped=stopped)),
        plates=plates(programme),
        alert=_alert(narrator),
        first=first_lines,
        first_title=words.html(first.title) if first else Markup(),
        tomorrow_title=words.html(words.say("tomorrow_title", day=tomorrow)),
        tomorrow_note=words.html(words.say("tomorrow_note")),
        cards=cards,
        week_title=words.html(words.say("week_title")),
        week_pictures=week_pictures(programme, catalogue, kb.book.domains["muscle"], words),
        week_notes=_week_notes(programme, words) if coach else (),
        load_notes=load_notes(programme, catalogue, words) if programme and coach else (),
        sessions=_sessions(programme, cards, words, coach=coach),
        unmet=unmet_lines(programme, words) if programme and coach else (),
        not_chosen=_not_chosen(programme, words) if coach else (),
        search=_search(programme, words) if coach else (),
        sections=sections,
        sources=_sources(first_lines, sections, narrator) if coach else (),
        grades=_grades(narrator) if coach else (),
        language_note=_language_note(words),
        footer=(
            words.html(words.say("footer_care")),
            words.html(words.say("footer_book", version=plan.book_version,
                                 logic=plan.logic_hash[:12], engine=plan.engine)),
            *([words.html(words.say("footer_log", head=plan.log_head))] if plan.log_head else []),
        ),
        labels={name: words.html(words.say(f"label_{name}")) for name in _LABELS},
    )  # fmt: skip


def _level(narrator: Narrator) -> str:
    level = narrator.run.facts.get("screen.level")
    return str(level.value) if level is not None else "none"


def _alert(narrator: Narrator) -> str:
    """Return how the first box looks: stop, care or calm. The words in it say the same."""
    level = _level(narrator)
    if level == "stop":
        return "stop"
    return "care" if level in {"withhold", "caution"} else "calm"


def _dates(plan: Plan, words: PageWords, *, stopped: bool) -> str:
    review = plan.facts.get("review.next_date")
    if review is None or stopped:
        return words.say("dates", start=plan.as_of)
    return words.say("dates_review", start=plan.as_of, review=str(review.value))


def _first_lines(
    first: PlanSection | None, cards: tuple[Card, ...], narrator: Narrator, words: PageWords
) -> tuple[Said, ...]:
    """Return the screen's lines; those that stand in the cards below are not said twice."""
    if first is None:
        return ()
    told = {line for card in cards for line in card.lines}
    said = said_lines(first.lines, narrator, words)
    return tuple(line for line in said if line.text not in told)


def _beside(
    section: PlanSection, plan: Plan, narrator: Narrator, words: PageWords,
    trends: tuple[Picture, ...],
) -> tuple[Picture, ...]:  # fmt: skip
    if section.id == "aim":
        return (*road_pictures(plan, narrator, words), *spread_pictures(plan, narrator, words))
    if section.id == "food":
        return food_pictures(plan, narrator, words)
    return trends if section.id == _evidence(plan) else ()


def _evidence(plan: Plan) -> str:
    """Return the section that tells what the weeks say; without a record the one on the review."""
    ids = [section.id for section in plan.sections]
    return next(
        (name for name in ("review_evidence", "review_decision", "review") if name in ids), ""
    )


def _sessions(
    programme: Programme | None, cards: tuple[Card, ...], words: PageWords, *, coach: bool
) -> tuple[SessionView, ...]:
    """Return the days of the week; the one on the first page is not printed again."""
    if programme is None:
        return ()
    shown = {card.session.id for card in cards if card.session is not None}
    return tuple(
        session_view(session, words, coach=coach)
        for session in programme.sessions
        if session.day not in shown
    )


def _week_notes(programme: Programme | None, words: PageWords) -> tuple[Markup, ...]:
    if programme is None or not programme.sessions:
        return ()
    return tuple(words.html(words.free(note)) for note in programme.notes)


def _not_chosen(programme: Programme | None, words: PageWords) -> tuple[Markup, ...]:
    if programme is None:
        return ()
    return tuple(
        words.html(f"{words.phrases.label(item.exercise)}: {item.why}")
        for item in programme.not_chosen
    )


def _search(programme: Programme | None, words: PageWords) -> tuple[Markup, ...]:
    if programme is None:
        return ()
    return tuple(
        words.html(
            words.say("search_proven", phase=phase.title)
            if phase.gap_percent == 0
            else words.say("search_gap", phase=phase.title, gap=phase.gap_words)
        )
        for phase in programme.phases
    )


def _sources(
    first: tuple[Said, ...], sections: tuple[SectionView, ...], narrator: Narrator
) -> tuple[SourceView, ...]:
    used = {
        ref
        for lines in (first, *((*section.lines, *section.folded) for section in sections))
        for line in lines
        for step in line.why
        for ref in step.sources
    }
    known = narrator.kb.sources
    return tuple(
        SourceView(ref, known[ref].citation, known[ref].mark.value.replace("_", " "))
        for ref in sorted(used & known.keys())
    )


def _grades(narrator: Narrator) -> tuple[tuple[str, str], ...]:
    return tuple((str(grade.id), grade.meaning) for grade in narrator.kb.grades.values())


def _language_note(words: PageWords) -> Markup:
    return Markup() if words.is_english else words.html(words.say("language_note"))
