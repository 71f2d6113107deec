"""Finds the exercise a coach means by an id, a pattern or the words of its name."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping

from assistant.programme.catalogue import Catalogue
from assistant.programme.pool import build_pool
from assistant.programme.request import ProgrammeRequest


def exercise_meant(text: str, request: ProgrammeRequest, catalogue: Catalogue) -> str:
    """Return the id of the exercise meant; of several, the one that ranks first for this client.

    `text` is an id (`thrust_machine`), words of the name (`hip thrust`, `hip_thrust`) or a movement
    pattern (`hinge`). Raises `ValueError` with the nearest names where nothing is meant by it.
    """
    if text in catalogue.exercises:
        return text
    names = {exercise.id: (exercise.name,) for exercise in catalogue.exercises.values()}
    meant, is_whole = exercises_named(text, names)
    if is_whole:
        # A whole name is meant as it stands, also where this client may not do it.
        return meant[0]
    meant = meant or [row.id for row in catalogue.exercises.values() if row.pattern == text]
    if not meant:
        raise ValueError(no_exercise(text, [*catalogue.exercises, *catalogue.patterns]))
    allowed = build_pool(request, catalogue).allowed
    able = [name for name in meant if name in allowed]
    if not able:
        return min(meant)
    return min(able, key=lambda name: (-allowed[name].score, name))


def exercises_named(text: str, names: Mapping[str, Collection[str]]) -> tuple[list[str], bool]:
    """Return the exercises that an id or words of a name mean, and whether it is a whole name.

    names: what each exercise is called, by id. A whole name means one exercise, words all that have them.
    """
    words = _words(text)
    for exercise, called in names.items():
        if text == exercise or words in (_words(exercise), *map(_words, called)):
            return [exercise], True
    fits = [
        exercise
        for exercise, called in names.items()
        if words and any(set(words) <= set(_words(name)) for name in called)
    ]
    return fits, False


def no_exercise(text: str, known: Collection[str]) -> str:
    """Return that nothing is meant by a text, with the nearest names."""
    near = difflib.get_close_matches(text, known, n=3, cutoff=0.5)
    hint = (
        f"did you mean {' or '.join(f'`{name}`' for name in near)}?"
        if near
        else "give an id or words of a name in rules/exercises.yaml"
    )
    return f"`{text}` is no exercise; {hint}"


def _words(text: str) -> list[str]:
    return re.sub(r"[_,-]", " ", text.lower()).split()
