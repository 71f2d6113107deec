"""A client's pages to read: the whole plan, food and sleep, whom to see, why a line stands there."""

import re
from dataclasses import dataclass

from starlette.responses import Response

from assistant.explain.picture import pictures
from assistant.plan.language import ENGLISH
from assistant.records.asked import open_referrals
from assistant.report.page.lines import Said
from assistant.report.referral import referral_note
from assistant.web.client.data import zones
from assistant.web.client.own import Own, mark_of, own
from assistant.web.visit import NotHere, Visit

_FOOD, _SLEEP = "food", "recovery"
_SEE = ("screen.referral", "screen.ask_again", "review.date")
_FIGURE = re.compile(r"\d")
# Below this a walk down tells of single numbers of the rule book, which mean nothing to a client.
_LEVELS = 3


def plan(visit: Visit) -> Response:
    """Show the whole plan, as the printed page has it."""
    mine = own(visit)
    return visit.show("client/plan.html", here="/me/plan", tapped=True, zones=zones(), **mine.parts)


def food(visit: Visit) -> Response:
    """Show food and sleep; a figure of food only after a tap, and only where the plan shows it."""
    mine = own(visit)
    sections = {section.id: section for section in mine.parts["sections"]}
    said = mine.parts["said"]
    eaten = said.get(_FOOD, [])
    return visit.show(
        "client/food.html",
        here="/me/food",
        food=sections.get(_FOOD),
        sleep=sections.get(_SLEEP),
        plain=[line for line in eaten if not _has_figure(line)],
        figures=[line for line in eaten if _has_figure(line)],
        slept=said.get(_SLEEP, []),
        pictures=mine.parts["pictures"].get(_FOOD, ()),
        marks=marks(mine),
        words=mine.words,
    )


def _has_figure(line: Said) -> bool:
    return bool(_FIGURE.search(line.text.striptags() + line.reason.striptags()))


def marks(mine: Own) -> dict[str, str]:
    """Return the mark of each line that has a why, by the line's id."""
    return {line.id: mark_of(line.id) for line in mine.lines if line.facts}


@dataclass(frozen=True)
class ToSee:
    """Somebody to be seen. mark: what the form sends for them."""

    who: str
    mark: str


def to_see(visit: Visit) -> list[ToSee]:
    """Return everybody who is still to be seen."""
    lines = visit.records.history(visit.client, until=visit.desk.on)
    roles = visit.kb.screen_words.roles
    return [
        ToSee(roles[each.role].client, mark_of(each.role))
        for each in open_referrals(lines, visit.desk.on)
    ]


def people(visit: Visit) -> Response:
    """Show whom to see and why, and the note to hand over."""
    mine = own(visit)
    lines = [line for line in mine.lines if line.id.startswith(_SEE)]
    # The note is for a professional, so it is in the language the rules are written in.
    narrator = mine.person.narrator("coach", imperial=visit.is_imperial)
    note = referral_note(narrator, visit.client.name, alone=visit.serving.alone)
    return visit.show(
        "client/people.html",
        here="/me/people",
        lines=[(mine.words.html(line.text), mine.words.html(line.reason)) for line in lines],
        waiting=to_see(visit),
        note=note,
        is_english=visit.language == ENGLISH,
    )


def why(visit: Visit) -> Response:
    """Show why a line stands in the plan: one sentence, and what lies under it."""
    mine, asked = own(visit), visit.asked("line")
    line = next((each for each in mine.lines if each.facts and mark_of(each.id) == asked), None)
    if line is None:
        raise NotHere
    facts, hides = mine.narrator.run.facts, mine.narrator.hides
    roots = [key for key in line.facts if key in facts and not hides(key)]
    trees = list(pictures(mine.person.planner.compiled, mine.narrator, roots, _LEVELS))
    first = line.reason if line.reason != line.text else ""
    if not first:
        first = next((step.sentence for tree in trees for step in tree.steps), "")
    return visit.show(
        "client/why.html",
        line=mine.words.html(line.text),
        first=mine.words.html(first),
        trees=trees,
        words=mine.words,
    )
