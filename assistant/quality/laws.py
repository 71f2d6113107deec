"""Laws that hold over every book: a stop stops everything, and silence never lets anything through.

They are tried by whole runs from a clear person (the first of the cases that the screen lets pass), so
that a weakened flag, a dropped rule, an excuse too many or a threshold out of the way is found alike,
however the book's own tests were edited along.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from assistant.engine import CompiledBook, compile_knowledge, run_engine
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.laws import EACH_STOPS, LEFT_BY_A_STOP, SILENCE, STOPS
from assistant.model.values import Status, Value
from assistant.quality.finding import from_problems
from assistant.quality.suite import Checked, Options, Subject

_PASSES = {"none", "inform"}


def check_laws(subject: Subject, options: Options) -> Checked:
    """Try every stop and every silence; a book without flags has nothing to stop with."""
    kb = subject.book
    if not kb.flags:
        return Checked("laws", (), "no flags, so nothing to try")
    trial = _trial(kb, subject, options)
    if trial is None:
        text = "no case that the screen lets pass, so no law could be tried; name some with --cases"
        problem = Problem(kb.front_page, "no-clear-case", text)
        return Checked("laws", from_problems([problem], "laws"), "")
    found = from_problems([*trial.stops(), *trial.silences()], "laws")
    said = f"{trial.runs} runs: each stop stops everything, each silence keeps what it costs"
    return Checked("laws", found, said)


def _trial(kb: KnowledgeBase, subject: Subject, options: Options) -> "_Trial | None":
    for _, case in options.cases:
        # No later rule can change what the screen concludes, so the screen's rules are enough.
        screen = {name: rule for name, rule in kb.rules.items() if rule.stage == "screen"}
        compiled = compile_knowledge(replace(kb, rules=screen), case.as_of)
        trial = _Trial(kb, compiled, case, subject.calculators)
        level, _ = trial.outcome({})
        if level in _PASSES:
            return trial
    return None


class _Trial:
    """One clear person, to whom one thing after another is done."""

    def __init__(
        self,
        kb: KnowledgeBase,
        compiled: CompiledBook,
        case: Case,
        calculators: Mapping[str, Any],
    ) -> None:
        self.kb = kb
        self.compiled = compiled
        self.answers = case.answers
        self.on: dt.date = case.as_of
        self.calculators = calculators
        self.runs = 0

    def outcome(self, changes: Mapping[str, Value]) -> tuple[str, frozenset[str]]:
        """Return the level of the screen and what it takes out."""
        self.runs += 1
        given = {**self.answers, **changes}
        run = run_engine(self.compiled, given, self.on, "clips", self.calculators)
        level, withheld = run.facts.get("screen.level"), run.facts.get("screen.withheld")
        taken = withheld.value if withheld is not None else ()
        return (
            "none" if level is None else str(level.value),
            frozenset(taken) if isinstance(taken, tuple) else frozenset(),
        )

    def stops(self) -> Iterator[Problem]:
        """Yield stops that do not stop, or leave something in."""
        everything = frozenset(self.kb.book.domains.get("output", ())) - LEFT_BY_A_STOP
        for flag, changes in self._stopping():
            if flag not in self.kb.flags:
                yield self._told("missing-stop", flag, f"the stop `{flag}` is gone; put it back")
                continue
            try:
                level, withheld = self.outcome(changes)
            except InputProblems as wrong:
                text = f"{wrong.problems[0].text}; ask it as the shipped book does"
                yield self._told("weakened-stop", flag, text)
                continue
            left = everything - withheld
            if level != "stop" or left:
                told = ", ".join(f"{fact}: {value}" for fact, value in changes.items())
                what = f"comes to `{level}`" if level != "stop" else f"leaves in {min(left)}"
                text = f"{told} {what}; it must stop everything (`{flag}`)"
                yield self._told("weakened-stop", flag, text)

    def _stopping(self) -> Iterator[tuple[str, Mapping[str, Value]]]:
        yield from STOPS.items()
        for fact in EACH_STOPS:
            for item in self.kb.facts[fact].choices if fact in self.kb.facts else ():
                yield fact.partition(".")[2], {fact: (item,)}

    def silences(self) -> Iterator[Problem]:
        """Yield questions whose silence lets through what their tier holds back."""
        for fact in self.kb.facts.values():
            costs = SILENCE.get(fact.tier or "")
            if costs is None:
                continue
            for silence in (Status.UNKNOWN, Status.DECLINED):
                _, withheld = self.outcome({fact.id: silence})
                if costs - withheld:
                    text = (
                        f"`{fact.id}` {silence.value} lets {min(costs - withheld)} through; "
                        f"tier {fact.tier} holds it back"
                    )
                    yield Problem(self.kb.place("fact", fact.id), "silence-lets-through", text)
                    break

    def _told(self, code: str, flag: str, text: str) -> Problem:
        known = flag in self.kb.flags
        place = self.kb.place("flag", flag) if known else self.kb.front_page
        return Problem(place, code, text)
