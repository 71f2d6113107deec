"""Invented people for the decision tables: what each brings, and what our engine concludes of it.

Run as a program it writes them as JSON lines, for a reader in another language.
"""

import datetime as dt
import json
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.clients.book import knowledge
from assistant.engine import compile_knowledge, run_engine
from assistant.exchange.dmn.decisions import decisions_of, tables_of
from assistant.exchange.dmn.xml import dmn_bytes
from assistant.model.derivation import Concluded, Derivation, Run, Verdict
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Status, Value
from assistant.quality.people import People

sys.path.insert(0, str(Path(__file__).parent))
from dmn_reader import Decided, Document, read_dmn

ROOT = Path(__file__).parents[2]
DAY = dt.date(2026, 1, 12)
# The one figure that a calculator gives beforehand: kilograms at a body mass index, which is kg/m².
AT_INDEX = "body_weight_at_bmi_for_fat_loss_end_weight_kg"


def document(kb: KnowledgeBase, on: dt.date = DAY) -> bytes:
    made = [each for table in tables_of(kb) for each in decisions_of(kb, table, on)[0]]
    return dmn_bytes(kb, "all", made, on)


def _name(key: FactKey) -> str:
    return key.replace(".", "_").replace("[", "_of_").rstrip("]")


def context(kb: KnowledgeBase, inputs: Document, facts: Mapping[FactKey, Value]) -> dict[str, Any]:
    """Every input of the document by its name, by the document's own words on null, false and empty."""
    held: dict[str, Any] = {}
    for key, value in facts.items():
        held[_name(key)] = None if isinstance(value, Status) else value
        held[f"{_name(key)}_status"] = value.value if isinstance(value, Status) else "known"
    for fact in kb.facts.values():
        unsaid = {FactType.CHOICES: (), FactType.BOOLEAN: False}.get(fact.type)
        unknown = None if fact.origin in {"answer", "record"} else unsaid
        for key in [
            fact.id,
            *(f"{fact.id}[{e}]" for e in kb.book.domains.get(fact.index or "", ())),
        ]:
            held.setdefault(_name(key), unknown)
            held.setdefault(f"{_name(key)}_status", "unknown")
    if isinstance(height_cm := held["client_height_cm"], float):
        least = kb.parameter_value("screen.bmi_thin", DAY).value
        held[AT_INDEX] = least * (height_cm / 100) ** 2
    return {name: held.get(name) for name in {*inputs.inputs, *inputs.decisions, *held}}


@dataclass(frozen=True)
class Asked:
    """A decision asked once: what is brought, the rules that hold, and what they come to."""

    decision: str
    brought: dict[str, Any]
    rules: frozenset[str]
    value: Any


def asked(kb: KnowledgeBase, read: Document, run: Run) -> Iterator[Asked]:
    """Yield every decision for a person, and for each element where it is evaluated for several."""
    facts = {key: fact.value for key, fact in run.facts.items()}
    held = context(kb, read, facts)
    rules = {row.id for made in read.decisions.values() for row in made.rules}
    records = [record for rule in sorted(rules) for record in run.records.of_rule(rule)]
    fired = [each for each in records if each.verdict in {Verdict.FIRED, Verdict.OVERRIDDEN}]
    for made in read.decisions.values():
        loop = next((name for name in made.required if name in read.loops), None)
        for element in kb.book.domains[read.loops[loop]] if loop else (None,):
            more = {} if element is None else _at(held, str(loop), element)
            brought = {name: {**held, **more}[name] for name in made.required}
            yield Asked(made.name, brought, *_concluded(kb, made, fired, element))


def _at(held: Mapping[str, Any], loop: str, element: str) -> dict[str, Any]:
    mine = {
        name.removesuffix(element) + loop: value
        for name, value in held.items()
        if name.endswith(f"_of_{element}")
    }
    return {**mine, loop: element}


def _concluded(
    kb: KnowledgeBase, made: Decided, records: list[Derivation], element: str | None
) -> tuple[frozenset[str], Any]:
    """What the engine's records of the table's rules say on the facts of a decision."""
    names = [name for name, _ in made.outputs]
    mine = {row.id for row in made.rules}
    fired: set[str] = set()
    said: dict[str, list[Concluded]] = {name: [] for name in names}
    for record in records:
        if record.rule_id not in mine or (element and element not in record.binding.values()):
            continue
        for done in record.conclusions:
            name = _name(done.fact)
            if element is not None:
                name = name.removesuffix(element) + next(iter(record.binding))
            if name in said:
                said[name].append(done)
                fired.add(record.rule_id)
    values = {name: _combined(kb, name, said) for name in names}
    only = values[names[0]]
    return frozenset(fired), only if len(names) == 1 else values if fired else None


def _combined(kb: KnowledgeBase, name: str, said: Mapping[str, list[Concluded]]) -> Any:
    for end in ("low", "high"):
        if name.endswith(f"_{end}") and not said[name]:
            ends = {getattr(done, end) for done in said[name.removesuffix(f"_{end}")]}
            return next(iter(ends), None)
    if not said[name]:
        fact = next(f for f in kb.facts.values() if name.startswith(f.id.replace(".", "_")))
        return [] if fact.combine.value == "collect" else None
    fact = kb.facts[said[name][0].fact.partition("[")[0]]
    values: list[Any] = [done.value for done in said[name]]
    if fact.combine.value == "collect":
        return sorted(set(values))
    if fact.combine.value in {"min", "max"}:
        order = kb.book.choices_of(fact).index if fact.type is FactType.CHOICE else None
        return (min if fact.combine.value == "min" else max)(values, key=order)
    (value,) = set(values)
    return value


def people(kb: KnowledgeBase, count: int) -> Iterator[Run]:
    bases = [read_case(path, kb).answers for path in sorted((ROOT / "cases").glob("*.yaml"))]
    made, book = People(kb, DAY, bases), compile_knowledge(kb, DAY)
    for seed in range(count):
        yield run_engine(book, made.person(seed), DAY, "clips", CALCULATORS)


if __name__ == "__main__":
    target, many = Path(sys.argv[1]), int(sys.argv[2])
    book = knowledge(None, None)
    content = document(book)
    (target / "all.dmn").write_bytes(content)
    document_read = read_dmn(content)
    with (target / "people.jsonl").open("w", encoding="utf-8") as stream:
        for each in people(book, many):
            for one in asked(book, document_read, each):
                line = [one.decision, one.brought, sorted(one.rules), one.value]
                stream.write(json.dumps(line) + "\n")
