"""Pages of the shipped cases, made once a process: a solved week costs seconds."""

import dataclasses
from functools import cache, lru_cache
from html.parser import HTMLParser
from pathlib import Path

from shipped import planner_on

from assistant.casefiles import read_case
from assistant.clients.book import knowledge
from assistant.clients.week import week_now
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.model.plan import Plan
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.plan import Planner
from assistant.plan.language import localised, localised_run, read_language
from assistant.report.page.whole import page_html

ROOT = Path(__file__).parents[2]
NAMES = tuple(sorted(path.stem for path in (ROOT / "cases").glob("*.yaml")))
# The default run opens these; the long run opens all.
FEW = ("four_days", "refer_first", "stop_today")
# Attributes that only say where and how something is drawn.
_DRAWING = {
    "x", "y", "x1", "x2", "y1", "y2", "cx", "cy", "r", "rx", "width", "height", "d", "viewbox",
    "class", "id", "aria-labelledby", "fill", "fill-opacity", "opacity", "points", "stroke",
    "stroke-width", "stroke-dasharray", "stroke-linecap", "stroke-linejoin", "text-anchor",
    "font-size", "xmlns",
}  # fmt: skip


@lru_cache(maxsize=1)
def book() -> KnowledgeBase:
    return knowledge(None, None)


@cache
def week(name: str) -> Programme | None:
    planner = planner_of(name)
    case = read_case(ROOT / "cases" / f"{name}.yaml", book())
    week = week_now(planner, planner.run(case), case, None)
    return None if week is None else week.programme


@cache
def planner_of(name: str) -> Planner:
    return planner_on(read_case(ROOT / "cases" / f"{name}.yaml", book()).as_of)


def plan_and_page(
    name: str, audience: Audience = "client", language: Language | None = None
) -> tuple[Plan, str]:
    """Return the plan and its page; without a language in English."""
    english = read_language(book(), "en")
    language = language or english
    kb = localised(book(), language)
    planner = dataclasses.replace(planner_of(name), kb=kb)
    case = read_case(ROOT / "cases" / f"{name}.yaml", book())
    run = localised_run(planner_of(name).run(case), language)
    narrator = planner.narrator(run, audience)
    plan = planner.plan(case, narrator, week(name))
    return plan, page_html(plan, narrator, language, english)


@cache
def page(name: str, audience: Audience = "client", code: str = "en") -> str:
    return plan_and_page(name, audience, read_language(book(), code))[1]


class _Readable(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._skips = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._skips += tag == "style"
        self.found += [value for name, value in attrs if value and name not in _DRAWING]

    def handle_endtag(self, tag: str) -> None:
        self._skips -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._skips:
            self.found.append(data)


def readable(html: str) -> str:
    """Return all that can be read or heard on a page: text, titles, descriptions, attributes.

    What only places a shape is left out, and so is the style sheet.
    """
    parser = _Readable()
    parser.feed(html)
    return " ".join(" ".join(parser.found).split())
