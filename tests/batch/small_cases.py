"""Small cases for the small book, which loads and runs in no time."""

import json

SMALL = {
    "client.age_years": 30, "client.weight_kg": 61.7, "client.priority_muscles": ["lats"],
    "screen.symptom_now": False, "screen.eating_sign": False,
}  # fmt: skip


def small(name: str, **answers: object) -> str:
    """Return one line: a small case with some answers changed (`weight_kg=70`)."""
    changed = {f"client.{key}": value for key, value in answers.items()}
    return json.dumps({"name": name, "as_of": "2026-01-12", "answers": {**SMALL, **changed}})
