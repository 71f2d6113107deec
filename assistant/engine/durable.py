"""durable_rules, driven through its C module and kept to the part of it that is sound.

The package's own `Ruleset` and `Host` swallow exceptions (also Ctrl-C), drop work after ten
seconds and start polling threads. So this file calls the C module itself:

- Facts are `{"id", "h", "a", "v"}`: attribute `a`, value `v`, and a group `h` that keeps the number
  of first conditions small. A known absence is a fact too: `{"id", "g", "n"}`.
- The library knows a fact only by a 32-bit hash of its id. Ids are running numbers here, whose
  hashes are distinct far beyond the size of a case, so no fact is taken for a duplicate.
- `delete_state` frees memory that is only initialised once an action has run. Every ruleset
  therefore fires one harmless rule right after it is made.
- Every result code is looked at. After an error the rulesets are thrown away and made anew,
  because some errors arise in the middle of the library's work.
"""

import importlib
import json
import math
import re
import weakref
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from assistant.engine.backend import AttributeFact, Firing, installed_version, number_text
from assistant.engine.limits import MOST_FACTS_IN_A_CASE, RuleShare, shares
from assistant.engine.program import CompiledRule, Program, Test
from assistant.model.errors import EngineFault

STATE = "0"
HANDLED, MATCHES_NOTHING = 0, 1
WARM_RULE = "warm"
OPERATORS = {"!=": "$neq", ">=": "$gte", "<=": "$lte", ">": "$gt", "<": "$lt"}
FIRED_RULE = re.compile(r'\{"([a-z]+)(\d*)":')
MATCHED_FACT = re.compile(r'"c(\d+)":\{"id":"(\d+)"')


def importable() -> bool:
    """True where the C module can be imported."""
    try:
        importlib.import_module("durable_rules_engine")
    except ImportError:
        return False
    return True


class Ruleset:
    """One native ruleset with the rules of one share."""

    def __init__(self, engine: Any, program: Program, share: RuleShare, number: int) -> None:
        self._engine = engine
        self.rules = tuple(share.rules)
        self.tests = share.tests
        self.absences = frozenset(share.absences)
        self._groups = share.groups
        self._most_firings = len(share.rules) + 1
        definition: dict[str, Any] = {
            f"r{rule}": self._definition(program.rules[rule]) for rule in share.rules
        }
        definition[WARM_RULE] = {"all": [{"c0": {"warm": 1}}]}
        text = _json(definition)
        self.handle = engine.create_ruleset(f"whyplan{number}", text)
        self._finalizer = weakref.finalize(self, engine.delete_ruleset, self.handle)
        self._warm_up()

    def close(self) -> None:
        """Free the native memory; further calls do nothing."""
        self._finalizer()

    def attribute_fact(self, fact: AttributeFact) -> int | None:
        """Assert an attribute fact; return the state to run, or None if nothing tests its value."""
        number, attribute, value = fact
        shown = number_text(value) if isinstance(value, float) else json.dumps(value)
        group = attribute % self._groups
        return self._assert(f'{{"id":"{number}","h":{group},"a":{attribute},"v":{shown}}}')

    def absence_fact(self, number: int) -> int | None:
        """Assert that an absence holds."""
        return self._assert(f'{{"id":"n{number}","g":{number % self._groups},"n":{number}}}')

    def run(self, state: int) -> list[str]:
        """Fire what can fire; return a text for each: the rule's name and the facts that matched."""
        messages: list[str] = []
        started = self._engine.start_action_for_state(self.handle, state)
        message = started[1] if started else None
        try:
            while message and len(messages) < self._most_firings:
                messages.append(message)
                message = self._engine.complete_and_start_action(self.handle, state)
        except BaseException:
            # Without this the state stays locked until its lease runs out.
            self._engine.abandon_action(self.handle, state)
            raise
        if message:
            self._engine.abandon_action(self.handle, state)
            raise EngineFault("durable_rules fires more often than there are rules")
        return messages

    def clear(self) -> None:
        """Forget all facts."""
        self._engine.delete_state(self.handle, STATE)

    def stored_facts(self) -> int:
        """Return how many facts the ruleset holds (for cross-checks: it writes them all out)."""
        return len(json.loads(self._engine.get_facts(self.handle, STATE)))

    def _assert(self, text: str) -> int | None:
        code, state = self._engine.assert_fact(self.handle, text)
        if code not in (HANDLED, MATCHES_NOTHING):
            raise EngineFault(f"durable_rules answered code {code} to the fact {text}")
        return int(state) if code == HANDLED else None

    def _warm_up(self) -> None:
        state = self._assert('{"id":"w","warm":1}')
        fired = [] if state is None else self.run(state)
        if len(fired) != 1:
            raise EngineFault("durable_rules did not fire its warm-up rule")
        self.clear()

    def _definition(self, rule: CompiledRule) -> dict[str, Any]:
        conditions: list[dict[str, Any]] = [
            {f"c{number}": self._condition(test)} for number, test in enumerate(rule.tests)
        ]
        if rule.absence is not None:
            group = rule.absence % self._groups
            name = f"c{len(rule.tests)}"
            conditions.append({name: {"$and": [{"g": group}, {"n": rule.absence}]}})
        # dist 0 lets one fact meet two conditions of a rule.
        return {"all": conditions, "dist": 0, "pri": rule.level}

    def _condition(self, test: Test) -> dict[str, Any]:
        comparison: dict[str, Any] = {"v": test.literal}
        if test.operator != "==":
            comparison = {OPERATORS[test.operator]: comparison}
        group = test.attribute % self._groups
        return {"$and": [{"h": group}, {"a": test.attribute}, comparison]}


class DurableBackend:
    """The rulesets of a program."""

    def __init__(self, program: Program) -> None:
        """Make the rulesets. Raises ImportError where durable_rules is not installed."""
        self._engine: Any = importlib.import_module("durable_rules_engine")
        self._program = program
        self._shares = shares(program)
        self._rulesets: list[Ruleset] = []
        self._make()

    @property
    def name(self) -> str:
        """Engine and version."""
        return f"durable_rules {installed_version('durable_rules')}"

    @contextmanager
    def case(self) -> Iterator["DurableCase"]:
        """Open the working memory of one case."""
        if not self._rulesets:
            self._make()
        case = DurableCase(self._rulesets)
        try:
            yield case
            case.clear()
        except BaseException:
            # Errors can leave the library's memory half written: start from fresh rulesets.
            self.close()
            raise

    def close(self) -> None:
        """Free all rulesets."""
        for ruleset in self._rulesets:
            ruleset.close()
        self._rulesets = []

    def _make(self) -> None:
        _check_decimal_point(self._engine)
        try:
            for number, share in enumerate(self._shares):
                self._rulesets.append(Ruleset(self._engine, self._program, share, number))
        except BaseException:
            self.close()
            raise


class DurableCase:
    """The working memory of one case: the states of all rulesets that hold a fact."""

    def __init__(self, rulesets: Sequence[Ruleset]) -> None:
        self._rulesets = rulesets
        self._fired: set[int] = set()
        self._facts = 0
        # How many facts each ruleset that took one holds.
        self._stored: dict[int, int] = {}

    def advance(
        self, level: int, facts: Sequence[AttributeFact], absent: Sequence[int]
    ) -> list[Firing]:
        """Add facts and absences, and return what fires; the absences say which level it is."""
        del level
        self._facts += len(facts) + len(absent)
        if self._facts > MOST_FACTS_IN_A_CASE:
            raise EngineFault(f"more than {MOST_FACTS_IN_A_CASE} facts in one case")
        states: dict[int, int] = {}
        for fact in facts:
            for number, ruleset in enumerate(self._rulesets):
                # What passes no test matches nothing, and the library is slow to find that out.
                if any(test.meets(fact[2]) for test in ruleset.tests.get(fact[1], ())):
                    self._take(number, ruleset.attribute_fact(fact), states)
        for absence in absent:
            for number, ruleset in enumerate(self._rulesets):
                if absence in ruleset.absences:
                    self._take(number, ruleset.absence_fact(absence), states)
        return [
            self._read(message)
            for number, state in sorted(states.items())
            for message in self._rulesets[number].run(state)
        ]

    def clear(self) -> None:
        """Forget all facts of the case."""
        for number in self._stored:
            self._rulesets[number].clear()

    def check_nothing_lost(self) -> None:
        """Raise EngineFault if a ruleset holds another number of facts than it was given."""
        for number, stored in self._stored.items():
            if self._rulesets[number].stored_facts() != stored:
                raise EngineFault("durable_rules lost a fact")

    def _take(self, number: int, state: int | None, states: dict[int, int]) -> None:
        """Note a fact that a ruleset took; there is no state where nothing tests its value."""
        if state is not None:
            states[number] = state
            self._stored[number] = self._stored.get(number, 0) + 1

    def _read(self, message: str) -> Firing:
        """Read a firing out of the library's text."""
        fired = FIRED_RULE.match(message)
        if fired is None or fired.group(1) != "r":
            raise EngineFault(f"durable_rules reported a firing that cannot be read: {message}")
        rule = int(fired.group(2))
        if rule in self._fired:
            raise EngineFault(f"durable_rules fired compiled rule {rule} twice")
        self._fired.add(rule)
        matched = sorted(
            (int(condition), int(fact)) for condition, fact in MATCHED_FACT.findall(message)
        )
        return Firing(rule, tuple(fact for _, fact in matched))


def _check_decimal_point(engine: Any) -> None:
    """Refuse to run where the locale makes the library read 1.5 as 1: comparisons would be wrong."""
    rule = {"all": [{"c0": {"$gt": {"v": 1.25}}}]}
    handle = engine.create_ruleset("decimal", _json({"r0": rule, WARM_RULE: rule}))
    try:
        code, state = engine.assert_fact(handle, '{"id":"0","v":1.5}')
        started = engine.start_action_for_state(handle, state) if code == HANDLED else None
        while started and engine.complete_and_start_action(handle, state):
            pass
    finally:
        engine.delete_ruleset(handle)
    if not started:
        raise EngineFault(
            "durable_rules does not read the decimal point here; set LC_NUMERIC=C and try again"
        )


def _json(definition: Any) -> str:
    """Return JSON in which every number is written so that the library can read it."""
    if isinstance(definition, dict):
        parts = (f"{json.dumps(name)}:{_json(value)}" for name, value in definition.items())
        return "{" + ",".join(parts) + "}"
    if isinstance(definition, list):
        return "[" + ",".join(map(_json, definition)) + "]"
    if isinstance(definition, float) and math.isfinite(definition):
        return number_text(definition)
    return json.dumps(definition)
