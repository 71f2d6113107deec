"""Walks the derivations below a fact or a plan line, one level at a time."""

from collections.abc import Sequence
from dataclasses import dataclass

from assistant.explain.gap_words import label_of, may_name
from assistant.explain.numbers import ParameterUse, numbers_of, parameter_use
from assistant.model.derivation import Derivation, Holds, Reading, Verdict
from assistant.model.sources import CERTAINTY_ORDER, Certainty
from assistant.model.values import FactKey, split_key
from assistant.plan.sentences import Narrator


@dataclass(frozen=True)
class Step:
    """One rule on the way down: its sentence, what it read, the numbers and sources it used.

    readings: what it read, e.g. "Training days is 4, at least 3". below: fact keys to walk next.
    signed: what professionals said to the rule as it stands; for a coach.
    """

    rule_id: str
    derivation_id: str
    sentence: str
    readings: tuple[str, ...]
    parameters: tuple[ParameterUse, ...]
    sources: tuple[str, ...]
    grade: Certainty
    weakest: Certainty
    below: tuple[FactKey, ...]
    signed: tuple[str, ...] = ()

    @property
    def leans_on(self) -> tuple[str, ...]:
        """The sources of the rule and of its numbers."""
        refs = [*self.sources, *(ref for use in self.parameters for ref in use.sources)]
        return tuple(dict.fromkeys(refs))


@dataclass(frozen=True)
class Explanation:
    """What is known about one fact: its value in words and the steps that led to it.

    origin: `answer`, `record`, `assumption`, `derived` or `context`. level: 0 for the fact asked about.
    by_hand: who set it by hand and what the rules say; the steps are the rules'.
    """

    key: FactKey
    label: str
    value: str
    origin: str
    level: int
    steps: tuple[Step, ...]
    by_hand: str = ""


_OPERATOR_WORDS = {
    "at_least": "at least",
    "at_most": "at most",
    "more_than": "more than",
    "less_than": "less than",
    "equals": "equal to",
    "is_not": "not",
    "one_of": "one of",
    "has": "containing",
    "lacks": "not containing",
    "not_empty": "not empty",
    "status": "answer status",
}


def explain(narrator: Narrator, key: FactKey, depth: int) -> list[Explanation]:
    """Return the explanation of a fact and of what it rests on, `depth` levels down.

    Each fact is explained once, at its first mention; hidden facts are named, never shown.
    """
    found: list[Explanation] = []
    queue: list[tuple[FactKey, int]] = [(key, 0)]
    seen: set[FactKey] = set()
    while queue:
        current, level = queue.pop(0)
        if current in seen:
            continue
        seen.add(current)
        explanation = _explain_one(narrator, current, level)
        found.append(explanation)
        if level < depth:
            below = [name for step in explanation.steps for name in step.below]
            queue.extend((name, level + 1) for name in below)
    return found


def weakest_links(narrator: Narrator, keys: Sequence[FactKey]) -> tuple[Derivation, ...]:
    """Return the rules on the way down from facts whose grade is the lowest of all, nearest first."""
    found, order = records_below(narrator, keys), CERTAINTY_ORDER
    lowest = max((order.index(each.grade) for each in found), default=0)
    named = (each for each in found if may_name(narrator, each.rule_id))
    return tuple(each for each in named if order.index(each.grade) == lowest)


def records_below(narrator: Narrator, keys: Sequence[FactKey]) -> list[Derivation]:
    """Return the rules on the way down from facts, nearest first."""
    facts = (narrator.run.facts.get(key) for key in keys)
    queue = [name for fact in facts if fact is not None for name in fact.derivations]
    found: dict[str, Derivation] = {}
    while queue:
        name = queue.pop(0)
        if name in found:
            continue
        record = found[name] = narrator.run.derivation(name)
        queue += [each for each in record.rests_on if not each.startswith("a:")]
    return list(found.values())


def _explain_one(narrator: Narrator, key: FactKey, level: int) -> Explanation:
    fact_id, _ = split_key(key)
    assumed = fact_id in narrator.run.assumptions
    origin = "assumption" if assumed else narrator.kb.facts[fact_id].origin
    fact = narrator.run.facts.get(key)
    steps: tuple[Step, ...] = ()
    if fact is not None and not narrator.hides(key):
        steps = tuple(_step(narrator, narrator.run.derivation(d)) for d in fact.derivations)
        if fact.value is False and not steps:
            steps = tuple(_silent_step(narrator, record) for record in _silent(narrator, key))
    return Explanation(
        key, label_of(narrator, key), _value_words(narrator, key), origin, level, steps,
        "" if narrator.hides(key) else narrator.by_hand(key),
    )  # fmt: skip


def _value_words(narrator: Narrator, key: FactKey) -> str:
    if narrator.hides(key):
        return "left out"
    fact_id, _ = split_key(key)
    fact = narrator.run.facts.get(key)
    if fact is None:
        return "not known"
    words = narrator.phrases.value(fact_id, fact.value)
    unit = narrator.phrases.unit_of(fact_id) if isinstance(fact.value, float | int) else ""
    spread = narrator.phrases.range(fact_id, fact.low, fact.high)
    text = f"{words} {unit}".strip() if not isinstance(fact.value, bool) else words
    return f"{text} (range {spread})" if spread and spread != words else text


def _step(narrator: Narrator, record: Derivation) -> Step:
    readings = [reading for reading in record.readings if reading.role == "when"]
    below = [reading.fact for reading in record.readings]
    below += [name.removeprefix("a:") for name in record.rests_on if name.startswith("a:")]
    for name in record.rests_on:
        if not name.startswith("a:"):
            below += [item.fact for item in narrator.run.derivation(name).conclusions]
    parameters, sentence = numbers_of(narrator, record), narrator.sentence(record)
    return _made(narrator, record, sentence, readings, parameters, record.sources, below)


def _made(
    narrator: Narrator,
    record: Derivation,
    sentence: str,
    readings: list[Reading],
    parameters: tuple[str, ...],
    sources: tuple[str, ...],
    below: list[FactKey],
) -> Step:
    known = (name for name in dict.fromkeys(below) if _is_fact(narrator, name))
    return Step(
        # A client hears nothing of single screening rules, whose ids name flags.
        record.rule_id if may_name(narrator, record.rule_id) else "of the screening questions",
        record.id,
        sentence,
        tuple(_reading_words(narrator, reading) for reading in readings),
        tuple(parameter_use(narrator, name) for name in parameters),
        sources,
        record.grade,
        record.weakest,
        tuple(name for name in known if name in narrator.run.facts),
        tuple(map(str, narrator.kb.reviews_of(record.rule_id)))
        if narrator.audience == "coach"
        else (),
    )


def _silent(narrator: Narrator, key: FactKey) -> list[Derivation]:
    """Return the records of the rules that could have said yes to a yes/no fact, but did not."""
    fact_id, index = split_key(key)
    return [
        record
        for rule_id in narrator.kb.writers.get(fact_id, ())
        for record in narrator.run.records.of_rule(rule_id)
        if any(
            c.fact == fact_id
            and (index is None or record.binding.get(c.of or "", c.of or index) == index)
            for c in narrator.kb.rules[rule_id].then
        )
    ]


def _silent_step(narrator: Narrator, record: Derivation) -> Step:
    """Say which clause kept a rule silent; the fact it read is the way further down."""
    rule = narrator.kb.rules[record.rule_id]
    wanted = Holds.FALSE if record.verdict is Verdict.FAILED_AT else Holds.TRUE
    at_fault = [
        reading
        for reading in record.readings
        if (reading.holds is wanted and (reading.role == "when") == (wanted is Holds.FALSE))
        or (record.verdict is Verdict.NEEDS and reading.holds is Holds.UNKNOWN)
    ]
    return _made(
        narrator,
        record,
        f'the rule "{rule.title}" does not apply',
        at_fault,
        record.parameters,
        tuple(use.ref for use in rule.source),
        [reading.fact for reading in at_fault],
    )


def _is_fact(narrator: Narrator, key: FactKey) -> bool:
    return split_key(key)[0] in narrator.kb.facts


def _reading_words(narrator: Narrator, reading: Reading) -> str:
    """Return what a clause read and asked, e.g. `Training days is 4, at least 3`."""
    if not _is_fact(narrator, reading.fact):
        asked = _OPERATOR_WORDS[reading.operator]
        return f"{reading.fact} {reading.have} is {asked} {reading.want}"
    fact_id, _ = split_key(reading.fact)
    label = narrator.kb.facts[fact_id].label
    if narrator.hides(reading.fact):
        return f"{label} read, figure left out"
    have = "not known" if reading.have is None else narrator.phrases.value(fact_id, reading.have)
    if reading.operator in {"status", "not_empty"} or reading.want is None:
        return f"{label} is {have}"
    want = narrator.phrases.value(fact_id, reading.want)
    unmet = "not " if reading.holds is Holds.FALSE else ""
    return f"{label} is {have}, {unmet}{_OPERATOR_WORDS[reading.operator]} {want}"
