"""Files of a movement pattern: named after it, with its exercises and no other, and every exercise in one."""

from collections.abc import Iterator, Mapping

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.model.documents.exercises import ExerciseBook, OfAPattern
from assistant.model.errors import Problem


def check_patterns(draft: Draft, *, is_whole: bool) -> Iterator[Problem]:
    """Yield what is out of place or left out; names that nobody declares are told with the documents.

    is_whole: False if some file could not be read, so that a missing entry proves nothing.
    """
    book = draft.files.get("exercises")
    if not isinstance(book, ExerciseBook):
        return
    shelves: tuple[tuple[str, Mapping[str, OfAPattern], str, str], ...] = (
        ("how_to", draft.how_to, "missing-entry",
         "how `{}` is done is not written; add it to how_to/{}.yaml"),
        ("pose", draft.poses, "missing-pose",
         "`{}` has no pose; add one to poses/{}.yaml, or a reason under `not_drawn`"),
    )  # fmt: skip
    for kind, shelf, code, owed in shelves:
        yield from _places(draft, book, kind, shelf)
        told = {name for file in shelf.values() for _, name in file.named}
        for number, row in enumerate(book.exercises if is_whole and shelf else ()):
            if row.id not in told:
                place = draft.place("document", "exercises", "exercises", number)
                yield Problem(place, code, owed.format(row.id, row.pattern))


def _places(
    draft: Draft, book: ExerciseBook, kind: str, shelf: Mapping[str, OfAPattern]
) -> Iterator[Problem]:
    rows, patterns = book.by_id, [pattern.id for pattern in book.patterns]
    for pattern, file in shelf.items():
        if pattern not in patterns:
            text = f"`{pattern}` is no movement pattern{did_you_mean(pattern, patterns)}"
            place = draft.place(kind, pattern)
            yield Problem(place, "misnamed-file", f"{text}; name the file after one")
            continue
        for path, name in file.named:
            if name in rows and rows[name].pattern != pattern:
                text = (
                    f"`{name}` belongs to the pattern `{rows[name].pattern}`; move it to that file"
                )
                yield Problem(draft.place(kind, pattern, *path), "misplaced-entry", text)
