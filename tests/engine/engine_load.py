"""A made-up load for timing: 150 rules over 80 answers in six levels, about 70 of them fire."""

import random

from engine_books import ON, book, derived, fact, parameter, rule

from assistant.engine import CompiledBook, compile_knowledge
from assistant.model.values import Value

ANSWERS, RULES, LEVELS = 80, 150, 6


def load_book() -> CompiledBook:
    """The compiled book. A rule has two conditions on answers, one on the level below, one brake."""
    source = random.Random(7)
    facts = [fact(f"answers.n{n}", "number" if n % 2 else "boolean") for n in range(ANSWERS)]
    facts += [derived(f"level{n % LEVELS}.f{n}", combine="any") for n in range(RULES)]
    rules = []
    for n in range(RULES):
        level = n % LEVELS
        numbers = source.sample(range(1, ANSWERS, 2), 2)
        when = [{"fact": f"answers.n{one}", "at_least": {"param": "p.line"}} for one in numbers]
        if level:
            below = n - 1 - LEVELS * source.randrange(n // LEVELS + 1)
            when.append({"fact": f"level{level - 1}.f{below}", "equals": source.random() < 0.6})
        unless = [{"fact": f"answers.n{source.randrange(0, ANSWERS, 2)}", "equals": True}]
        then = [{"set": f"level{level}.f{n}", "to": True}]
        rules.append(rule(f"BEN-{n:03d}", when=when, unless=unless, then=then))
    return compile_knowledge(book(facts, rules, [parameter("p.line", 20)]), ON)


def load_answers(seed: int) -> dict[str, Value]:
    """Answers of one made-up person: most numbers over the line, few brakes on."""
    source = random.Random(seed)
    return {
        f"answers.n{n}": source.uniform(18.8, 60) if n % 2 else source.random() < 0.12
        for n in range(ANSWERS)
    }
