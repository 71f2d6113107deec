"""How exercises are done: what is named in an exercise's place fits, and each language says the same."""

from collections.abc import Iterator, Mapping
from itertools import product

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.model.documents.exercises import Exercise, ExerciseBook
from assistant.model.documents.how_to import HowTo
from assistant.model.errors import Problem

_ALWAYS_THERE = "bodyweight"


def check_how_to(draft: Draft, *, is_whole: bool) -> Iterator[Problem]:
    """Yield what is wrong with the entries; names that nobody declares are told with the documents.

    is_whole: False if some file could not be read, so that a missing file proves nothing.
    """
    yield from _languages(draft, is_whole=is_whole)
    book = draft.files.get("exercises")
    rows = book.by_id if isinstance(book, ExerciseBook) else {}
    for pattern, file in draft.how_to.items():
        for number, entry in enumerate(file.exercises):
            for at, text in _instead(entry, rows[entry.id], rows) if entry.id in rows else ():
                path = ("exercises", number, "without_kit", at)
                yield Problem(draft.place("how_to", pattern, *path), "bad-value", text)


def _instead(
    entry: HowTo, row: Exercise, rows: Mapping[str, Exercise]
) -> Iterator[tuple[int, str]]:
    """What is named as needing less kit, and does not train the same or needs something else."""
    for at, name in enumerate(entry.without_kit):
        other = rows.get(name)
        if other is None:
            continue
        if not row.primary.keys() & other.primary.keys():
            mine, theirs = ", ".join(row.primary), ", ".join(other.primary)
            yield (
                at,
                f"`{name}` is chosen for {theirs}, `{row.id}` for {mine}; name one for the same",
            )
        elif not all(any(less < kit for less in _kits(other)) for kit in _kits(row)):
            mine = " or ".join(", ".join(sorted(kit)) or "nothing" for kit in _kits(row))
            yield (
                at,
                f"`{name}` does not do with less kit than `{row.id}` (it needs {mine}); name one that does",
            )


def _kits(row: Exercise) -> list[frozenset[str]]:
    """Every kit that is enough for an exercise, the floor left out."""
    needed = {*row.equipment} - {_ALWAYS_THERE}
    return [
        frozenset({*needed, *choice} - {_ALWAYS_THERE}) for choice in product(*row.equipment_any)
    ]


def _languages(draft: Draft, *, is_whole: bool) -> Iterator[Problem]:
    for name, file in draft.how_to_said.items():
        code, _, pattern = name.partition("/")
        place = draft.place("how_to_said", name)
        if code not in draft.languages:
            known = ", ".join(sorted(draft.languages))
            yield Problem(
                place, "unknown-language", f"there are no messages in `{code}`; languages: {known}"
            )
        if pattern not in draft.how_to:
            if is_whole:
                text = f"there is no how_to/{pattern}.yaml that this says{did_you_mean(pattern, draft.how_to)}"
                yield Problem(place, "misnamed-file", text)
            continue
        original = draft.how_to[pattern].by_id
        for number, said in enumerate(file.exercises):
            path = ("exercises", number)
            if said.id not in original:
                at = draft.place("how_to_said", name, *path, "id")
                hint = did_you_mean(said.id, original)
                yield Problem(
                    at, "unknown-exercise", f"`{said.id}` is not in how_to/{pattern}.yaml{hint}"
                )
            elif len(said.steps) != len(original[said.id].steps):
                at = draft.place("how_to_said", name, *path, "steps")
                text = f"`{said.id}` has {len(said.steps)} steps here and {len(original[said.id].steps)} in English; say each"
                yield Problem(at, "bad-value", text)
