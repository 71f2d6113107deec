"""What is written: words that claim too much, titles that say nothing of their own, sources nobody can find."""

import re
from collections.abc import Iterator, Mapping

from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule
from assistant.model.sources import Certainty, Grade, Mark, Source

_UNPUBLISHED = {"common_practice", "judgement"}
_BY_DEFINITION = "standard"
# A year, volume or number, or a name in capitals (a body that publishes) leads a reader there.
_LEAD = re.compile(r"\d|\b[A-Z]{3,}\b")


def claims(kb: KnowledgeBase) -> list[Problem]:
    """Return every sentence with a word that the certainty of its rule or parameter rules out."""
    problems: list[Problem] = []
    for rule in kb.rules.values():
        for field in ("title", "because", "client_because"):
            sentence = getattr(rule, field)
            text = _objection(sentence, rule.grade, kb) if sentence else None
            if text is not None:
                place = kb.place("rule", rule.id, field)
                problems.append(Problem(place, "over-claiming", f"{rule.id} `{field}` {text}"))
    for parameter in kb.parameters.values():
        text = _objection(parameter.title, parameter.grade, kb)
        if text is not None:
            place = kb.place("parameter", parameter.id, "title")
            problems.append(Problem(place, "over-claiming", f"`{parameter.id}` {text}"))
    return [*problems, *_claims_of_how_to(kb)]


def _claims_of_how_to(kb: KnowledgeBase) -> Iterator[Problem]:
    """How exercises are done is common practice, and may claim no more."""
    practice = Grade(certainty=Certainty.PRACTICE, note="common practice, no source")
    for pattern, file in kb.how_to.items():
        for number, entry in enumerate(file.exercises):
            for path, sentence in (*entry.for_client(), (("watch",), entry.watch)):
                text = _objection(sentence, practice, kb)
                if text is not None:
                    place = kb.place("how_to", pattern, "exercises", number, *path)
                    yield Problem(place, "over-claiming", f"`{entry.id}` {text}")


def _objection(sentence: str, grade: Grade, kb: KnowledgeBase) -> str | None:
    for each in kb.check.over_claiming:
        words = each.objects(sentence, grade.certainty)
        if words is not None:
            return (
                f"says `{words}` under the grade {grade.certainty.value}; "
                "say it more carefully, or cite what bears it"
            )
    return None


def twin_titles(kb: KnowledgeBase) -> list[Problem]:
    """Return rules and numbers with the title of another: no list can tell them apart."""
    problems: list[Problem] = []
    shelves: tuple[tuple[str, Mapping[str, Rule | Parameter]], ...] = (
        ("rule", kb.rules),
        ("parameter", kb.parameters),
    )
    for kind, items in shelves:
        seen: dict[str, str] = {}
        for item in items.values():
            first = seen.setdefault(item.title.casefold(), item.id)
            if first != item.id:
                text = f"{item.id} has the title of {first}; say what is its own"
                problems.append(Problem(kb.place(kind, item.id, "title"), "twin-title", text))
    return problems


def unlocated(kb: KnowledgeBase) -> list[Problem]:
    """Return sources said to be read, or known at second hand, that name no place to find them.

    A source from memory is not asked for one: its mark already caps every grade that leans on it.
    """
    return [
        Problem(
            kb.place("source", source.id),
            "unlocated-source",
            f"source `{source.id}` is marked {source.mark.value} but names no doi, year, number or "
            "publisher; say where it can be found, or mark it from_memory",
        )
        for source in kb.sources.values()
        if _should_be_located(source) and not _is_located(source)
    ]


def _should_be_located(source: Source) -> bool:
    is_published = source.kind not in _UNPUBLISHED and source.kind != _BY_DEFINITION
    return is_published and source.mark in {Mark.READ, Mark.SECOND_HAND}


def _is_located(source: Source) -> bool:
    stands_somewhere = source.reading is not None and source.reading.where is not None
    return bool(source.doi or stands_somewhere or _LEAD.search(source.citation))
