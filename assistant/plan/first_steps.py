"""What to do first behind a flag: one text for each kind of sign that was ticked, from rules/flags.yaml."""

from collections.abc import Mapping
from typing import Any, Literal

from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value

# `self` is a person who answers alone, spoken in the first person.
Voice = Literal["coach", "client", "self"]
# The flag of a yes to the question whose answer lives in the session only.
CRISIS_FLAG = "self_harm_thoughts"


def first_steps(
    flag_words: Mapping[str, Any], answers: Mapping[str, Value], voice: Voice
) -> tuple[str, ...]:
    """Return what to do first, in the order of the rules; every kind that was ticked is said.

    flag_words: the entry of one flag. answers: values by fact. A step without an answer always holds.
    """
    return tuple(
        str(step.get(voice, step["client"]))
        for step in flag_words.get("first_steps", ())
        if "client" in step and ("answer" not in step or _ticked(step, answers))
    )


def told_at_once(
    flag_words: Mapping[str, Any], answers: Mapping[str, Value], voice: Voice
) -> tuple[str, ...]:
    """Return the flag's own words and its first steps if one of its signs was ticked, else nothing."""
    signs = [step for step in flag_words.get("first_steps", ()) if "answer" in step]
    if not any(_ticked(step, answers) for step in signs):
        return ()
    return (
        str(flag_words.get(voice, flag_words["client"])),
        *first_steps(flag_words, answers, voice),
    )


def _ticked(step: Mapping[str, Any], answers: Mapping[str, Value]) -> bool:
    given = answers.get(step["answer"])
    told = given if isinstance(given, tuple) else (given,)
    return not set(step["items"]).isdisjoint(told)


def flags_of_signs(kb: KnowledgeBase, fact: str) -> tuple[Mapping[str, Any], ...]:
    """Return the entries of the flags whose first steps go by the answer to one question."""
    flags: Mapping[str, Any] = kb.documents.get("flags", {}).get("flags", {})
    return tuple(
        words
        for words in flags.values()
        if any(step.get("answer") == fact for step in words.get("first_steps", ()))
    )


def crisis_page(kb: KnowledgeBase, voice: Voice) -> tuple[str, ...]:
    """Return the whole page after a yes to the question about self-harm, thanks first.

    Empty where a rule book has no words for flags at all; then the text for everyone has to do.
    """
    if "flags" not in kb.documents:
        return ()
    words = kb.documents["flags"]["flags"][CRISIS_FLAG]
    return (str(words.get(voice, words["client"])), *first_steps(words, {}, voice))


def crisis_step(kb: KnowledgeBase, step_id: str, voice: Voice) -> str:
    """Return one step of the crisis page by its id. Raises KeyError if the rules have none."""
    for step in kb.documents["flags"]["flags"][CRISIS_FLAG]["first_steps"]:
        if step["id"] == step_id:
            return str(step.get(voice, step["client"]))
    raise KeyError(step_id)
