"""What a whole plan stands on: the rules behind its lines, the weakest first, and what would flip its headlines."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from assistant.engine.compiled import CompiledBook
from assistant.engine.terms import Calculator
from assistant.explain.flip import Flipper, Search
from assistant.explain.goals import Goal
from assistant.explain.levers import levers_of
from assistant.explain.numbers import numbers_of, parameter_use
from assistant.explain.why import records_below
from assistant.model.derivation import Derivation
from assistant.model.plan import Plan
from assistant.model.rules import Rule
from assistant.model.sources import CERTAINTY_ORDER, Mark
from assistant.model.values import FactKey, Value
from assistant.plan.sentences import Narrator

# Of each headline so many combinations are judged: an audit is read on the spot, `flip` looks further.
MOST_TRIED = 60


@dataclass(frozen=True)
class Ground:
    """A rule that a plan rests on, the best mark among its sources, the lines that rest on it, and who signed it."""

    rule: Rule
    mark: Mark
    lines: tuple[str, ...]
    signed: tuple[str, ...] = ()

    @property
    def weakness(self) -> tuple[int, int, int]:
        """How little there is behind it and how much rests on it: more is weaker."""
        marks = tuple(Mark)
        grade = CERTAINTY_ORDER.index(self.rule.grade.certainty)
        return grade, marks.index(self.mark), len(self.lines)


def grounds(narrator: Narrator, plan: Plan) -> list[Ground]:
    """Return the rules behind a plan's lines that make a claim, the weakest first: by grade, by mark, by lines."""
    resting: dict[str, list[str]] = {}
    for line in (line for section in plan.sections for line in section.lines):
        for rule_id in {record.rule_id for record in records_below(narrator, line.facts)}:
            resting.setdefault(rule_id, []).append(line.id)
    kb = narrator.kb
    rules = ((kb.rules[rule_id], lines) for rule_id, lines in sorted(resting.items()))
    found = [
        Ground(
            rule, kb.best_mark(rule.source), tuple(lines), tuple(map(str, kb.reviews_of(rule.id)))
        )
        for rule, lines in rules
        if rule.kind is None
    ]
    return sorted(found, key=lambda each: each.weakness, reverse=True)


def disputed(narrator: Narrator, plan: Plan) -> list[Derivation]:
    """Return the rules behind what a plan shows where trade and literature differ, each once."""
    rules, fired = narrator.kb.rules, narrator.run.records.fired()
    told = {each.rule_id: each for each in fired if rules[each.rule_id].settled_by}
    return [each for each in told.values() if all(c.fact in plan.facts for c in each.conclusions)]


def sources_behind(narrator: Narrator, records: Iterable[Derivation]) -> dict[str, list[str]]:
    """Return the sources of rules and of their numbers, each with what cites it; the worst known stand first.

    A number that the house set has no source of the book.
    """
    found: dict[str, dict[str, None]] = {}
    for record in records:
        uses = [parameter_use(narrator, name) for name in numbers_of(narrator, record)]
        cited = [(record.rule_id, record.sources), *((use.id, use.sources) for use in uses)]
        for who, refs in cited:
            for ref in refs:
                found.setdefault(ref, {})[who] = None
    marks, sources = tuple(Mark), narrator.kb.sources
    order = sorted(found, key=lambda ref: (-marks.index(sources[ref].mark), ref))
    return {ref: list(found[ref]) for ref in order}


@dataclass(frozen=True)
class Headline:
    """A headline of a plan, the smallest change of answers that flips it, and a whole run with that change."""

    goal: Goal
    search: Search
    after: Narrator | None


def headlines(
    book: CompiledBook,
    narrator: Narrator,
    plan: Plan,
    calculators: Mapping[str, Calculator],
    run_with: Callable[[Mapping[FactKey, Value]], Narrator],
) -> Iterator[Headline]:
    """Yield what would flip each headline that a plan shows. run_with: a whole run with other answers."""
    run, facts = narrator.run, narrator.kb.facts
    closed = frozenset(key for key in levers_of(narrator.kb) if narrator.hides(key))
    shown = [key for key in narrator.kb.plan.headlines if key in plan.facts]
    flipper = Flipper(book, run, calculators, shown, closed)
    for key in shown:
        goal = Goal(key, facts[key], run.facts[key].value)
        search = flipper.find(goal, MOST_TRIED)
        after = run_with(search.flips[0].answers) if search.flips else None
        yield Headline(goal, search, after)
