"""Why a conclusion differs between two runs: rules that began or ceased to apply, and what fed them."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.explain.gap_words import label_of, may_name, obstacle_words
from assistant.explain.why_not import obstacles
from assistant.model.derivation import Derivation, FactValue, Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Line, Plan
from assistant.model.values import FactKey, Value, fact_key, split_key
from assistant.plan.sentences import Narrator

RuleKey = tuple[str, str | None]
_MOST_FAULTS = 2


@dataclass(frozen=True)
class NumberChange:
    """A parameter whose value in force differs."""

    id: str
    title: str
    before: str
    after: str


@dataclass(frozen=True)
class Cause:
    """One reason for a change.

    kind: `began`, `ceased` or `stayed`; `screen` where the reader hears nothing of the rule. rule: its id with the element. text: its sentence, or what
    stands against it now. roots: names of what was put in that leads here.
    """

    kind: str
    rule: str
    text: str
    roots: tuple[str, ...]


@dataclass(frozen=True)
class Side:
    """One of two plans: the compiled rules, its narrator, the plan, and the answers given."""

    book: CompiledBook
    narrator: Narrator
    plan: Plan
    given: Mapping[FactKey, Value]

    @cached_property
    def records(self) -> Mapping[RuleKey, tuple[BoundRule, Derivation]]:
        """Every rule with its record, by rule id and element."""
        pairs = zip(self.book.rules, self.narrator.run.records, strict=True)
        return {(bound.rule.id, bound.element): (bound, record) for bound, record in pairs}


class Causes:
    """Compares two runs. `changed` holds the keys of all facts that differ, answers included."""

    def __init__(self, before: Side, after: Side) -> None:
        self._before = before
        self._after = after
        old, new = before.narrator.run.facts, after.narrator.run.facts
        self.changed = frozenset(
            key for key in {*old, *new} if _plain(old.get(key)) != _plain(new.get(key))
        )
        self._numbers = {
            each.id
            for each in number_changes(
                before.narrator.kb, before.narrator.on, after.narrator.kb, after.narrator.on
            )
        }
        self._writers = self._writers_by_key()

    def of_line(self, before: Line | None, after: Line | None) -> tuple[Cause, ...]:
        """Return why a line differs, by the facts whose values stand in it."""
        keys = dict.fromkeys([*(after.facts if after else ()), *(before.facts if before else ())])
        told = [key for key in keys if key in self.changed and not self._hidden(key)]
        found = dict.fromkeys(cause for key in told[:_MOST_FAULTS] for cause in self.of(key))
        return tuple(found)

    def all_roots(self) -> tuple[str, ...]:
        """Return the names of everything put in that leads to a conclusion that differs."""
        keys = sorted(key for key in self.changed if not self._hidden(key))
        return tuple(dict.fromkeys(root for key in keys for root in self._roots(key)))

    def of(self, key: FactKey) -> Iterator[Cause]:
        """Yield why one fact differs."""
        roots = self._roots(key)
        old, new = self._deciders(self._before, key), self._deciders(self._after, key)
        unnamed = [r for r in (*old, *new) if not self._may_name(r)]
        if unnamed:
            yield Cause("screen", "", "", roots)
        old, new = [r for r in old if r not in unnamed], [r for r in new if r not in unnamed]
        for rule in (each for each in old if each not in new):
            yield Cause("ceased", fact_key(*rule), self._against(self._after, rule), roots)
        for rule in (each for each in new if each not in old):
            yield Cause("began", fact_key(*rule), self._sentence(self._after, rule), roots)
        for rule in (each for each in new if each in old):
            yield Cause("stayed", fact_key(*rule), self._sentence(self._after, rule), roots)

    def _may_name(self, rule: RuleKey) -> bool:
        narrators = (self._before.narrator, self._after.narrator)
        return all(may_name(n, rule[0]) for n in narrators if rule[0] in n.kb.rules)

    def _hidden(self, key: FactKey) -> bool:
        return self._before.narrator.hides(key) or self._after.narrator.hides(key)

    @staticmethod
    def _deciders(side: Side, key: FactKey) -> list[RuleKey]:
        run = side.narrator.run
        fact = run.facts.get(key)
        records = [run.derivation(name) for name in fact.derivations] if fact else []
        return [(r.rule_id, next(iter(r.binding.values()), None)) for r in records]

    def _sentence(self, side: Side, rule: RuleKey) -> str:
        return side.narrator.sentence(side.records[rule][1])

    def _against(self, side: Side, rule: RuleKey) -> str:
        """Say what stands against a rule that ceased to decide."""
        found = side.records.get(rule)
        if found is None:
            return "the other rule book has no such rule"
        bound, record = found
        if record.verdict is Verdict.FIRED:
            return "it still applies, but another conclusion counts"
        if record.verdict is Verdict.OVERRIDDEN:
            return "another rule takes precedence"
        if record.verdict is Verdict.NOT_IN_FORCE:
            return "it is not in force on that day"
        said = [obstacle_words(side.narrator, o) for o in obstacles(side.book, bound, record)]
        return "; ".join(dict.fromkeys(said))

    # From a change back to what was put in.

    def _roots(self, key: FactKey) -> tuple[str, ...]:
        """Return the names of what was put in that leads to a changed fact."""
        queue, seen = [key], {key}
        roots: dict[str, None] = {}
        while queue:
            current = queue.pop(0)
            fact_id, _ = split_key(current)
            declared = self._after.narrator.kb.facts.get(fact_id)
            if declared is None or declared.origin != "derived":
                roots[label_of(self._after.narrator, current) if declared else current] = None
                continue
            for rule in self._writers.get(current, ()):
                roots.update(dict.fromkeys(self._own_changes(rule)))
                for read in self._reads(rule):
                    if read in self.changed and read not in seen:
                        seen.add(read)
                        queue.append(read)
        return tuple(roots)

    def _writers_by_key(self) -> Mapping[FactKey, list[RuleKey]]:
        """Return, for each fact, the rules about it that acted differently."""
        writers: dict[FactKey, list[RuleKey]] = {}
        for rule in dict.fromkeys([*self._before.records, *self._after.records]):
            old, new = self._before.records.get(rule), self._after.records.get(rule)
            if (
                old
                and new
                and old[1].verdict == new[1].verdict
                and (old[1].conclusions == new[1].conclusions)
            ):
                continue
            for bound, _ in filter(None, (old, new)):
                for conclusion in bound.conclusions:
                    listed = writers.setdefault(conclusion.key, [])
                    if rule not in listed:
                        listed.append(rule)
        return writers

    def _own_changes(self, rule: RuleKey) -> Iterator[str]:
        """Yield what changed about the rule itself: its text, its dates, its numbers."""
        old, new = self._before.records.get(rule), self._after.records.get(rule)
        if old is None or new is None or old[1].rule_hash != new[1].rule_hash:
            yield f"rule {rule[0]} itself"
        names = {n.partition("@")[0] for pair in (old, new) if pair for n in pair[1].parameters}
        for name in sorted(names & self._numbers):
            kb = self._after.narrator.kb
            title = kb.parameters[name].title if name in kb.parameters else name
            yield title

    def _reads(self, rule: RuleKey) -> list[FactKey]:
        pairs = filter(None, (self._before.records.get(rule), self._after.records.get(rule)))
        bounds = [bound for bound, _ in pairs]
        return list(
            dict.fromkeys(ref.key for b in bounds for c in b.clauses() for ref in c.facts_read())
        )


def number_changes(
    old: KnowledgeBase, old_day: dt.date, new: KnowledgeBase, new_day: dt.date
) -> list[NumberChange]:
    """Return the parameters whose value in force differs, in the order of their ids."""
    if old is new and old_day == new_day:
        return []
    found = []
    for name in sorted({*old.parameters, *new.parameters}):
        one, other = _in_force(old, name, old_day), _in_force(new, name, new_day)
        if one != other:
            title = (new if name in new.parameters else old).parameters[name].title
            found.append(NumberChange(name, title, one, other))
    return found


def _in_force(kb: KnowledgeBase, name: str, day: dt.date) -> str:
    if name not in kb.parameters or kb.parameters[name].in_force(day) is None:
        return "none"
    return f"{kb.parameter_value(name, day).value:g}"


def _plain(fact: FactValue | None) -> tuple[Value, float | None, float | None] | None:
    return None if fact is None else (fact.value, fact.low, fact.high)
