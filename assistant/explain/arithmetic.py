"""The sum behind a number: the equation of a fired rule with the values that went into it."""

from collections.abc import Mapping

from assistant.engine.bound import BoundRule
from assistant.engine.terms import Arithmetic, Calculation, Literal, Read, Term, reads
from assistant.explain.gap_words import label_of, value_words
from assistant.model.derivation import Derivation
from assistant.model.values import FactKey, split_key
from assistant.plan.sentences import Narrator

_JOINED: Mapping[str, str] = {"sum": " + ", "difference": " - ", "product": " \u00d7 "}


def arithmetic(bound: BoundRule, record: Derivation, key: FactKey, narrator: Narrator) -> str:
    """Return how a rule worked a number out, e.g. `maintenance 2326.5 + surplus 174.5 = 2501`.

    Empty where the rule works nothing out, or where the reader may not see what went in.
    """
    for said in bound.conclusions:
        if said.key != key or not isinstance(said.term, Arithmetic | Calculation):
            continue
        if any(narrator.hides(ref.key) for ref in reads(said.term)):
            return ""
        found = next((each for each in record.conclusions if each.fact == key), None)
        if found is None or not isinstance(found.value, float | int):
            return ""
        return f"{_words(said.term, narrator)} = {found.value:.6g}"
    return ""


def _words(term: Term, narrator: Narrator) -> str:
    if isinstance(term, Arithmetic):
        inner = [_words(each, narrator) for each in term.parts]
        bracketed = [f"({each})" if " + " in each or " - " in each else each for each in inner]
        return _JOINED[term.operation].join(bracketed if term.operation == "product" else inner)
    if isinstance(term, Calculation):
        given = ", ".join(_words(each, narrator) for each in term.parts)
        end = f"the {term.take} end of " if term.take else ""
        return f"{end}{term.name}({given})"
    if isinstance(term, Read):
        return _read(term, narrator)
    return _plain(term)


def _read(term: Read, narrator: Narrator) -> str:
    fact = narrator.run.facts.get(term.ref.key)
    label = label_of(narrator, term.ref.key)
    if fact is None:
        return f"{label} not known"
    # What has no range is its own low and high end.
    end = None if term.bound is None else getattr(fact, term.bound)
    value = fact.value if end is None else end
    if isinstance(value, float | int) and not isinstance(value, bool):
        # The number itself, not the rounded one: a reader can then work the sum out again.
        unit = narrator.phrases.unit_of(split_key(term.ref.key)[0], value)
        return f"{label} {value:.6g} {unit}".rstrip()
    return f"{label} {value_words(narrator, split_key(term.ref.key)[0], value)}"


def _plain(term: Literal) -> str:
    return f"{term.value:g}" if isinstance(term.value, float) else str(term.value)
