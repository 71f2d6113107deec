"""Finds the exercise a coach means by an id, a pattern or the words of its name."""

from __future__ import annotations

import difflib

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
    words = text.lower().replace("_", " ").replace("-", " ").split()
    for exercise in catalogue.exercises.values():
        # A whole name is meant as it stands, also where this client may not do it.
        if words in (exercise.id.split("_"), exercise.name.lower().replace("-", " ").split()):
            return exercise.id
    meant = [
        exercise.id
        for exercise in catalogue.exercises.values()
        if words and set(words) <= set(exercise.name.lower().replace("-", " ").split())
    ] or [exercise.id for exercise in catalogue.exercises.values() if exercise.pattern == text]
    if not meant:
        names = [*catalogue.exercises, *catalogue.patterns]
        near = difflib.get_close_matches(text, names, n=3, cutoff=0.5)
        hint = f"did you mean {' or '.join(f'`{name}`' for name in near)}?" if near else (
            "give an id or words of a name in rules/exercises.yaml"
        )  # fmt: skip
        raise ValueError(f"`{text}` is no exercise; {hint}")
    allowed = build_pool(request, catalogue).allowed
    able = [name for name in meant if name in allowed]
    if not able:
        return min(meant)
    return min(able, key=lambda name: (-allowed[name].score, name))
