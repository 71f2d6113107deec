"""The rule book to search, and the card of one rule with the clients it fires for."""

from starlette.responses import Response

from assistant.knowledge.nearest import did_you_mean
from assistant.quality.card import card_head, card_parts
from assistant.quality.sought import Sought
from assistant.web.trainer.fired import fired_for
from assistant.web.visit import NotHere, Visit

MOST_SHOWN = 150
_ASKED = ("text", "stage", "grade", "reads", "sets", "source")


def search(visit: Visit) -> Response:
    """Show the rules and numbers that are meant; all of them where nothing is asked."""
    kb = visit.desk.kb
    asked = {name: visit.asked(name) for name in _ASKED}
    known = {
        "stage": kb.book.stages,
        "grade": [str(name) for name in kb.grades],
        "reads": kb.facts,
        "sets": kb.facts,
        "source": kb.sources,
    }
    problems = {
        name: f"“{asked[name]}” is not known{did_you_mean(asked[name], names)}"
        for name, names in known.items()
        if asked[name] and asked[name] not in names
    }
    sought = Sought(**{name: words or None for name, words in asked.items()})
    rules = [] if problems else sought.rules(kb)
    numbers = [] if problems else sought.numbers(kb)
    return visit.show(
        "trainer/book.html",
        400 if problems else 200,
        kb=kb,
        asked=asked,
        problems=problems,
        rules=rules[:MOST_SHOWN],
        numbers=numbers[:MOST_SHOWN],
        counts=(len(rules), len(kb.rules), len(numbers), len(kb.parameters)),
        most=MOST_SHOWN,
    )


def rule(visit: Visit) -> Response:
    """Show a rule's card. Raises NotHere."""
    kb, found = visit.desk.kb, visit.desk.kb.rules.get(visit.path["id"])
    if found is None:
        raise NotHere
    clients, unknown = fired_for(visit, found.id)
    return visit.show(
        "trainer/rule.html",
        kb=kb,
        rule=found,
        head=card_head(found, kb),
        parts=card_parts(found, kb),
        clients=clients,
        unknown=unknown,
    )
