"""Two rule books over the same people: whose plans stay, whose move, and one example of each."""

from collections.abc import Mapping
from typing import Any

from assistant.engine import compile_knowledge
from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import FactKey, Value
from assistant.quality.finding import from_problems
from assistant.quality.moves import Move, facts_of, moves_between
from assistant.quality.runner import Ran, day_of, fast_engine, people_of, ran
from assistant.quality.suite import Checked, Options, Subject

_MOST_MOVES = 6


def check_against(subject: Subject, options: Options) -> Checked:
    """Run every case and person through both books. A plan that moves is a finding, as in a diff."""
    kb, other = subject.book, options.against
    if other is None:
        return Checked("against", (), "no other book was named; use --against DIR")
    day = day_of(options)
    old, new = compile_knowledge(other, day), compile_knowledge(kb, day)
    calculators = subject.calculators
    same: list[str] = []
    moved: list[tuple[str, tuple[Move, ...]]] = []
    for who, answers in people_of(new, options):
        known = _answers_known_to(other, answers)
        before = ran(old, fast_engine(old), who, known, calculators)
        after = ran(new, fast_engine(new), who, answers, calculators)
        moves = _moves(kb, other, before, after)
        if moves:
            moved.append((who, moves))
        else:
            same.append(who)
    changed = changed_rules(other, kb)
    found = from_problems([_told(kb, moved, changed)] if moved else [], "against", "warning")
    said = (
        f"{len(same)} plans are the same, {len(moved)} move; "
        f"{len(changed)} rules and {len(changed_numbers(other, kb))} numbers differ"
    )
    details = {
        "same": len(same),
        "moved": len(moved),
        "example_same": same[0] if same else None,
        "example_moved": _example(moved),
        "rules": changed,
        "numbers": changed_numbers(other, kb),
        "other_logic_hash": other.logic_hash,
    }
    return Checked("against", found, said, details)


def _answers_known_to(
    kb: KnowledgeBase, answers: Mapping[FactKey, Value]
) -> Mapping[FactKey, Value]:
    """The answers that the other book asks for, too."""
    return {
        key: value
        for key, value in answers.items()
        if key in kb.facts and kb.facts[key].origin == "answer"
    }


def _moves(kb: KnowledgeBase, other: KnowledgeBase, before: Ran, after: Ran) -> tuple[Move, ...]:
    if before.fault or after.fault:
        if before.fault == after.fault:
            return ()
        return (Move("plan", before.fault or "a plan", after.fault or "a plan"),)
    return tuple(moves_between(kb, facts_of(other, before), facts_of(kb, after)))


def _example(moved: list[tuple[str, tuple[Move, ...]]]) -> dict[str, Any] | None:
    if not moved:
        return None
    who, moves = moved[0]
    return {"who": who, "moves": [str(move) for move in moves[:_MOST_MOVES]], "of": len(moves)}


def changed_rules(old: KnowledgeBase, new: KnowledgeBase) -> list[str]:
    """Ids of the rules that are new, gone, or of other logic."""
    return sorted(
        rule_id
        for rule_id in old.rules.keys() | new.rules.keys()
        if _logic(old, rule_id) != _logic(new, rule_id)
    )


def _logic(kb: KnowledgeBase, rule_id: str) -> dict[str, Any] | None:
    rule = kb.rules.get(rule_id)
    return None if rule is None else rule.logic


def changed_numbers(old: KnowledgeBase, new: KnowledgeBase) -> list[str]:
    """Ids of the numbers that are new, gone, or of another value."""

    def value(kb: KnowledgeBase, name: str) -> Any:
        parameter = kb.parameters.get(name)
        return None if parameter is None else (parameter.values, kb.overlay.get(name))

    names = old.parameters.keys() | new.parameters.keys()
    return sorted(name for name in names if value(old, name) != value(new, name))


def _told(
    kb: KnowledgeBase, moved: list[tuple[str, tuple[Move, ...]]], changed: list[str]
) -> Problem:
    """One line for all plans that move, at the first changed rule or the front page."""
    here = next((rule_id for rule_id in changed if rule_id in kb.rules), None)
    who, moves = moved[0]
    told = ", ".join(str(move) for move in moves[:_MOST_MOVES])
    text = (
        f"{len(moved)} plans move, for example {who}: {told}; "
        "see that every move is meant, then let the new book stand"
    )
    return Problem(kb.front_page if here is None else kb.place("rule", here), "plans-move", text)
