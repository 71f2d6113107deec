"""Whom a command is about: a client in the record or a case file, made ready for the rules of the day."""

import argparse
import os
import shlex
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from assistant.casefiles import read_case
from assistant.cli.common import parse_day
from assistant.cli.record import desk_of
from assistant.clients.book import knowledge, planner
from assistant.clients.person import Person
from assistant.explain.asked import conclusion_meant
from assistant.explain.why_not import Asked as Sought
from assistant.explain.why_not import what_is_asked
from assistant.model.errors import InputProblems
from assistant.model.plan import Plan
from assistant.model.values import FactKey
from assistant.plan.phrases import wrapped
from assistant.plan.sentences import Narrator

_CASE_FILES = {".yaml", ".yml", ".json"}
# Without these the same question would be put to another book, day or record.
_GIVEN_AGAIN = ("rules", "house", "db", "as_of")


@dataclass(frozen=True)
class Asked:
    """A person with their plan, made ready for questions of one reader."""

    person: Person
    narrator: Narrator
    plan: Plan

    @property
    def lines(self) -> Mapping[str, tuple[FactKey, ...]]:
        """The facts behind each line of the plan, by line id."""
        return {line.id: line.facts for section in self.plan.sections for line in section.lines}

    def beside(self, other: Person) -> Narrator:
        """Return the narrator of a whole run of the same person as changed; what is withheld now stays so."""
        narrator = other.narrator(self.narrator.audience, imperial=self.narrator.phrases.imperial)
        return narrator.beside(self.narrator.run)


def case_file(who: str) -> Path | None:
    """Return the case file that is meant; None where a client's name is."""
    path = Path(who)
    is_file = path.suffix in _CASE_FILES or os.sep in who or path.is_file()
    return path if is_file else None


def person_of(args: argparse.Namespace, who: str) -> Person:
    """Return the person a command is about, as they stand on the day of the command.

    A case file is planned for `--as-of`, else for the last day of the record beside it, else for its
    own day; a client for `--as-of`, else for today. Raises InputProblems.
    """
    path, record = case_file(who), getattr(args, "record", None)
    if path is None:
        with desk_of(args).opened() as records:
            return desk_of(args).standing(records, who)
    kb = knowledge(args.rules, args.house)
    case = read_case(path, kb)
    history = last = None
    if record is not None:
        from assistant.cli.record_file import last_day, record_of

        history = record_of(args, kb, case.as_of)
        last = last_day(history)
    on = parse_day(args.as_of) if args.as_of else last or case.as_of
    return Person(case, planner(args.rules, args.house, on, args.engine), history)


def asked_about(args: argparse.Namespace) -> Asked:
    """Return the person of a command with `--for` and the common options. Raises InputProblems."""
    person = person_of(args, args.who)
    narrator = person.narrator(args.audience, imperial=args.imperial)
    return Asked(person, narrator, person.planner.plan(person.case, narrator))


def what_is_meant(one: Asked, typed: str, *, in_words: bool = True) -> Sought:
    """Return the rule or conclusion that a name or, as `why` takes them, words mean. Raises InputProblems."""
    try:
        return what_is_asked(one.narrator, one.lines, typed)
    except InputProblems:
        if not in_words or not typed.replace(" ", "").isalpha():
            raise
        return Sought(keys=(conclusion_meant(one.plan, one.narrator, typed),))


def print_by_hand(narrator: Narrator, keys: Iterable[FactKey]) -> None:
    """Say of facts that were set by hand that they were: no rule and no answer moves those."""
    for key in keys:
        said = "" if narrator.hides(key) else narrator.by_hand(key)
        if said:
            print("\n".join(wrapped(said)))


def command_again(args: argparse.Namespace, name: str, *more: str) -> str:
    """Return a command about the same person for the same reader, as it is typed."""
    given = ((f"--{each.replace('_', '-')}", getattr(args, each, None)) for each in _GIVEN_AGAIN)
    more += tuple(str(word) for pair in given if pair[1] is not None for word in pair)
    words = shlex.join([args.who, *more])
    return f"whyplan {name} {words}" + (" --for client" if args.audience == "client" else "")
