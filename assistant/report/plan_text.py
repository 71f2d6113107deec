"""The plan as text, in the order of the page: what a reader needs first, and the whole where it is asked for."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from assistant.model.documents.page import PlanPart
from assistant.model.plan import HOUSE, Line, Plan
from assistant.model.programme import Programme, Session
from assistant.plan.phrases import WIDTH, sentence_case, underlined, wrapped
from assistant.plan.sentences import Narrator
from assistant.plan.week import catalogue_of
from assistant.report.once import Once
from assistant.report.page.sessions import load_sentences, next_session
from assistant.report.page.words import PageWords, english_words
from assistant.report.text import foot_rows, head_rows, line_rows, section_rows
from assistant.report.week_text import (
    brief_session,
    left_out_text,
    loads_text,
    minutes_said,
    open_warm_up,
    place_of,
    session_text,
    titled,
)

_FIRST = "first"


@dataclass(frozen=True)
class WeekRows:
    """The week as its reader may see it. before: what changed about it. after: what gives way.

    more: how the block runs; shown with the whole plan alone.
    """

    programme: Programme
    before: Sequence[str] = ()
    after: Sequence[str] = ()
    more: Sequence[str] = ()


@dataclass(frozen=True)
class PlanText:
    """The text of a plan. week: None where none is shown. full: with every section and all reasons."""

    plan: Plan
    narrator: Narrator
    week: WeekRows | None = None
    full: bool = False

    def text(self) -> str:
        """Return the text, in the order of `order` in rules/plan.yaml."""
        head = head_rows(self.plan, "Plan")
        rows = head if self.full else [head[0], *self._aim(head[1]), *head[2:-1]]
        for part in self.narrator.kb.plan.order:
            if self.full or part != "more":
                rows += self._part(part)
        foot = foot_rows(self.plan)
        return "\n".join([*rows, "", *(foot if self.full else foot[1:])]) + "\n"

    @property
    def example(self) -> str:
        """A name from the margin of the text, for whoever asks why."""
        if self._next is not None:
            session = self._next[0]
            return place_of(session, session.lines[0])
        return next((line.typed for line in self.plan.lines), "")

    def _aim(self, day: str) -> list[str]:
        """Return the day and what the plan goes for: the whole has a section of its own for that."""
        lines = self._read(self.plan.lines_named(self.narrator.kb.plan.cards.aim))
        return wrapped(" · ".join([day, *(line.text.removesuffix(".") for line in lines)]), "", "")

    def _part(self, part: PlanPart) -> list[str]:
        if part == "first":
            return self._sections(first=True)
        if part == "next":
            return [*self._next_session(), *self._cards()]
        return self._week() if part == "week" else self._sections(first=False)

    def _sections(self, *, first: bool) -> list[str]:
        return [
            row
            for section in self.plan.sections
            if (section.id in {_FIRST, HOUSE}) == first
            for row in section_rows(
                replace(section, lines=self._read(section.lines)),
                self.plan.audience,
                full=self.full,
            )
        ]

    @cached_property
    def _once(self) -> Once:
        return Once(self.narrator.kb.wording.labels.values())

    def _read(self, lines: Sequence[Line]) -> tuple[Line, ...]:
        """Return lines as a client reads them who has read all before them."""
        if self.plan.audience == "coach":
            return tuple(lines)
        once = self._once
        return tuple(
            replace(line, text=once(line.text), reason=once(line.reason or "")) for line in lines
        )

    @cached_property
    def _next(self) -> tuple[Session, dt.date] | None:
        if self.week is None:
            return None
        return next_session(self.week.programme, dt.date.fromisoformat(self.plan.as_of))

    @cached_property
    def _words(self) -> PageWords:
        return english_words(self.narrator.phrases)

    def _session(self, session: Session, title: str, *, lined: bool = True) -> list[str]:
        assert self.week is not None
        programme, phrases = self.week.programme, self.narrator.phrases
        if self.full:
            rows = session_text(session, programme, phrases, self.narrator.audience)
        else:
            rows = brief_session(session, programme, self._words, self.narrator.audience)
        said = minutes_said(session, self._words)
        head = f"{title}, {said}"
        if len(head) > WIDTH:
            head, rows = title, [sentence_case(said), *rows]
        return [*(underlined(head) if lined else ["", head]), *rows]

    def _next_session(self) -> list[str]:
        cards = self.narrator.kb.plan.cards
        if self.week is None or self._next is None:
            return self._lines(self.plan.lines_named(cards.no_sessions))
        session, day = self._next
        kind = self.narrator.phrases.label(session.type)
        when = self._words.date(day, "date_weekday")
        rows = self._session(session, self._words.say("text_next", day=when, type=kind))
        rows += left_out_text(self.week.programme)
        if not self.full:
            first = open_warm_up(self.week.programme, self._words)
            stop, note = self._words.say("session_stop"), self._words.say("label_week_note")
            notes = [stop, note, *first, *self._plain_loads()]
            said = " ".join(notes)
            rows += wrapped(said, "", "")
            # What the first section has already said stands there.
            cautions = [each for each in cards.meanwhile if not each.startswith("screen.")]
            rows += self._lines(self.plan.lines_named(tuple(cautions)))
        return rows

    def _plain_loads(self) -> list[str]:
        assert self.week is not None
        catalogue = catalogue_of(self.narrator.kb, self.narrator.on)
        return load_sentences(self.week.programme, catalogue, self._words)

    def _loads(self) -> list[str]:
        """Return how loads are found: for a coach by exercise, for a client in plain words."""
        assert self.week is not None
        if self.plan.audience == "client":
            return self._plain_loads()
        return loads_text(self.week.programme, self.narrator.phrases)

    def _cards(self) -> list[str]:
        cards = self.narrator.kb.plan.cards
        wanted = (*cards.food_figures, *cards.food, *cards.move, *cards.sleep, *cards.dates)
        lines = self.plan.lines_named(wanted)
        return [*underlined(self._words.say("text_cards")), *self._lines(lines)] if lines else []

    def _lines(self, lines: Sequence[Line]) -> list[str]:
        return line_rows(self._read(lines), self.plan.audience, full=self.full)

    def _week(self) -> list[str]:
        if self.week is None:
            return []
        rows = [*self.week.before]
        for session in self.week.programme.sessions:
            if self._next is None or session != self._next[0]:
                label = self.narrator.phrases.label
                title = f"{label(session.day)}: {label(session.type)}"
                rows += self._session(session, title, lined=self.full)
        if self.full:
            rows += titled("When to stop", [self._words.say("session_stop")])
            rows += titled("Finding the loads", self._loads())
        rows += self.week.after
        return [*rows, *self.week.more] if self.full else rows
