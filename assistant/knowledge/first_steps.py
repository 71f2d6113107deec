"""What to do first behind a flag: one text for each kind of sign that was ticked, from rules/flags/."""

from collections.abc import Mapping

from assistant.model.documents.flags import FirstStep, Flag, Voice
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Value

# The flag of a yes to the question whose answer lives in the session only.
CRISIS_FLAG = "self_harm_thoughts"


def first_steps(flag: Flag, answers: Mapping[str, Value], voice: Voice) -> tuple[str, ...]:
    """Return what to do first, in the order of the rules; every kind that was ticked is said.

    answers: values by fact. A step without an answer always holds; one without words says nothing of
    its own.
    """
    return tuple(
        step.to(voice)
        for step in flag.first_steps
        if step.words and (step.answer is None or _ticked(step, answers))
    )


def told_at_once(flag: Flag, answers: Mapping[str, Value], voice: Voice) -> tuple[str, ...]:
    """Return the flag's own words and its first steps if one of its signs was ticked, else nothing."""
    if not any(step.answer is not None and _ticked(step, answers) for step in flag.first_steps):
        return ()
    return (flag.to(voice), *first_steps(flag, answers, voice))


def _ticked(step: FirstStep, answers: Mapping[str, Value]) -> bool:
    given = answers.get(step.answer or "")
    told = given if isinstance(given, tuple) else (given,)
    return not set(step.items).isdisjoint(told)


def flags_of_signs(kb: KnowledgeBase, fact: str) -> tuple[Flag, ...]:
    """Return the flags whose first steps go by the answer to one question."""
    return tuple(
        flag for flag in kb.flags.values() if any(step.answer == fact for step in flag.first_steps)
    )


def crisis_page(kb: KnowledgeBase, voice: Voice) -> tuple[str, ...]:
    """Return the whole page after a yes to the question about self-harm, thanks first.

    Empty where a rule book has no such flag; then the text for everyone has to do.
    """
    flag = kb.flags.get(CRISIS_FLAG)
    if flag is None:
        return ()
    return (flag.to(voice), *first_steps(flag, {}, voice))


def crisis_step(kb: KnowledgeBase, step_id: str, voice: Voice) -> str:
    """Return one step of the crisis page by its id; empty where the book has no such step."""
    steps = kb.flags[CRISIS_FLAG].first_steps
    return next((step.to(voice) for step in steps if step.id == step_id), "")
