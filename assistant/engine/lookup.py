"""What the knowledge base says about the names in a rule: facts, domains, choices, places."""

from collections.abc import Mapping

from assistant.engine.terms import FactRef
from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.model.values import FactKey, Status, Value, fact_key

SCREEN_STAGE = "screen"
WITHHELD_FACT = "screen.withheld"
# Two lists say what a plan leaves out: what flags take away, and what waits for another reason.
WITHHELD_FACTS = (WITHHELD_FACT, "plan.left_out")


def problem(kb: KnowledgeBase, rule_id: str, code: str, text: str) -> InputProblems:
    """Return an error that names the file and line of a rule."""
    place = kb.places.get(rule_id)
    return InputProblems([Problem(rule_id if place is None else str(place), code, text)])


def left_out(values: Mapping[FactKey, Value]) -> frozenset[str]:
    """Return the ids of all outputs that the facts of a case leave out of the plan."""
    lists = (values.get(name) for name in WITHHELD_FACTS)
    return frozenset(item for items in lists if isinstance(items, tuple) for item in items)


def elements(rule: Rule, kb: KnowledgeBase) -> tuple[str | None, ...]:
    """Return what a rule loops over: elements of its domain, or one None without a loop."""
    if not rule.for_each:
        return (None,)
    (source,) = rule.for_each.values()
    domain = kb.book.domains.get(source)
    if domain is None and source in kb.facts:
        domain = kb.book.choices_of(kb.facts[source])
    if domain is None:
        text = f"`for_each` names `{source}`, which is neither a domain nor a list fact"
        raise problem(kb, rule.id, "unknown-domain", text)
    return domain


def reference(fact: FactDeclaration, index: str | None, kb: KnowledgeBase) -> FactRef:
    """Return how a fact is referred to, and what it means that nothing is stored for it."""
    missing: bool | Status | None = None
    is_given = fact.origin in {"answer", "record"}
    if is_given:
        missing = Status.UNKNOWN
    elif fact.origin == "derived" and fact.type is FactType.BOOLEAN:
        missing = False
    order = kb.book.choices_of(fact) if fact.type is FactType.CHOICE else ()
    return FactRef(fact_key(fact.id, index), fact.id, fact.type, is_given, missing, order)
