"""Why this exercise on this day, and not another: its points one by one, and what each other choice would cost."""

from collections.abc import Iterable, Mapping

from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme
from assistant.plan.phrases import Phrasebook, sentence_case, wrapped
from assistant.programme.catalogue import Catalogue
from assistant.programme.points import points_of
from assistant.programme.price import costs
from assistant.programme.request import ProgrammeRequest

_MOST_COSTS = 2
_NO_COST = "nothing that is asked for would be missed"
_BEFORE_A_TITLE = "points for "
# Points that a list in programme.yaml gives, and no single number.
_OF_A_LIST = {"loadability": "how finely it can be loaded (rules/programme.yaml)"}


def points_words(
    exercise: str,
    request: ProgrammeRequest,
    catalogue: Catalogue,
    kb: KnowledgeBase,
    beside: str = "",
) -> str:
    """Return the points of an exercise for a client, and the numbers of the book that give them.

    beside: another exercise; then only the points that differ from its.
    """
    row = catalogue.exercises[exercise]
    points = points_of(row, request, catalogue)
    total = f"{row.name}: {round(sum(points.values()))} points"
    if not beside:
        return f"{total}: {_listed(points, kb)}"
    others = points_of(catalogue.exercises[beside], request, catalogue)
    own = {name: n for name, n in points.items() if others.get(name) != n}
    lacks = {name: n for name, n in others.items() if name not in points}
    told = [
        *([_listed(own, kb)] if own else []),
        *([f"without {_listed(lacks, kb)}"] if lacks else []),
    ]
    return f"{total}: {'; '.join(told) or 'the same ones'}{', the rest alike' if told else ''}"


def _listed(points: Mapping[str, float], kb: KnowledgeBase) -> str:
    return "; ".join(f"{number:+.3g} {_named(name, kb)}" for name, number in points.items())


def _named(name: str, kb: KnowledgeBase) -> str:
    parameter = kb.parameters.get(f"programme.{name}")
    if parameter is None:
        return _OF_A_LIST.get(name, name)
    return f"{parameter.title.removeprefix(_BEFORE_A_TITLE)} ({parameter.id})"


def cost_words(before: Programme, after: Programme, phrases: Phrasebook) -> str:
    """Return in one line what a choice would cost the week, and what it would bring."""
    found = [*dict.fromkeys(each.gap.why for each in costs(before, after))]
    brought = [f"no more: {each.gap.why}" for each in costs(after, before) if each.other is None]
    more = [f"and {len(found) - _MOST_COSTS} more"] if len(found) > _MOST_COSTS else []
    told = [*found[:_MOST_COSTS], *more, *brought[:1]] or [_NO_COST]
    had = {m.muscle: m.sets for m in before.muscles}
    moved = [
        f"{phrases.label(m.muscle)} {had.get(m.muscle, 0):g} to {m.sets:g}"
        for m in after.muscles
        if m.sets != had.get(m.muscle, 0)
    ]
    sets = f" (sets a week: {', '.join(moved)})" if moved else ""
    return f"{'; '.join(told)}{sets}"


def choice_rows(choices: Iterable[tuple[str, str]]) -> list[str]:
    """Return each other choice with what it would cost."""
    return [
        row
        for what, cost in choices
        for row in wrapped(f"{sentence_case(what)}: {cost}", "- ", "  ")
    ]
