"""The folder of an invented gym, Harrow Lane Strength: one rule, one exercise, one flag, one changed wording."""

from pathlib import Path

SIGNED = (
    'signed: {{by: "Lena Marrow", day: "2026-01-05", reason: "{}", reviewed_by: "Tom Vale"}}\n'
).format
FILES = {
    "facts/own.yaml": SIGNED("the street brings water in")
    + """\
facts:
  - {id: advice.dry_shoes, label: dry shoes, type: boolean, origin: derived, unit: "1"}
""",
    "dose/HLS-100-dry-shoes-on-floor.yaml": SIGNED("the street brings water in")
    + """\
id: HLS-100
title: "Dry shoes on the floor"
stage: dose
kind: house
when:
  - {fact: client.sleep_hours, at_least: 1}
then:
  - {set: advice.dry_shoes, to: true}
because: "Dry shoes on the training floor, changed at the door."
client_because: "Please change into dry shoes at the door."
source: [{ref: judgement-training, supports: "our own floor"}]
grade: {certainty: practice, note: "house judgement"}
tests:
  given: {client.sleep_hours: 7}
  expect: {advice.dry_shoes: true}
  cases:
    - {but: {client.sleep_hours: 1}, fires: true}
    - {but: {client.sleep_hours: 0}, failed_at: client.sleep_hours}
    - {but: {client.sleep_hours: unknown}, needs: [client.sleep_hours]}
""",
    "wording.yaml": SIGNED("labels in our kitchen say it so")
    + """\
units:
  kcal/d: kcal per day
""",
    "parameters/own.yaml": SIGNED("two clients fainted after such nights")
    + """\
parameters:
  - id: house.very_short_sleep
    title: nights shorter than this are very short
    unit: h
    values: [{since: "2026-01-01", value: 5}]
    range: [4, 6]
    step: 0.5
    source: [{ref: judgement-training, supports: "our own line"}]
    grade: {certainty: practice, note: house judgement}
""",
    "flags/very_short_sleep.yaml": SIGNED("two clients fainted after such nights")
    + """\
id: very_short_sleep
severity: caution
withheld: [max_tests]
area: sleep
coach: "Very short nights: no tests of strength, and ask what keeps the client awake."
client: "Your nights are very short, so we leave out tests of strength for now."
note: "Sleeps very little at present."
training: no_tests
rescreen_weeks: 4
raised_by:
- id: SCR-VERY-SHORT-SLEEP
  title: "Nights too short for tests of strength"
  when:
  - {fact: client.sleep_hours, less_than: {param: house.very_short_sleep}}
  because: "Sleep of {client.sleep_hours} hours is under {param:house.very_short_sleep}: no tests of strength."
  client_because: "Your nights are very short."
  source:
  - {ref: judgement-training, supports: "our own line"}
  grade: {certainty: practice, note: "house judgement"}
  tests:
    given: {client.sleep_hours: 4}
    cases:
    - {but: {client.sleep_hours: 4.5}, fires: true}
    - {but: {client.sleep_hours: 5}, fires: false}
    - {but: {client.sleep_hours: unknown}, fires: false}
""",
}


def laid_out(folder: Path, rules: Path) -> Path:
    """Write the folder; the exercise is the book's own with another name."""
    for name, text in FILES.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    book = (rules / "exercises.yaml").read_text(encoding="utf-8")
    first = book.index("  - id: thrust_machine\n")
    row = book[first : book.index("  - id: ", first + 5)]
    row = row.replace("name: Hip thrust machine", "name: Hip thrust machine, low seat")
    text = f"{SIGNED('ours has a low seat')}exercises:\n{row}"
    (folder / "exercises.yaml").write_text(text, encoding="utf-8")
    return folder


def spoiled(folder: Path, file: str, old: str, new: str) -> int:
    """Replace a piece of text that stands once in a file of the folder; return its line."""
    path = folder / file
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    assert not old or text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text.replace(old, new) if old else new, encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1 if old else 1
