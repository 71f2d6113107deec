"""Sentences: every `{placeholder}` can be filled from what the rule itself knows."""

import re
from collections.abc import Iterator

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.walk import facts_read, facts_written
from assistant.model.errors import Problem
from assistant.model.rules import Rule
from assistant.model.values import split_key

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


def check_prose(draft: Draft) -> list[Problem]:
    """Return sentences that are empty, or name what their rule does not know."""
    problems: list[Problem] = []
    for rule in draft.rules.values():
        for field in ("title", "because", "client_because"):
            sentence = getattr(rule, field)
            if sentence is None:
                continue
            wrongs = list(_wrongs(sentence, rule, draft))
            problems.extend(
                Problem(draft.place("rule", rule.id, field), "bad-placeholder", text)
                for text in wrongs
            )
            if not sentence.strip():
                place = draft.place("rule", rule.id, field)
                problems.append(Problem(place, "bad-value", f"`{field}` is empty"))
    return problems


def _wrongs(sentence: str, rule: Rule, draft: Draft) -> Iterator[str]:
    rest = _PLACEHOLDER.sub("", sentence)
    if "{" in rest or "}" in rest:
        yield "a brace without its partner"
    names = {"value", *([rule.loop_variable] if rule.loop_variable else [])}
    known = facts_read(rule) | facts_written(rule)
    for inner in _PLACEHOLDER.findall(sentence):
        if inner in names:
            continue
        if inner.startswith("param:"):
            parameter = inner.removeprefix("param:")
            if parameter not in draft.parameters:
                yield f"`{parameter}` is not a parameter{did_you_mean(parameter, draft.parameters)}"
            continue
        fact, _ = split_key(inner.removesuffix(":range").removesuffix(":unit"))
        if fact not in draft.facts:
            hint = did_you_mean(fact, [*names, *known])
            yield f"`{{{inner}}}` is neither a fact nor a name of this rule{hint}"
        elif fact not in known:
            yield f"`{fact}` is not read by this rule, so its sentence cannot name it"
