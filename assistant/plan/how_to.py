"""How an exercise is done, in a reader's language: the one answer that the page and a browser both show."""

from dataclasses import dataclass

from assistant.model.documents.how_to import HowTo, HowToSaid
from assistant.model.knowledge import KnowledgeBase
from assistant.model.language import Language
from assistant.plan.language import ENGLISH, marked


@dataclass(frozen=True)
class Named:
    """An exercise by its id and its name in the reader's language."""

    id: str
    name: str


@dataclass(frozen=True)
class HowToCard:
    """How one exercise is done.

    faults: what goes wrong, and what mends it. easier, harder, without_kit: other exercises; what limits of a
    client take out is not taken out here. watch: for the coach alone. What has no words in the language is
    English between the marks for a foreign text.
    """

    exercise: Named
    set_up: str
    steps: tuple[str, ...]
    feel: str
    faults: tuple[tuple[str, str], ...]
    stop: str
    first_load: str
    watch: str
    easier: tuple[Named, ...]
    harder: tuple[Named, ...]
    without_kit: tuple[Named, ...]


def how_to(kb: KnowledgeBase, exercise_id: str, language: Language) -> HowToCard | None:
    """Return how an exercise is done; None where the book does not say.

    Raises KeyError where there is no such exercise.
    """
    row = kb.exercises.by_id[exercise_id]
    entry = _entry(kb, row.pattern, exercise_id)
    if entry is None:
        return None
    said = _said(kb, row.pattern, entry, language)

    def named(*names: str) -> tuple[Named, ...]:
        return tuple(Named(name, exercise_name(kb, name, language)) for name in names)

    return HowToCard(
        exercise=named(exercise_id)[0],
        set_up=said.set_up,
        steps=said.steps,
        feel=said.feel,
        faults=tuple((each.fault, each.mend) for each in said.faults),
        stop=said.stop,
        first_load=said.first_load,
        watch=said.watch,
        easier=named(*row.regressions),
        harder=named(*row.progressions),
        without_kit=named(*entry.without_kit),
    )


def exercise_name(kb: KnowledgeBase, exercise_id: str, language: Language) -> str:
    """Return an exercise's name in a language, or the English one marked."""
    english = kb.exercises.by_id[exercise_id].name
    if language.language == ENGLISH:
        return english
    return language.exercises.get(exercise_id) or marked(english)


def _entry(kb: KnowledgeBase, pattern: str, exercise_id: str) -> HowTo | None:
    file = kb.how_to.get(pattern)
    entries = () if file is None else file.exercises
    return next((each for each in entries if each.id == exercise_id), None)


def _said(kb: KnowledgeBase, pattern: str, entry: HowTo, language: Language) -> HowToSaid:
    if language.language == ENGLISH:
        return entry
    file = kb.how_to_said.get(f"{language.language}/{pattern}")
    own = None if file is None else file.by_id.get(entry.id)
    return _marked(entry) if own is None else own


def _marked(entry: HowTo) -> HowToSaid:
    """The English words between the marks for a foreign text."""
    faults = tuple(
        each.model_copy(update={"fault": marked(each.fault), "mend": marked(each.mend)})
        for each in entry.faults
    )
    plain = ("set_up", "feel", "stop", "first_load", "watch")
    update = {name: marked(getattr(entry, name)) for name in plain}
    return entry.model_copy(
        update={**update, "steps": tuple(map(marked, entry.steps)), "faults": faults}
    )
