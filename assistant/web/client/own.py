"""A client's own plan of the day, in the words of the page."""

import hashlib
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from assistant.clients.person import Person
from assistant.clients.worded import Reader, week_with_loads, worded
from assistant.model.plan import Line, Plan
from assistant.plan.sentences import Narrator
from assistant.report.page.build import page_parts
from assistant.report.page.trends import trend_pictures
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture
from assistant.web.visit import Visit


@dataclass(frozen=True)
class Own:
    """A client with their plan as they may read it: nothing that is withheld stands in it."""

    person: Person
    narrator: Narrator
    plan: Plan
    words: PageWords

    @cached_property
    def parts(self) -> dict[str, Any]:
        """What the templates of the plan are filled with."""
        history, found = self.person.history, self.person.found
        trends: tuple[Picture, ...] = ()
        if history is not None and found is not None:
            trends = trend_pictures(history, found, self.narrator, self.words)
        return page_parts(self.plan, self.narrator, self.words, trends)

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines of the plan, in the order of the page."""
        return tuple(line for section in self.plan.sections for line in section.lines)


def own(visit: Visit) -> Own:
    """Return the client of a visit with their plan. Raises InputProblems, NotHere."""
    person = visit.person
    run = person.run()
    reader = Reader("client", visit.words.language, imperial=visit.is_imperial)
    narrator, plan = worded(person, run, week_with_loads(person, run), reader)
    return Own(person, narrator, plan, replace(visit.words, phrases=narrator.phrases))


def mark_of(name: str) -> str:
    """Return a short name for a line or an answer that tells nothing in an address."""
    return hashlib.sha256(name.encode()).hexdigest()[:10]
