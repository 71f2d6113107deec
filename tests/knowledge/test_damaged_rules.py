"""A slip of the pen anywhere under rules/: refused with its place, or no plan is another for it.

A damage hits one token of one file: a letter is lost, doubled, swapped with the next or replaced, or
the whole token is lost. Whatever it is, nothing ends in a traceback, and what is refused says where
and what. Where a word was misspelt and the book still loads, every fact of every shipped case has
the value it had: only the words differ. A number that stays within its range is another number, and
a token that is lost may be an entry of a list; those may change a plan, and the rules' own tests and
`whyplan check` are there for them.
"""

import dataclasses
import datetime as dt
import random
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from lengths import at_length

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.knowledge import build, drafting, hashes, rules_directory
from assistant.knowledge.checks.documents import check_documents
from assistant.knowledge.contents import Contents
from assistant.knowledge.draft import Draft
from assistant.knowledge.files import SourceFile, source_files
from assistant.knowledge.flag_rules import FlagRules
from assistant.model.case import Case
from assistant.model.derivation import Run
from assistant.model.documents.flags import Flag
from assistant.model.errors import EngineFault, InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.plan import Planner, prepare
from assistant.plan.language import localised, read_language
from assistant.plan.week import catalogue_of

CASES = Path(__file__).parents[2] / "cases"
SEED = 4711
TOKEN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*|\d+(?:\.\d+)?|[^\s\w]")
PLACE = re.compile(r"rules(/[\w-]+)*(\.yaml(:\d+)?)?")


class Damage(NamedTuple):
    """One slip: where, which token, and what stands there instead."""

    file: SourceFile
    line: int
    token: str
    instead: str
    text: str

    @property
    def is_misspelling(self) -> bool:
        """A word with letters in another order, not a number, a mark, or nothing."""
        return self.token[0].isalpha() and bool(self.instead)


def slip(token: str, draw: random.Random) -> str:
    """The token with one slip of the pen, never the same."""
    while True:
        at = draw.randrange(len(token))
        other = draw.choice("abcdefghijklmnopqrstuvwxyz" if token[0].isalpha() else "0123456789")
        made = draw.choice(
            [
                token[:at] + token[at + 1 :],
                token[: at + 1] + token[at:],
                token[:at] + token[at + 1 : at + 2] + token[at : at + 1] + token[at + 2 :],
                token[:at] + other + token[at + 1 :],
                "",
            ]
        )
        if made != token:
            return made


class Book:
    """The shipped book, read again with one damaged file at a time."""

    def __init__(self, most_cases: int) -> None:
        found, problems = source_files(rules_directory())
        assert problems == []
        self.raw = {file.shown: file.path.read_bytes() for file in found}
        self.by_folder: dict[str, list[SourceFile]] = {}
        for file in found:
            self.by_folder.setdefault(file.folder or file.path.stem, []).append(file)
        self.files = found
        self.only_documents = False
        draft, problems = self.read({})
        assert problems == []
        assert draft is not None
        self.kb = drafting.knowledge_of(draft)
        self.cases = {
            path.stem: read_case(path, self.kb)
            for path in sorted(CASES.glob("*.yaml"))[:most_cases]
        }
        self.runs = self._runs(self.kb, self.cases)
        self.facts = {name: _values(run) for name, (_, run) in self.runs.items()}

    def damage(self, draw: random.Random) -> Damage:
        file = draw.choice(self.by_folder[draw.choice(sorted(self.by_folder))])
        lines = self.raw[file.shown].decode().split("\n")
        while True:
            number = draw.randrange(len(lines))
            tokens = list(TOKEN.finditer(lines[number]))
            if not tokens or lines[number].lstrip().startswith("#"):
                continue
            hit = draw.choice(tokens)
            instead = slip(hit[0], draw)
            lines[number] = lines[number][: hit.start()] + instead + lines[number][hit.end() :]
            return Damage(file, number + 1, hit[0], instead, "\n".join(lines))

    def read(self, changed: Mapping[str, bytes]) -> tuple[Draft | None, list[Problem]]:
        """The draft of the book with some files changed; the rest is not parsed again."""
        try:
            return drafting.draft_of(
                Contents(self.files, {**self.raw, **changed}), None, CALCULATORS
            )
        except InputProblems as error:
            return None, list(error.problems)

    def _runs(self, kb: KnowledgeBase, cases: Mapping[str, Case]) -> dict[str, tuple[Planner, Run]]:
        planners: dict[dt.date, Planner] = {}
        for case in cases.values():
            if case.as_of not in planners:
                planners[case.as_of] = prepare(kb, case.as_of, "clips")
        return {
            name: (planners[case.as_of], planners[case.as_of].run(case))
            for name, case in cases.items()
        }

    def come_to(self, damage: Damage) -> str:
        """What a damage comes to; asserts that it is one of the things allowed."""
        told = f"{damage.file.shown}:{damage.line}: `{damage.token}` -> `{damage.instead}`"
        self.only_documents = damage.file.kind in {"document", "language"}
        draft, problems = self.read({damage.file.shown: damage.text.encode()})
        if problems or draft is None:
            assert problems, told
            for problem in problems:
                assert PLACE.fullmatch(problem.place), (told, problem)
                assert problem.code, (told, problem)
                assert problem.text.strip(), (told, problem)
            return "refused"
        kb = drafting.knowledge_of(draft)
        if kb.content_hash == self.kb.content_hash:
            return "the same book"
        if kb.logic_hash == self.kb.logic_hash:
            localised(kb, read_language(kb, "de"))
            return "other words"
        try:
            runs = self._again(kb, damage.file)
        except (InputProblems, EngineFault):
            assert not damage.is_misspelling, told
            return "refused when a plan is made"
        now = {name: _values(run) for name, (_, run) in runs.items()}
        if now == self.facts:
            return "the same plans"
        assert not damage.is_misspelling, told
        return "another number or list"

    def _again(self, kb: KnowledgeBase, file: SourceFile) -> dict[str, tuple[Planner, Run]]:
        """Runs and pages of all cases; where only a document differs, the rules need no new run."""
        if file.kind == "document":
            runs = {
                name: (dataclasses.replace(planner, kb=kb), run)
                for name, (planner, run) in self.runs.items()
            }
        else:
            runs = self._runs(kb, {n: read_case(CASES / f"{n}.yaml", kb) for n in self.cases})
        for name, (planner, run) in runs.items():
            for audience in ("coach", "client"):
                planner.plan(self.cases[name], planner.narrator(run, audience))
        catalogue_of(kb, dt.date(2026, 1, 12))
        return runs


def _values(run: Run) -> dict[str, Any]:
    return {key: (fact.value, fact.low, fact.high) for key, fact in run.facts.items()}


class Memory:
    """What was worked out while the sound book was read, to be used again for what is still the same.

    Arguments are the same if they are the very same objects (mappings: if all their values are).
    After `close` nothing more is kept.
    """

    def __init__(self) -> None:
        self._is_open = True

    def close(self) -> None:
        self._is_open = False

    def of(self, function: Callable[..., Any]) -> Callable[..., Any]:
        kept: dict[Any, tuple[Any, Any]] = {}

        def kept_or_made(*arguments: Any) -> Any:
            key = tuple(_identity(each) for each in arguments)
            if key in kept:
                return kept[key][1]
            made = function(*arguments)
            if isinstance(made, Iterator):
                made = list(made)
            if self._is_open:
                held = [[*each.values()] if type(each) is dict else each for each in arguments]
                kept[key] = (arguments, held), made  # what is held keeps its identity
            return made

        return kept_or_made


def _identity(argument: Any) -> Any:
    if isinstance(argument, tuple | str):
        return argument
    return (*map(id, argument.values()),) if type(argument) is dict else id(argument)


@contextmanager
def damaged_book(most_cases: int) -> Iterator[Book]:
    """The book, with parsing and shaping of untouched files done once."""
    patch = pytest.MonkeyPatch()
    memory = Memory()
    rules_of_flag = memory.of(
        lambda flags, words, groups, flag, raw: FlagRules(flags, words, groups).of(flag, raw)
    )

    class MadeOnce(FlagRules):
        def of(self, flag: Flag, raw: Any) -> Iterator[Any]:
            return iter(rules_of_flag(self.flags, self.words, self.groups, flag, raw))

    for room, name in (
        *((drafting, each) for each in ("parse_bytes", "shape")),
        *((build, each) for each in ("shape", "expand", "silence_rules")),
        *((hashes, each) for each in ("_plain", "_written")),
    ):
        patch.setattr(room, name, memory.of(getattr(room, name)))
    patch.setattr(build, "FlagRules", MadeOnce)
    patch.setattr(Rule, "logic", property(memory.of(Rule.logic.fget)))

    def cross_check_whole(draft: Draft, calculators: Any, *, is_whole: bool) -> list[Problem]:
        """Only what can still be said: not of a file that is refused, nor of rules that are as ever."""
        if not is_whole:
            return []
        if book and book[0].only_documents:
            return check_documents(draft)
        return cross_check(draft, calculators, is_whole=True)

    book: list[Book] = []

    cross_check = drafting.cross_check
    patch.setattr(drafting, "cross_check", cross_check_whole)
    try:
        book.append(Book(most_cases))
        memory.close()
        yield book[0]
    finally:
        patch.undo()


def run_damages(book: Book, first: int, count: int) -> Counter[str]:
    """What so many damages come to; each has a seed of its own, so that one can be made again."""
    found: Counter[str] = Counter()
    for number in range(first, first + count):
        try:
            found[book.come_to(book.damage(random.Random(SEED + number)))] += 1
        except Exception as error:
            raise AssertionError(f"damage {number}: {error!r}") from error
    print(dict(found))
    return found


def test_damages_are_refused_or_leave_plans_as_they_are() -> None:
    with damaged_book(most_cases=3) as book:
        found = run_damages(book, 0, 60)
    assert found["refused"] > found.total() / 2
    assert found["other words"] > 0


@pytest.mark.slow
def test_many_damages_are_refused_or_leave_plans_as_they_are() -> None:
    many = at_length(20_000, in_ci=150)
    with damaged_book(most_cases=100) as book:
        assert run_damages(book, 100, many)["refused"] > many / 2
