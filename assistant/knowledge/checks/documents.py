"""Files that rooms read as they stand: every name in them is declared, every text is there."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from assistant.knowledge.checks.grading import above_sources
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.references import Vocabulary
from assistant.model.base import Fault, RuleFile
from assistant.model.documents.exchange import Exchange
from assistant.model.documents.exercises import ExerciseBook
from assistant.model.documents.muscles import MuscleBook
from assistant.model.documents.page import PlanLayout
from assistant.model.documents.programme import ProgrammeBook
from assistant.model.documents.reviews import Reviews
from assistant.model.errors import Problem
from assistant.model.facts import FactType
from assistant.model.language import Language, differences
from assistant.model.sources import Certainty

ENGLISH = "en"


def check_documents(draft: Draft) -> list[Problem]:
    """Return what is wrong with the documents and the languages of a draft."""
    vocabulary = Vocabulary(draft)
    problems: list[Problem] = []
    shelves: dict[str, Mapping[str, RuleFile]] = {
        "document": draft.files,
        "flag": draft.flags,
        "language": draft.languages,
        "how_to": draft.how_to,
        "how_to_said": draft.how_to_said,
        "pose": draft.poses,
    }
    for kind, shelf in shelves.items():
        for name, document in shelf.items():
            faults = [*document.faults(), *vocabulary.faults(document), *_laws(document, draft)]
            problems += [
                Problem(draft.place(kind, name, *fault.path), fault.code, fault.text)
                for fault in faults
            ]
    return problems


def _laws(document: RuleFile, draft: Draft) -> Iterator[Fault]:
    """What a document owes to the others."""
    for name in document.needs():
        if name not in draft.parameters:
            hint = did_you_mean(name, draft.parameters)
            text = f"needs the parameter `{name}`, which is not declared{hint}"
            yield Fault((), "unknown-parameter", text)
    for path, grade, sources in document.graded():
        named = [draft.sources[name] for name in sources if name in draft.sources]
        above = above_sources(Certainty(grade), named)
        if above is not None:
            yield Fault(path, "grade-too-high", above)
    for kind, law in _OWED.items():
        if isinstance(document, kind):
            yield from law(document, draft)


def _page(page: PlanLayout, draft: Draft) -> Iterator[Fault]:
    for path, part in page.lines():
        flag = draft.facts.get((part.if_true or "").partition("[")[0])
        if flag is not None and flag.type is not FactType.BOOLEAN:
            text = f"`{part.if_true}` is no yes/no fact"
            yield Fault((*path, "if_true"), "bad-type", text)


def _answers_of_codes(exchange: Exchange, draft: Draft) -> Iterator[Fault]:
    for number, code in enumerate(exchange.observations):
        for fact, answer in code.when.items():
            declared = draft.facts.get(fact)
            choices = () if declared is None else draft.book.choices_of(declared)
            if declared is not None and answer not in choices:
                text = f"`{answer}` is no choice of `{fact}`{did_you_mean(answer, choices)}"
                yield Fault(("observations", number, "when", fact), "unknown-choice", text)


def _muscles(muscles: MuscleBook, draft: Draft) -> Iterator[Fault]:
    book = draft.files.get("exercises")
    rows = book.exercises if isinstance(book, ExerciseBook) else ()
    trained = {muscle for row in rows for muscle in row.primary}
    counted = draft.book.domains.get("muscle", ())
    for number, muscle in enumerate(muscles.muscles):
        path = ("muscles", number, "volume_target")
        if muscle.volume_target and muscle.id not in counted:
            text = f"`{muscle.id}` is no muscle of book.yaml, so it has no sets of its own"
            yield Fault(path, "unknown-muscle", text + did_you_mean(muscle.id, counted))
        if muscle.volume_target and rows and muscle.id not in trained:
            text = "no exercise has it as primary muscle; add one or set volume_target to false"
            yield Fault(path, "never-trained", text)


def _whole_numbers(programme: ProgrammeBook, draft: Draft) -> Iterator[Fault]:
    for name in programme.whole_numbers():
        parameter = draft.parameters.get(name)
        if parameter is None:
            continue
        numbers = (*(dated.value for dated in parameter.values), parameter.step)
        own = draft.overlay.get(name, 0.0)
        if not all(float(number).is_integer() for number in (*numbers, own)):
            yield Fault((), "bad-value", f"`{name}` is a count; allowed: whole numbers")


def _as_in_english(language: Language, draft: Draft) -> Iterator[Fault]:
    english = draft.languages.get(ENGLISH)
    if english is None or language is english:
        return
    for key, template in language.furniture.items():
        if key not in english.furniture:
            hint = did_you_mean(key, english.furniture)
            text = f"`{key}` is no message of the page{hint}"
            yield Fault(("furniture", key), "unknown-field", text)
        else:
            yield from differences(("furniture", key), template, english.furniture[key])


def _reviewed(reviews: Reviews, draft: Draft) -> Iterator[Fault]:
    for number, review in enumerate(reviews.reviews):
        if review.rule not in draft.rules:
            text = f"`{review.rule}` is no rule{did_you_mean(review.rule, draft.rules)}"
            yield Fault(("reviews", number, "rule"), "unknown-rule", text)


_OWED: Mapping[type[RuleFile], Callable[[Any, Draft], Iterator[Fault]]] = {
    PlanLayout: _page,
    Exchange: _answers_of_codes,
    MuscleBook: _muscles,
    ProgrammeBook: _whole_numbers,
    Language: _as_in_english,
    Reviews: _reviewed,
}
