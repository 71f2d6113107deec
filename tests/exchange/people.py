"""Generated answers: every fact, every kind of value, every way of having none."""

import datetime as dt
import random

from assistant.exchange.portable import Portable
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value

# Plain ones, ones that look like formulas or like what guards against them, ones that need quotes.
NAMES = (
    "",
    "Ada Quill",
    "=1+1",
    "'=1+1",
    "'-x",
    "+44",
    'Å, "B"',
    "a;b\tc",
    "漢字 и ü",
    "@home",
    "''",
)
FIRST_DAY = dt.date(2026, 1, 1)
SHARE_WITHOUT_VALUE = 0.3


def somebody(kb: KnowledgeBase, number: int) -> Portable:
    """The n-th of any number of people: some facts answered, some not, some in every odd way."""
    chance = random.Random(number)
    share = chance.random()
    answers = {
        fact.id: _value(kb, fact, chance)
        for fact in kb.facts.values()
        if fact.origin == "answer" and fact.id not in SESSION_ONLY_FACTS and chance.random() < share
    }
    day = FIRST_DAY + dt.timedelta(days=chance.randrange(2000))
    return Portable(NAMES[number % len(NAMES)], day, dict(sorted(answers.items())))


def _value(kb: KnowledgeBase, declaration: FactDeclaration, chance: random.Random) -> Value:
    """A value as the checks of a case leave it."""
    choices = declaration.choices or kb.book.domains.get(declaration.choice_domain or "", ())
    if chance.random() < SHARE_WITHOUT_VALUE:
        ways = [Status.UNKNOWN, Status.DECLINED]
        ways += [] if kb.asks_everybody(declaration) else [Status.NOT_APPLICABLE]
        ways += [Status.NONE] if declaration.allows_none else []
        return chance.choice([way for way in ways if way not in choices])
    if declaration.type in {FactType.NUMBER, FactType.INTEGER}:
        return _number(declaration, chance)
    if declaration.type is FactType.BOOLEAN:
        return chance.random() < 1 / 2
    if declaration.type is FactType.CHOICE:
        return chance.choice(choices)
    if declaration.type is FactType.CHOICES:
        return tuple(sorted(chance.sample(choices, chance.randrange(min(5, len(choices)) + 1))))
    assert declaration.type is FactType.DATE, f"no values for {declaration.type}"
    return (FIRST_DAY + dt.timedelta(days=chance.randrange(-2000, 4000))).isoformat()


def _number(declaration: FactDeclaration, chance: random.Random) -> float:
    low, high = declaration.range or (0.0, 1.0)
    whole = float(chance.randint(int(low) + 1, int(high)))
    if declaration.type is FactType.INTEGER:
        return whole
    between = chance.uniform(low, high)
    return chance.choice([low, high, whole, round(between, 1), between])
