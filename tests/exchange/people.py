"""Generated answers: every fact, every kind of value, every way of having none."""

import datetime as dt

from hypothesis import strategies as st

from assistant.exchange.portable import Portable
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value

_ISO = st.dates(dt.date(2020, 1, 1), dt.date(2035, 12, 31)).map(dt.date.isoformat)


def a_value(kb: KnowledgeBase, declaration: FactDeclaration) -> st.SearchStrategy[Value]:
    """Values as the checks of a case leave them."""
    choices = declaration.choices or kb.book.domains.get(declaration.choice_domain or "", ())
    low, high = declaration.range or (0.0, 1.0)
    some: st.SearchStrategy[Value]
    if declaration.type is FactType.NUMBER:
        some = st.floats(low, high) | st.integers(int(low) + 1, int(high)).map(float)
    elif declaration.type is FactType.INTEGER:
        some = st.integers(int(low), int(high)).map(float)
    elif declaration.type is FactType.BOOLEAN:
        some = st.booleans()
    elif declaration.type is FactType.CHOICE:
        some = st.sampled_from(choices)
    elif declaration.type is FactType.CHOICES:
        some = st.sets(st.sampled_from(choices)).map(lambda found: tuple(sorted(found)))
    elif declaration.type is FactType.DATE:
        some = _ISO
    else:
        raise AssertionError(f"no values for {declaration.type}")
    ways = {Status.UNKNOWN, Status.DECLINED, Status.NOT_APPLICABLE}
    if declaration.allows_none:
        ways.add(Status.NONE)
    return some | st.sampled_from(sorted(way for way in ways if way not in choices))


@st.composite
def people(draw: st.DrawFn, kb: KnowledgeBase) -> Portable:
    """Anybody: a subset of all facts with any value, a name that may look like a formula."""
    facts = [
        fact
        for fact in kb.facts.values()
        if fact.origin == "answer" and fact.id not in SESSION_ONLY_FACTS
    ]
    kept = draw(st.lists(st.booleans(), min_size=len(facts), max_size=len(facts)))
    answers = {
        fact.id: draw(a_value(kb, fact)) for fact, is_in in zip(facts, kept, strict=True) if is_in
    }
    letters = st.characters(categories=["L", "N", "P", "S", "Zs"])
    name = draw(
        st.text(letters, max_size=20).map(str.strip) | st.sampled_from(["=1+1", "'-x", 'Å, "B"'])
    )
    day = draw(st.dates(dt.date(2026, 1, 1), dt.date(2030, 12, 31)))
    return Portable(name, day, dict(sorted(answers.items())))
