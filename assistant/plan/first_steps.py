"""What to do first behind a flag: one text for each kind of sign that was ticked, from rules/flags/."""

from collections.abc import Mapping

from assistant.model.documents.flags import Flag, Voice
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value

# The flag of a yes to the question whose answer lives in the session only.
CRISIS_FLAG = "self_harm_thoughts"


def first_steps(flag: Flag, answers: Mapping[str, Value], voice: Voice) -> tuple[str, ...]:
    """Return what to do first, in the order of the rules; every kind that was ticked is said.

    answers: values by fact. A step without an answer always holds.
    """
    return tuple(
        step.to(voice)
        for step in flag.first_steps
        if step.answer is None or _ticked(answers.get(step.answer), step.items)
    )


def _ticked(given: Value | None, items: tuple[str, ...]) -> bool:
    return isinstance(given, tuple) and not set(items).isdisjoint(given)


def flags_of_signs(kb: KnowledgeBase, fact: str) -> tuple[Flag, ...]:
    """Return the flags whose first steps go by the answer to one question."""
    return tuple(
        flag for flag in kb.flags.values() if any(step.answer == fact for step in flag.first_steps)
    )


def crisis_page(kb: KnowledgeBase, voice: Voice) -> tuple[str, ...]:
    """Return the whole page after a yes to the question about self-harm, thanks first."""
    flag = kb.flags[CRISIS_FLAG]
    return (flag.to(voice), *first_steps(flag, {}, voice))


def crisis_step(kb: KnowledgeBase, step_id: str, voice: Voice) -> str:
    """Return one step of the crisis page by its id; empty where the book has no such step."""
    steps = kb.flags[CRISIS_FLAG].first_steps
    return next((step.to(voice) for step in steps if step.id == step_id), "")
