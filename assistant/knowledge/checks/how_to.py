"""How exercises are done: every exercise once, in the file of its pattern, and the same in each language."""

from collections.abc import Iterator, Mapping
from itertools import product

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.model.documents.exercises import Exercise, ExerciseBook
from assistant.model.documents.how_to import HowTo
from assistant.model.errors import Problem

_ALWAYS_THERE = "bodyweight"


def check_how_to(draft: Draft, *, is_whole: bool) -> list[Problem]:
    """Return what is wrong with the entries; names that nobody declares are told with the documents.

    is_whole: False if some file could not be read, so that a missing entry proves nothing.
    """
    book = draft.files.get("exercises")
    if not isinstance(book, ExerciseBook):
        return []
    problems = [*_places(draft, book), *_languages(draft)]
    if is_whole and draft.how_to:
        problems += _missing(draft, book)
    return problems


def _places(draft: Draft, book: ExerciseBook) -> Iterator[Problem]:
    rows, patterns = book.by_id, [pattern.id for pattern in book.patterns]
    for pattern, file in draft.how_to.items():
        if pattern not in patterns:
            text = f"`{pattern}` is no movement pattern{did_you_mean(pattern, patterns)}"
            place = draft.place("how_to", pattern)
            yield Problem(place, "misnamed-file", f"{text}; name the file after one")
            continue
        for number, entry in enumerate(file.exercises):
            row = rows.get(entry.id)
            if row is None:
                continue
            if row.pattern != pattern:
                place = draft.place("how_to", pattern, "exercises", number, "id")
                text = f"`{row.id}` belongs to the pattern `{row.pattern}`; move it to that file"
                yield Problem(place, "misplaced-entry", text)
            for at, text in _instead(entry, row, rows):
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


def _languages(draft: Draft) -> Iterator[Problem]:
    for name, file in draft.how_to_said.items():
        code, _, pattern = name.partition("/")
        place = draft.place("how_to_said", name)
        if code not in draft.languages:
            known = ", ".join(sorted(draft.languages))
            yield Problem(
                place, "unknown-language", f"there are no messages in `{code}`; languages: {known}"
            )
        if pattern not in draft.how_to:
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


def _missing(draft: Draft, book: ExerciseBook) -> Iterator[Problem]:
    for number, row in enumerate(book.exercises):
        file = draft.how_to.get(row.pattern)
        if file is None or row.id not in file.by_id:
            place = draft.place("document", "exercises", "exercises", number)
            text = f"how `{row.id}` is done is not written; add it to how_to/{row.pattern}.yaml"
            yield Problem(place, "missing-entry", text)
