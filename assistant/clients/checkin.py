"""A check-in: every confirmed line is on the disk before the next is asked."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.casefiles import check_answers
from assistant.clients.desk import Desk
from assistant.clients.kept import Why
from assistant.clients.rounds import due_questions, follow_up_questions
from assistant.intake.checkin.book import checkin_book
from assistant.intake.checkin.doubts import in_words
from assistant.intake.checkin.form import PREFIX, Checkin, Known, checkin_of
from assistant.intake.dialogue import Dialogue, Ending, at_first_open, replay, start
from assistant.intake.events import Confirmed, Event
from assistant.intake.quantities import UnitSystem
from assistant.model.entries import Entry
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Value, as_json
from assistant.model.version import Version
from assistant.records.asked import open_referrals
from assistant.records.chain import Line, NewLine
from assistant.records.projection import (
    answers_line,
    entry_line,
    finished_line,
    last_plan,
    last_word,
    said_line,
    said_today,
    standing,
)
from assistant.records.store import Client, Moved, Records

_SCREEN = Why("screen")


class CheckinSession:
    """One check-in of one client: what is asked, and how each answer is kept."""

    def __init__(
        self,
        desk: Desk,
        records: Records,
        client: Client,
        only: Collection[str] | None = None,
        *,
        alone: bool = False,
        units: UnitSystem = UnitSystem.METRIC,
        kb: KnowledgeBase | None = None,
        closes: bool = True,
    ) -> None:
        """Read what is known of the client up to today.

        only: the facts to ask for, of a round that follows another one; None for all of the day.
        alone: the client answers without a coach. kb: the rule book in the client's language. closes:
        whether its end is the end of the check-in of the day; a question between times is not.
        """
        self._desk, self._records, self._client = desk, records, client
        self.alone, self._units, self._closes = alone, units, closes
        self._today = desk.on
        self._kb = desk.kb if kb is None else kb
        lines = records.history(client, until=self._today)
        self._plan = last_plan(lines)
        answers = _answers(lines, self._kb, client)
        book = checkin_book(self._kb, self._today)
        due = (
            due_questions(self._kb, lines, self._plan, self._today) if only is None else tuple(only)
        )
        self._due = frozenset(due)
        self._said = said_today(lines, self._today)
        stands = last_word(lines)
        own = {fact: value for fact, value in self._said.items() if fact.startswith(PREFIX)}
        since = self._plan.get("as_of", client.added_on.isoformat())
        self._answers = answers
        roles = self._kb.screen_words.roles
        known = Known(
            stands=stands,
            answers=answers,
            withheld=self._plan.get("withheld", []),
            training_days=self._plan.get("training_days", []),
            since=dt.date.fromisoformat(since),
            due=due,
            flags=self._flags,
            open_referrals={
                each.role: roles[each.role] for each in open_referrals(lines, self._today)
            },
        )
        self.checkin: Checkin = checkin_of(self._kb, book, self._today, known)
        if only is not None:
            self.checkin = self.checkin.narrowed(only)
        self._kept = {
            fact: self.checkin.entries(fact, value)
            for fact, value in own.items()
            if fact in self.checkin.questions
        }
        self._screened = self._told = self._finished = False
        self._made: Mapping[str, Any] = {}

    @property
    def _flags(self) -> frozenset[str]:
        return frozenset(flag["id"] for flag in self._plan.get("flags", []))

    @property
    def is_finished(self) -> bool:
        """Whether every question of this round was gone through."""
        return self._finished

    def follow_up(self) -> "CheckinSession | None":
        """Return the round of questions that what was told today calls for, None where there is none."""
        if not self._finished:
            return None
        now = self._records.client(self._client.handle)
        raised = {flag["id"] for flag in self._made.get("flags", [])} - self._flags
        facts = follow_up_questions(self._kb, self._today, raised, self._said)
        if not facts:
            return None
        return CheckinSession(
            self._desk,
            self._records,
            now,
            facts,
            alone=self.alone,
            units=self._units,
            kb=self._kb,
            closes=self._closes,
        )

    def dialogue(self) -> Dialogue:
        """Return the dialogue where it stands: what was said today is not asked again."""
        form = self.checkin.form
        first = start(form, "self" if self.alone else "coach", self._units)
        asked = {slot.fact for slot in form.slots}
        given = [Confirmed(fact, value) for fact, value in self._said.items() if fact in asked]
        given += [
            Confirmed(fact, self._answers[fact])
            for fact in asked - self._due - set(self._said)
            if fact in self._answers and not fact.startswith(PREFIX)
        ]
        return at_first_open(replay(first, given))

    def greeting(self) -> list[str]:
        """Return what stands above the first question."""
        first = (
            f"Check-in of {self._client.name}, {self._today.isoformat()}. Every line is kept as "
            "soon as you press Enter; what you do not know, skip."
        )
        lines = [first]
        if self._said:
            lines.append("Going on where you left today.")
        if self._due:
            count = (
                "1 safety question is"
                if len(self._due) == 1
                else (f"{len(self._due)} safety questions are")
            )
            lines.append(f"{count} due again, so this takes longer than usual.")
        return lines

    def remember(self, event: Event) -> None:
        """Keep a confirmed answer. Raises InputProblems, with this answer alone not kept."""
        if not isinstance(event, Confirmed) or event.fact in SESSION_ONLY_FACTS:
            return
        self._said[event.fact] = event.value
        if event.fact.startswith(PREFIX):
            lines = self._entry_lines(event.fact, event.value)
        else:
            lines = self._answer_lines(event)
        self._append(lines, self._kept.get(event.fact, ()))

    def _append(self, lines: Sequence[NewLine], entries: Sequence[Entry]) -> None:
        """Append, and see what another window may have said since this one looked.

        Raises InputProblems, with these lines not kept, where it said something else about the same.
        """
        while True:
            try:
                self._client = self._records.append(self._client, lines, unless_moved=True)
            except Moved:
                now = self._records.client(self._client.handle)
                history = self._records.history(now)
                others = last_word(line for line in history if line.number > self._client.lines)
                for entry in entries:
                    other = others.get(entry.spot)
                    if other is not None and other != entry:
                        told = in_words(other, self.checkin.situation.book)
                        text = (
                            f"meanwhile another window has kept: {told}; your last line is not "
                            "kept, all before it is; start the check-in again to compare"
                        )
                        place = self._records.place.shown
                        raise InputProblems([Problem(place, "said-elsewhere", text)]) from None
                self._client = now
            else:
                return

    def _entry_lines(self, fact: str, value: Value) -> list[NewLine]:
        """Return the lines of an answer. What it said before today and no longer says goes."""
        new = self.checkin.entries(fact, value)
        before = self._kept.get(fact, ())
        spots = {entry.spot for entry in new}
        gone = [
            Entry(entry.measure, entry.day, None, entry.detail)
            for entry in before
            if entry.spot not in spots
        ]
        changed = [entry for entry in new if entry not in before]
        self._kept[fact] = new
        self._told = True
        lines = [entry_line(entry, self._today) for entry in (*gone, *changed)]
        return [said_line(fact, as_json(value), self._today), *lines]

    def _answer_lines(self, event: Confirmed) -> list[NewLine]:
        """Return an answer, and what follows for questions that no longer apply."""
        asked = {slot.fact for slot in self.checkin.form.slots}
        given = {
            **{fact: self._answers[fact] for fact in asked & set(self._answers)},
            **{fact: value for fact, value in self._said.items() if fact in asked},
        }
        settled, _ = self.checkin.form.settle(given)
        follows = {
            fact: value
            for fact, value in settled.items()
            if fact in asked
            and not fact.startswith(PREFIX)
            and fact not in SESSION_ONLY_FACTS
            and self._answers.get(fact) != value
        }
        follows[event.fact] = event.value
        self._answers = {**self._answers, **follows}
        self._screened = True
        told = {fact: as_json(value) for fact, value in follows.items()}
        return [answers_line(told, self._today)]

    def ended(self, last: Dialogue, ending: Ending, why: Why = _SCREEN) -> "Ended":
        """Close the check-in: new safety answers make a new plan at once. Raises InputProblems.

        why: what the version of new answers is kept with.
        Where no plan can be made of what was told, what was told is kept all the same.
        """
        self._finished = ending is Ending.FINISHED
        if self._finished and self._closes:
            self._client = self._records.append(self._client, [finished_line(self._today)])
        aside = ending is Ending.ASIDE or last.aside
        kept = sum(len(entries) for entries in self._kept.values())
        if aside or not (self._screened or self._told):
            return Ended(kept, aside=aside)
        name = self._client.handle
        if self._screened:
            version = self._desk.add_version(self._records, name, why)
        else:
            try:
                changed = self._desk.screen_again(self._records, name)
            except InputProblems as problems:
                return Ended(kept, not_made=problems)
            if changed is None:
                return Ended(kept)
            version = changed
        self._made = version.digest
        return Ended(
            kept,
            version,
            level_before=self._plan.get("level", "none"),
            is_of_answers=self._screened,
        )


@dataclass(frozen=True)
class Ended:
    """How a check-in ended. kept: lines that stand of it.

    aside: after a yes to the question about self-harm. version: of the plan it made, where it made one;
    is_of_answers: by safety answers, else by what was told of the days. not_made: why no plan can be made.
    """

    kept: int
    version: Version | None = None
    aside: bool = False
    level_before: str = "none"
    is_of_answers: bool = False
    not_made: InputProblems | None = None


def _answers(lines: Sequence[Line], kb: KnowledgeBase, client: Client) -> dict[str, Value]:
    """Return the answers that the present rules still allow; others are asked again."""
    answers, _ = check_answers(standing(lines).answers, kb, f"record of {client.handle}")
    return answers
