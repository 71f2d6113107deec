"""The same request gives the same bytes; a small change gives a small change."""

from __future__ import annotations

import dataclasses
import hashlib
import os
import subprocess
import sys
from pathlib import Path

from assistant.model.programme import Programme
from assistant.programme.week import plan_week
from programme.clients import request
from programme.documents import catalogue

ROOT = Path(__file__).parents[2]
SCRIPT = """
import hashlib
from programme.clients import request
from programme.documents import catalogue
from assistant.programme.week import plan_week
week = plan_week(request("mon thu", 45), catalogue())
print(hashlib.sha256(repr(week).encode()).hexdigest())
"""


def _lines(programme: Programme) -> set[tuple[str, str]]:
    return {(s.day, line.exercise) for s in programme.sessions for line in s.lines}


def test_same_bytes_under_any_hash_seed() -> None:
    here = repr(plan_week(request("mon thu", 45), catalogue()))
    digest = hashlib.sha256(here.encode()).hexdigest()
    for seed in ("1", "77"):
        path = os.pathsep.join([str(ROOT), str(ROOT / "tests")])
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path}
        run = subprocess.run(
            [sys.executable, "-c", SCRIPT], env=env, capture_output=True, text=True, check=True
        )
        assert run.stdout.strip() == digest


def test_a_small_change_changes_few_lines() -> None:
    asked = request("mon thu", 75, aims=("glute_max", "lats"))
    first = plan_week(asked, catalogue(), try_remedies=False)
    base = _lines(first)
    days = {name: frozenset(d for d, other in base if other == name) for _, name in base}
    steady = dataclasses.replace(asked, previous_exercises=frozenset(days), previous_days=days)
    for change in ({"age_years": 32}, {"minutes_per_session": 63}, {"rir_compound": 3}):
        changed = dataclasses.replace(steady, **change)  # type: ignore[arg-type]
        after = _lines(plan_week(changed, catalogue(), try_remedies=False))
        assert len(after - base) <= 4, (change, after ^ base)
        new = {name for _, name in after} - {name for _, name in base}
        assert len(new) <= 2, (change, new)
