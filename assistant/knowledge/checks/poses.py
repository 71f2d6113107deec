"""Poses against the rest of the book: every exercise is drawn or says why not, no joint goes too far."""

from collections.abc import Iterator, Mapping

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.model.documents.exercises import ExerciseBook
from assistant.model.documents.figures import Figures
from assistant.model.documents.poses import beyond
from assistant.model.errors import Problem


def check_poses(draft: Draft, *, is_whole: bool) -> list[Problem]:
    """Return what is wrong with the poses; names that nobody declares are told with the documents.

    is_whole: False if some file could not be read, so that a missing pose proves nothing.
    """
    book, figures = draft.files.get("exercises"), draft.files.get("figures")
    problems: list[Problem] = []
    if isinstance(figures, Figures):
        reach = {str(name): (each.low, each.high) for name, each in figures.joints.items()}
        problems += _too_far(draft, reach)
    if isinstance(book, ExerciseBook):
        problems += _places(draft, book)
        if is_whole and draft.poses:
            problems += _missing(draft, book)
    return problems


def _too_far(draft: Draft, reach: Mapping[str, tuple[float, float]]) -> Iterator[Problem]:
    for pattern, file in draft.poses.items():
        for number, pose in enumerate(file.poses):
            shown = (("start", pose.start), ("through", pose.through), ("end", pose.end))
            for field, position in shown:
                for text in beyond(position, reach) if position is not None else ():
                    place = draft.place("pose", pattern, "poses", number, field)
                    yield Problem(place, "out-of-range", text)


def _places(draft: Draft, book: ExerciseBook) -> Iterator[Problem]:
    rows, patterns = book.by_id, [pattern.id for pattern in book.patterns]
    for pattern, file in draft.poses.items():
        if pattern not in patterns:
            text = f"`{pattern}` is no movement pattern{did_you_mean(pattern, patterns)}"
            place = draft.place("pose", pattern)
            yield Problem(place, "misnamed-file", f"{text}; name the file after one")
            continue
        for path, name in file.named:
            if name in rows and rows[name].pattern != pattern:
                text = (
                    f"`{name}` belongs to the pattern `{rows[name].pattern}`; move it to that file"
                )
                yield Problem(draft.place("pose", pattern, *path), "misplaced-entry", text)


def _missing(draft: Draft, book: ExerciseBook) -> Iterator[Problem]:
    told = {name for file in draft.poses.values() for _, name in file.named}
    for number, row in enumerate(book.exercises):
        if row.id not in told:
            text = f"`{row.id}` has no pose; add one to poses/{row.pattern}.yaml, or a reason under `not_drawn`"
            place = draft.place("document", "exercises", "exercises", number, "id")
            yield Problem(place, "missing-pose", text)
