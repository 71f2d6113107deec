"""A small book in which the checks find nothing, made from the loader's small book, and edits of it."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from assistant.calculate.registry import CALCULATORS
from assistant.quality.checks import run_checks
from assistant.quality.finding import Finding
from assistant.quality.suite import Options, subject_of

SMALL_BOOK = Path(__file__).parent.parent / "knowledge" / "small_book"
# Facts of the small book that are there for the loader's tests only.
_CHECK = """\
over_claiming:
  - {pattern: '\\b(proves?|proven)\\b', from: strong}
never_said:
  en:
    - {pattern: '\\b(well done|good job)\\b', plain: "say what the figures say, without praise or blame"}
trade_words:
  en:
    - {pattern: '\\bsurplus\\b', plain: a little more food}
most_words: 20
read_elsewhere:
  client.goal_weight_kg: shown to the coach
  client.target_date: shown to the coach
  client.sleeps_well: shown to the coach
  client.soreness: shown to the coach
"""
_PLAN = """\
sections:
  - id: all
    coach_title: All
    client_title: All
    parts:
      - {line: index, about: [body.bmi], coach: "Index {body.bmi}, {dose.style}."}
      - {line: sets, each: muscle, about: ["dose.sets_per_week[element]"],
         coach: "{dose.sets_per_week[element]} sets."}
      - {notes: note.}
"""
_PHRASES = Path(__file__).parents[2] / "rules" / "plan.yaml"
_TABLE = "tables/STY.yaml"
_NO_GOAL = "        - {but: {client.goal: unknown}, needs: [client.goal]}\n"
_NEEDS_DAYS = "        - {but: {client.days: unknown}, needs: [client.days]}\n"
_EDITS = [
    ("facts/answers.yaml", "choices: [gain, hold]", "choices: [gain, hold, rest]"),
    ("questions/00_all.yaml", "hold: hold}", "hold: hold, rest: rest}"),
    (_TABLE, "        - {but: {client.days: 3}, failed_at: client.days}\n",
     "        - {but: {client.days: 3}, failed_at: client.days}\n" + _NEEDS_DAYS),
    (_TABLE, "        - {but: {client.days: 4}, failed_at: client.days}\n",
     "        - {but: {client.days: 4}, failed_at: client.days}\n" + _NEEDS_DAYS + _NO_GOAL),
    (_TABLE, "        - {but: {client.goal: hold}, fires: true}\n",
     ("        - {but: {client.goal: hold}, fires: true}\n"
     "        - {but: {client.goal: rest}, failed_at: client.goal}\n")),
    ("screen/SCR-001.yaml", "    - {but: {screen.chest_pain: unknown}, needs: [screen.chest_pain]}\n",
     ("    - {but: {screen.chest_pain: unknown}, needs: [screen.chest_pain]}\n"
     "    - {but: {screen.chest_pain: false, screen.dizzy: unknown}, needs: [screen.dizzy]}\n")),
    ("dose/MUS-002.yaml", '  expect: {"dose.role[lats]": priority}\n',
     ('  expect: {"dose.role[lats]": priority}\n  cases:\n'
     "    - {but: {client.priority_muscles: [quads]}, failed_at: client.priority_muscles}\n"
     "    - {but: {client.priority_muscles: unknown}, needs: [client.priority_muscles]}\n")),
    ("dose/VOL-002.yaml", "  cases:\n",
     "  cases:\n    - {but: {client.priority_muscles: unknown}, needs: [client.priority_muscles]}\n"),
]  # fmt: skip
PEOPLE = 60
# Enough for every defect that shows without running people.
WITHOUT_PEOPLE = ["schema", "conflicts", "lint", "tests", "coverage", "mutation"]


def clean_book(folder: Path) -> Path:
    """Write the book into a new folder and return it."""
    shutil.copytree(SMALL_BOOK, folder)
    for file, old, new in _EDITS:
        replace(folder, file, old, new)
    (folder / "check.yaml").write_text(_CHECK, encoding="utf-8")
    phrases = _PHRASES.read_text(encoding="utf-8").partition("\n# Lines that would speak against")[
        0
    ]
    (folder / "plan.yaml").write_text(f"{phrases}\n{_PLAN}", encoding="utf-8")
    return folder


def replace(folder: Path, file: str, old: str, new: str) -> int:
    """Replace a piece of text that stands in a file once; return the line it began on."""
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


def check(folder: Path, only: list[str] | None = None, **options: Any) -> list[Finding]:
    """All findings of a book."""
    chosen = Options(**{"people": PEOPLE, **options})
    checked = run_checks(subject_of(folder, None, CALCULATORS), chosen, only)
    return [finding for each in checked for finding in each.findings]


Spoil = Callable[[Path], None]
