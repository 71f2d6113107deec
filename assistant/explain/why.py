"""The rules behind a fact: what each says and read, its numbers and sources; and the weakest on the way down."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.explain.gap_words import TEST_WORDS, label_of, may_name, value_words
from assistant.explain.numbers import ParameterUse, numbers_of, parameter_use
from assistant.model.derivation import Derivation, Holds, Reading, Verdict
from assistant.model.sources import CERTAINTY_ORDER, Certainty, Source
from assistant.model.values import FactKey, fact_key, split_key
from assistant.plan.sentences import Narrator


@dataclass(frozen=True)
class Step:
    """One rule behind a fact: its sentence, what it read, the numbers and sources it used.

    derivation_id: empty for a rule that kept silent. readings: e.g. "Training days is 4, at least 3".
    named: the rule with its muscle or day and its grade. signed: what professionals said to the rule as it
    stands; for a coach.
    """

    rule_id: str
    derivation_id: str
    named: str
    sentence: str
    readings: tuple[str, ...]
    parameters: tuple[ParameterUse, ...]
    sources: tuple[Source, ...]
    grade: Certainty
    weakest: Certainty
    signed: tuple[str, ...] = ()

    @property
    def leans_on(self) -> tuple[str, ...]:
        """The sources of the rule and of its numbers."""
        of_numbers = (ref for use in self.parameters for ref in use.sources)
        return tuple(dict.fromkeys([*(source.id for source in self.sources), *of_numbers]))


def steps_behind(narrator: Narrator, key: FactKey) -> tuple[Step, ...]:
    """Return the rules behind a fact in words; nothing of a fact that the reader may not see."""
    return tuple(_step(narrator, record) for record in records_behind(narrator, key))


def records_behind(narrator: Narrator, key: FactKey) -> list[Derivation]:
    """Return the rules that made a fact; behind a No that none of them said, those that kept silent."""
    fact = narrator.run.facts.get(key)
    if fact is None or narrator.hides(key):
        return []
    if fact.derivations or fact.value is not False:
        return [narrator.run.derivation(name) for name in fact.derivations]
    return [each for each in _silent(narrator, key) if may_name(narrator, each.rule_id)]


def telling(record: Derivation) -> Iterator[tuple[int, Reading]]:
    """Yield the readings that made a rule fire or kept it silent, with their places."""
    wanted = Holds.FALSE if record.verdict is Verdict.FAILED_AT else Holds.TRUE
    of_when = record.verdict in {Verdict.FIRED, Verdict.FAILED_AT}
    for place, reading in enumerate(record.readings):
        decides = reading.holds is wanted and (reading.role == "when") == of_when
        if decides or (record.verdict is Verdict.NEEDS and reading.holds is Holds.UNKNOWN):
            yield place, reading


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


def _step(narrator: Narrator, record: Derivation) -> Step:
    rule, fired = narrator.kb.rules[record.rule_id], record.verdict is Verdict.FIRED
    sentence = f'the rule "{rule.title}" does not apply'
    if fired:
        sentence = narrator.sentence(record)
    if not may_name(narrator, rule.id):
        # A client hears nothing of single screening rules, whose ids name flags.
        screen = "of the screening questions"
        return Step(screen, record.id, screen, sentence, (), (), (), record.grade, record.weakest)
    numbers = numbers_of(narrator, record) if fired else record.parameters
    element = next(iter(record.binding.values()), None)
    return Step(
        rule.id,
        record.id,
        f"{fact_key(rule.id, element)}, {record.grade}",
        sentence,
        tuple(_reading_words(narrator, reading) for _, reading in telling(record)),
        tuple(parameter_use(narrator, name) for name in numbers),
        tuple(narrator.kb.sources[ref] for ref in record.sources),
        record.grade,
        record.weakest,
        tuple(map(str, narrator.kb.reviews_of(rule.id))) if narrator.audience == "coach" else (),
    )


def _reading_words(narrator: Narrator, reading: Reading) -> str:
    """Return what a clause read and asked for, e.g. `Training days is 4; asked for: at least 3`."""
    keys = reading.fact.split(",")
    fact_id, label = split_key(keys[0])[0], ", ".join(label_of(narrator, each) for each in keys)
    if len(keys) > 1:
        fact_id, label = "", f"number of yes among {label}"
    if any(map(narrator.hides, reading.tells_of)):
        return f"{label} read, figure left out"
    have = "not known" if reading.have is None else value_words(narrator, fact_id, reading.have)
    if reading.operator in {"status", "not_empty"} or reading.want is None:
        return f"{label} is {have}"
    several = reading.want if isinstance(reading.want, tuple) else (reading.want,)
    want = " or ".join(value_words(narrator, fact_id, each) for each in several)
    return f"{label} is {have}; asked for: {TEST_WORDS[reading.operator].format(want=want)}"
