"""One client as the coach sees them: where the plan stands, the plan itself, the record, all versions."""

import dataclasses
from dataclasses import dataclass

from starlette.responses import Response

from assistant.clients.reviewing import refused
from assistant.clients.told import changed
from assistant.model.errors import InputProblems, Problem
from assistant.model.plan import Plan
from assistant.model.version import Version
from assistant.plan.sentences import Narrator
from assistant.report.page.build import page_parts
from assistant.report.page.trends import trend_pictures
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture
from assistant.report.place_text import CAUSE_WORDS
from assistant.web.sessions import Role
from assistant.web.visit import Visit


@dataclass(frozen=True)
class Told:
    """A version as a page shows it. changed: what it says otherwise than the one before."""

    version: Version
    cause: str
    changed: tuple[str, ...] = ()


def overview(visit: Visit) -> Response:
    """Show where the plan stands, what is open, and what can be done."""
    narrator, words = speaking(visit)
    person = visit.person
    place = person.place(narrator)
    parts = page_parts(_plan(visit, narrator, with_week=False), narrator, words)
    current = person.current
    return visit.show(
        "coach/client.html",
        place=place,
        rows=parts["place"],
        alert=parts["alert"],
        now=None if current is None else _told(current),
        review=parts["review"],
        edits=len(person.case.week.edits),
        by_hand=len(person.case.overrides),
        decided=len(person.case.decisions),
    )


def plan(visit: Visit) -> Response:
    """Show the plan of the day as the coach's page."""
    narrator, words = speaking(visit)
    parts = page_parts(_plan(visit, narrator), narrator, words, _trends(visit, narrator, words))
    # Only a head trainer has the rule book's pages to go on to.
    linked = visit.desk.kb.rules if visit.here.role is Role.TRAINER else ()
    return visit.show("coach/plan.html", linked=linked, **parts)


def record(visit: Visit) -> Response:
    """Show what the record tells, as pictures."""
    narrator, words = speaking(visit)
    pictures = _trends(visit, narrator, words)
    return visit.show("coach/record.html", pictures=pictures)


def versions(visit: Visit) -> Response:
    """Show every version with who and why, the last one first, and what each changed."""
    return _versions(visit)


def between(visit: Visit) -> Response:
    """Show two versions beside each other."""
    listed = visit.person.versions
    narrator, _ = speaking(visit)
    one, other = (_numbered(visit, listed, name) for name in ("one", "other"))
    return _versions(visit, beside=changed(one, other, narrator))


def speaking(visit: Visit) -> tuple[Narrator, PageWords]:
    """Return who words the client's plan of the day for the coach, and the words of the page."""
    narrator = visit.person.narrator("coach", imperial=visit.is_imperial)
    return narrator, dataclasses.replace(visit.words, phrases=narrator.phrases)


def _plan(visit: Visit, narrator: Narrator, *, with_week: bool = True) -> Plan:
    person = visit.person
    week = person.week(narrator.run) if with_week else None
    programme = None
    if week is not None:
        programme = person.with_next_loads(week.programme, week.request, narrator.run)
    made = person.planner.plan(person.case, narrator, programme)
    return dataclasses.replace(made, place=person.place(narrator))


def _trends(visit: Visit, narrator: Narrator, words: PageWords) -> tuple[Picture, ...]:
    person = visit.person
    if person.history is None or person.found is None:
        return ()
    return trend_pictures(person.history, person.found, narrator, words)


def _versions(visit: Visit, beside: list[str] | None = None) -> Response:
    narrator, _ = speaking(visit)
    listed = visit.person.versions
    told = [
        _told(version, before, narrator)
        for before, version in zip((None, *listed), listed, strict=False)
    ]
    return visit.show(
        "coach/versions.html",
        versions=told[::-1],
        beside=beside,
        refused=refused(visit.records, visit.client, visit.desk),
    )


def _numbered(visit: Visit, listed: tuple[Version, ...], name: str) -> Version:
    typed = visit.sent(name)
    found = next((version for version in listed if str(version.number) == typed), None)
    if found is None:
        text = f"`{typed[:20]}` is no version of this plan; allowed: 1 to {len(listed)}"
        raise InputProblems([Problem("Version", "unknown-number", text)])
    return found


def _told(
    version: Version, before: Version | None = None, narrator: Narrator | None = None
) -> Told:
    moved: tuple[str, ...] = ()
    if before is not None and narrator is not None:
        moved = tuple(changed(before, version, narrator))
    return Told(version, CAUSE_WORDS[version.cause], moved)
