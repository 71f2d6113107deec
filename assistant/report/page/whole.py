"""The plan as one page in a file of its own: no network, no script, for screen, phone and paper."""

import dataclasses
from collections.abc import Sequence

from jinja2 import Environment, PackageLoader, StrictUndefined

from assistant.measure import Findings
from assistant.model.history import History
from assistant.model.language import Language
from assistant.model.plan import Plan
from assistant.plan.how_to import HowToCard
from assistant.plan.sentences import Narrator
from assistant.report.audit_parts import AuditPart
from assistant.report.once import Once
from assistant.report.page.build import page_parts
from assistant.report.page.card import others_of
from assistant.report.page.log_sheet import LogSheet, line_dose, session_heading
from assistant.report.page.trends import trend_pictures
from assistant.report.page.words import FOREIGN_HTML, PageWords
from assistant.report.pictures.figure import figure_svg

__all__ = ["TEMPLATES", "Recorded", "audit_html", "cards_html", "log_sheet_html", "page_html"]

TEMPLATES = Environment(
    loader=PackageLoader("assistant.report.page"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


@dataclasses.dataclass(frozen=True)
class Recorded:
    """A client's record and what it tells on the day of the plan."""

    history: History
    found: Findings


def page_html(
    plan: Plan,
    narrator: Narrator,
    language: Language,
    english: Language,
    record: Recorded | None = None,
) -> str:
    """Return the page of a plan for its audience, the same bytes for the same plan.

    narrator: the one who worded the plan, in the same language. english: messages to fall back on.
    record: the client's record, for the trends.
    """
    words = PageWords(language, english, narrator.phrases)
    trends = () if record is None else trend_pictures(record.history, record.found, narrator, words)
    parts = page_parts(plan, narrator, words, trends)
    template = TEMPLATES.get_template("page.html")
    page = template.render(parts, is_mixed=not words.is_english)
    if FOREIGN_HTML not in page and not words.is_english:
        # Nothing on the page is untranslated, so nothing need be said about it.
        page = template.render(parts, is_mixed=False)
    return page if plan.audience == "coach" else _explained_once(page, narrator)


def _explained_once(page: str, narrator: Narrator) -> str:
    """Return a page on which a word of the trade stands once behind the plain one."""
    head, body, rest = page.partition("<body")
    return head + body + Once(narrator.kb.wording.labels.values())(rest)


def cards_html(cards: Sequence[HowToCard], words: PageWords, *, coach: bool) -> str:
    """Return how exercises are done as one page of cards to print. coach: whether what to watch is told."""
    template = TEMPLATES.get_template("cards.html")
    return template.render(
        cards=cards,
        words=words,
        told=words.told,
        html=words.html,
        coach=coach,
        others_of=others_of,
        picture_of=lambda name: figure_svg(words.phrases.kb, name, words.language.language),
    )


def audit_html(
    title: str, about: Sequence[str], parts: Sequence[AuditPart], words: PageWords
) -> str:
    """Return the audit of a plan as one page, without scripts; its links ask for nothing until followed."""
    template = TEMPLATES.get_template("audit.html")
    return template.render(title=title, about=about, parts=parts, words=words, told=words.told)


def log_sheet_html(sheet: LogSheet, words: PageWords) -> str:
    """Return the log sheet as one page to print, without scripts."""
    template = TEMPLATES.get_template("log_sheet.html")
    return template.render(
        sheet=sheet, words=words, line_dose=line_dose, session_heading=session_heading
    )
