"""Rule books with one defect each: every one is found, at its file and line.

The defects are planted by hand, so what must be found, and where, is known beforehand; no check of
ours decides it. Those marked `more` break something else with them; the rest must give their own
finding and no other.
"""

import re
from pathlib import Path
from typing import NamedTuple

import pytest
from check_book import WITHOUT_PEOPLE, check, clean_book, replace

from assistant.quality.finding import Finding


class Defect(NamedTuple):
    """One edit, and the finding it must give, `below` lines under the edit (`line`: that line)."""

    file: str
    old: str
    new: str
    code: str
    says: str
    below: int = 0
    line: int | None = None
    more: bool = False


VOL, VOL2, SCR, BOD = (
    "dose/VOL-001.yaml",
    "dose/VOL-002.yaml",
    "screen/SCR-001.yaml",
    "dose/BOD-001.yaml",
)
MUS, TABLE, DOSE = "dose/MUS-001.yaml", "tables/STY.yaml", "parameters/dose.yaml"
ANSWERS, DERIVED, GYM = "facts/answers.yaml", "facts/derived.yaml", "sources/gym.yaml"

# fmt: off
DEFECTS = {
    # How it is written.
    "typo in a field": Defect(VOL, "because:", "becuase: x\nbecause:", "unknown-field", "because"),
    "duplicated key": Defect(VOL, "stage: dose", "stage: dose\nstage: dose", "repeated-field", "line 3", 1),
    "tab": Defect(VOL, "  loop: quads", "\tloop: quads", "tab", "spaces"),
    "bare yes": Defect(SCR, "title: A sign", "title: yes\nx: A sign", "ambiguous-value", "true", more=True),
    "alias bomb": Defect(DOSE, "range: [4, 12]", "range: [&a [1, 1], *a, *a]", "anchor", "in full", more=True),
    "open bracket": Defect(DOSE, "range: [4, 12]", "range: [4, 12", "bad-yaml", "brackets", 1),
    # Names.
    "typo in a fact": Defect(VOL, "{fact: dose.role, of", "{fact: dose.rolle, of", "unknown-fact", "dose.role", more=True),
    "typo in a number's name": Defect(VOL, "to: {param: sets.typical}", "to: {param: sets.tpical}", "unknown-parameter", "sets.typical"),
    "typo in a choice": Defect(VOL, "equals: typical", "equals: tipical", "unknown-choice", "typical"),
    "typo in a source": Defect(VOL, "ref: gym-practice", "ref: gym-practise", "unknown-source", "gym-practice"),
    "typo in a stage": Defect(VOL, "stage: dose", "stage: dosage", "unknown-stage", "dose", more=True),
    "typo in a test": Defect(VOL, '{"dose.role[quads]": typical, screen', '{"dose.role[quad]": typical, screen', "bad-index", "dose.role"),
    "rule id of another rule": Defect(TABLE, "  - id: LONG", "  - id: SHORT", "repeated-id", "stands already", more=True),
    # Units and numbers.
    "unit slip in a conclusion": Defect(VOL, "to: {param: sets.typical}", "to: {param: days.many}", "unit-mismatch", "{sets}/wk"),
    "pounds for kilograms": Defect(ANSWERS, "client.weight_kg, label: body weight, type: number, origin: answer, unit: kg", 'client.weight_kg, label: body weight, type: number, origin: answer, unit: "[lb_av]"', "unit-mismatch", "wants weight_kg in kg", line=6, more=True),
    "height and weight swapped": Defect(BOD, "[{fact: client.weight_kg}, {fact: client.height_cm}]", "[{fact: client.height_cm}, {fact: client.weight_kg}]", "unit-mismatch", "in kg", more=True),
    "sum of unlike units": Defect(VOL2, "{param: sets.priority_extra}", "{param: days.many}", "unit-mismatch", "mixes"),
    "number in a rule": Defect(VOL, "to: {param: sets.typical}", "to: 8", "bare-number", "declare it as a parameter"),
    "value outside its own range": Defect(DOSE, "value: 9}]", "value: 19}]", "bad-value", "outside the allowed range", -3, more=True),
    "misspelt unit": Defect(DERIVED, "unit: kg/m2", "unit: kgs/m2", "unknown-unit", "kg", more=True),
    # Meaning: the rule says something else than its tests.
    "inverted comparison": Defect(TABLE, 'many: {when: {fact: client.days, at_least: "$"}}', 'many: {when: {fact: client.days, at_most: "$"}}', "rule-test", "STY-SHORT", line=17, more=True),
    "off by one at the line": Defect(TABLE, 'many: {when: {fact: client.days, at_least: "$"}}', 'many: {when: {fact: client.days, more_than: "$"}}', "rule-test", "STY-SHORT tests", line=17, more=True),
    "line one step too high": Defect(DOSE, "value: 4}]\n    range: [3, 6]", "value: 5}]\n    range: [3, 6]", "rule-test", "STY-SHORT", line=0, more=True),
    "wrong conclusion": Defect(TABLE, "    style: short", "    style: long", "rule-test", "STY-SHORT", -4, more=True),
    "difference for a sum": Defect(VOL2, "to: {sum: [{param", "to: {difference: [{param", "rule-test", "VOL-002", line=1, more=True),
    "brake for a condition": Defect(VOL, "screen.withheld, has: exercise_any", "screen.withheld, lacks: exercise_any", "rule-test", "VOL-001", line=1, more=True),
    "alternative lost": Defect(SCR, "\n      - {fact: screen.dizzy, equals: true}", "", "rule-test", "SCR-001 tests.cases.0", line=1, more=True),
    "withholds one thing for all": Defect(SCR, "then:\n  - {add: screen.withheld, item: EVERYTHING}", "then:\n  - {add: screen.withheld, item: body_measures}", "rule-test", "SCR-001", line=1, more=True),
    "low and high swapped": Defect(VOL, "low: {difference:", "high: {difference:", "repeated-field", "high", 1),
    # How rules stand to each other.
    "contradictory pair": Defect(TABLE, 'few: {when: {fact: client.days, less_than: "$"}}', 'few: {when: {fact: client.days, at_most: "$"}}', "conflict", "both fire with client.days = 4", 18, more=True),
    "circle": Defect(MUS, "then:", "when: [{fact: dose.sets_per_week, of: muscle, status: known}]\nthen:", "circle", "dose.role", line=1),
    "reads its own conclusion": Defect(MUS, "then:", "when: [{fact: dose.role, of: muscle, status: known}]\nthen:", "reads-own-conclusion", "itself", line=1),
    "reads a later stage": Defect(SCR, "{fact: screen.dizzy, equals: true}", "{fact: note.sleep, equals: true}", "later-stage", "dose", line=1, more=True),
    "override of a stranger": Defect(VOL, "because:", "overrides: [MUS-001]\nbecause:", "bad-override", "concludes nothing"),
    "rule that never counts": Defect(BOD, "because:", "overrides: [BOD-002]\nbecause:", "dead-rule", "BOD-002 never counts", line=1, more=True),
    "brake in the screen": Defect(SCR, "excused_by:", "unless:", "unless-in-screen", "excused_by", more=True),
    # Clauses without effect.
    "impossible line": Defect(DOSE, "value: 4}]\n    range: [3, 6]", "value: 8}]\n    range: [3, 8]", "impossible-clause", "can never hold", line=0, more=True),
    "clause that always holds": Defect(TABLE, "    goals: [gain, hold]", "    goals: [gain, hold, rest]", "constant-clause", "no other choices", -3, more=True),
    "clauses that exclude each other": Defect(TABLE, "    few: any", "    few: {param: days.many}", "impossible-rule", "STY-SHORT can never fire", -2, more=True),
    "condition that is its own brake": Defect(VOL, "equals: typical}\nunless:", "equals: typical}\nunless:\n  - {fact: dose.role, of: muscle, equals: typical}", "impossible-rule", "shuts out", 2, more=True),
    "clause said twice": Defect(VOL, "unless:", "  - {fact: dose.role, of: muscle, equals: typical}\nunless:", "repeated-clause", "repeats when.0", more=True),
    "status nobody can have": Defect(SCR, "status: not_applicable", "status: none", "never-true", "never be `none`", more=True),
    "choice nobody concludes": Defect(DERIVED, "choices: [typical, priority]", "choices: [typical, priority, rest]", "impossible-clause", "no rule ever concludes rest", line=0, more=True),
    "title of another rule": Defect("dose/VOL-002.yaml", "title: Weekly sets of a priority", "title: Weekly sets of most muscles", "twin-title", "VOL-001"),
    # Unused and unread.
    "unused number": Defect(DOSE, "  - id: days.many", '  - {id: days.few, title: few, unit: "1", values: [{since: "2026-01-01", value: 1}], range: [1, 2], step: 1, source: [{ref: gym-practice, supports: it}], grade: {certainty: practice, note: x}}\n  - id: days.many', "unused-parameter", "days.few"),
    "unused source": Defect(GYM, "  - {id: quotient", "  - {id: nobody, kind: judgement, citation: x, says: x, mark: judgement}\n  - {id: quotient", "unused-source", "nobody"),
    "conclusion nobody reads": Defect("plan.yaml", ", {dose.style}", "", "unread-conclusion", "dose.style", line=0),
    "answer nobody reads": Defect("check.yaml", "  client.soreness: shown to the coach\n", "", "unread-fact", "client.soreness", line=0),
    "fact nobody asks": Defect(ANSWERS, "  - {id: screen.chest_pain", "  - {id: client.luck, label: luck, type: boolean, origin: answer}\n  - {id: screen.chest_pain", "unasked-fact", "client.luck", more=True),
    "reader of nothing": Defect("check.yaml", "  client.soreness:", "  client.sorenes: x\n  client.soreness:", "unknown-name", "client.sorenes"),
    "reader that is not needed": Defect("check.yaml", "  client.soreness:", "  client.days: x\n  client.soreness:", "needless-reader", "client.days"),
    "personal fact read": Defect(SCR, "screen.dizzy, equals: true", "client.note, status: known", "personal-fact", "no rule", more=True),
    # Sources, grades, words.
    "missing source": Defect(VOL, "source: [{ref: gym-practice, supports: all}]", "source: []", "bad-value", "1 entry"),
    "no grade": Defect(VOL, "grade: {certainty: practice, note: what the gym does}\n", "", "missing-field", "grade", line=1),
    "grade above its source": Defect(VOL, "certainty: practice", "certainty: strong", "grade-too-high", "practice"),
    "source without a place": Defect(GYM, "figure: kg over m2}}", "figure: kg over m2}}\n  - {id: somewhere, kind: trial, citation: A trial somewhere, says: x, mark: read}", "unlocated-source", "somewhere", 1, more=True),
    "read, but not found": Defect(GYM, "outcome: confirmed, what: table, where: gym wall,", "outcome: not_found,", "bad-value", "the last look did not find it", -1),
    "read in a summary": Defect(GYM, "what: table", "what: summary", "bad-value", "only a summary was seen", -1),
    "house with a number": Defect(VOL, "because:", "kind: house\nbecause:", "house-claims", "sets.typical", more=True),
    "claims too much": Defect(VOL, 'because: "{muscle} gets', 'because: "It is proven that {muscle} gets', "over-claiming", "proven"),
    "word of the trade to a client": Defect(VOL, 'because: "{muscle} gets', 'because: "With a surplus {muscle} gets', "trade-word", "say `a little more food`"),
    "praise for a client": Defect(VOL, 'because: "{muscle} gets', 'because: "Well done, {muscle} gets', "never-said", "without praise or blame"),
    "sentence nobody reads to its end": Defect(VOL, 'because: "{muscle} gets', 'because: "On and on and on and on and on and on and on and on and on and on {muscle} gets', "long-sentence", "more than 20"),
    "placeholder not read": Defect(BOD, "gives {value}", "gives {client.goal}", "bad-placeholder", "not read by this rule"),
    "sentence not written": Defect(BOD, "because: Weight over height squared gives {value}.", 'because: "<write: why, in a sentence or two>"', "unwritten", "why, in a sentence"),
    # Tests.
    "no test": Defect(MUS, ', expect: {"dose.role[lats]": typical}', "", "missing-test", "expect"),
    "dull test": Defect(TABLE, "        - {but: {client.goal: hold}, fires: true}\n", "", "unnoticed-change", "without hold", line=17),
    "test on one side of the line": Defect(TABLE, "        - {but: {client.days: 3}, failed_at: client.days}\n", "        - {but: {client.days: 1}, failed_at: client.days}\n", "missing-boundary-pair", "when.0", line=17, more=True),
    "unknown never tried": Defect(BOD, "    - {but: {client.weight_kg: unknown}, needs: [client.weight_kg]}\n", "", "unseen-verdict", "never needs", line=1),
    "needless reason": Defect(VOL, "because:", "unmutated: {when.0: no reason}\nbecause:", "needless-reason", "when.0", line=6),
}
# fmt: on


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return clean_book(tmp_path / "rules")


def test_the_clean_book_has_no_finding(book: Path) -> None:
    assert [str(finding) for finding in check(book)] == []


def test_there_are_enough_defects() -> None:
    assert len(DEFECTS) >= 40


def _extra(name: str, book: Path) -> None:
    """What some defects need beside their edit."""
    if name == "rule that never counts":
        twin = (book / BOD).read_text("utf-8").replace("BOD-001", "BOD-002")
        twin = twin.replace("overrides: [BOD-002]\n", "").replace(
            "then:", "when:\n  - {fact: client.age_years, at_least: {param: days.years}}\nthen:"
        )
        years = '  - {id: days.years, title: years, unit: a, values: [{since: "2026-01-01", value: 30}], range: [20, 40], step: 1, source: [{ref: gym-practice, supports: it}], grade: {certainty: practice, note: x}}\n'
        (book / "dose/BOD-002.yaml").write_text(twin, encoding="utf-8")
        (book / DOSE).write_text((book / DOSE).read_text("utf-8") + years, encoding="utf-8")
    if name == "choice nobody concludes":
        replace(book, VOL, "equals: typical}\nunless", "equals: rest}\nunless")


# Where the finding stands in another file than the edit.
ELSEWHERE = {
    "pounds for kilograms": f"rules/{BOD}:6",
    "line one step too high": f"rules/{TABLE}:17",
    "impossible line": f"rules/{TABLE}:17",
    "conclusion nobody reads": f"rules/{TABLE}:17",
    "answer nobody reads": f"rules/{ANSWERS}:15",
    "choice nobody concludes": f"rules/{VOL}:6",
    "rule that never counts": "rules/dose/BOD-002.yaml:1",
}


@pytest.mark.parametrize("name", DEFECTS)
def test_a_defect_is_found_at_its_file_and_line(name: str, book: Path) -> None:
    defect = DEFECTS[name]
    edited = replace(book, defect.file, defect.old, defect.new)
    _extra(name, book)
    line = edited + defect.below if defect.line is None else defect.line
    place = ELSEWHERE.get(name, f"rules/{defect.file}:{line}")
    findings = check(book, WITHOUT_PEOPLE, people=0)
    told = "\n".join(map(str, findings))
    meant = [f for f in findings if f.code == defect.code and defect.says in f"{f.what}; {f.fix}"]
    assert meant, told
    assert place in {f"{f.file}:{f.line}" for f in meant}, told
    if not defect.more:
        assert {f.code for f in findings} == {defect.code}, told
    _well_told(findings)


def _well_told(findings: list[Finding]) -> None:
    for finding in findings:
        assert re.fullmatch(r"[a-z0-9-]+", finding.code)
        assert finding.line >= 1
        assert finding.what.strip(), finding
        assert finding.fix.strip(), finding
        assert "\n" not in str(finding)


def test_a_file_of_ten_megabytes(book: Path) -> None:
    (book / VOL).write_bytes(b"# " + b"x" * 10_000_000)
    (found,) = [f for f in check(book) if f.code == "too-big"]
    assert (found.file, found.line) == (f"rules/{VOL}", 1)


def test_a_bomb_of_aliases_is_refused_in_no_time(book: Path) -> None:
    """Nine levels of nine references would be 387 million items if they were followed."""
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 9)]
    (book / "bomb.yaml").write_text("\n".join(levels), encoding="utf-8")
    findings = check(book)
    assert {(f.file, f.line, f.code) for f in findings} >= {("rules/bomb.yaml", 1, "anchor")}


def test_a_rule_that_no_person_reaches(book: Path) -> None:
    """Its two conditions exclude each other through another rule, so no clause shows it.

    Sessions are short from four days on (STY-SHORT) and long below, so `long` on seven days of
    seven never comes.
    """
    raw = (book / BOD).read_text("utf-8").replace("BOD-001", "BOD-009")
    raw = raw.replace("title: Body mass index", "title: Long and often").replace(
        "then:",
        "when:\n  - {fact: dose.style, equals: long}\n  - {fact: client.days, at_least: {param: days.many}}\nthen:",
    )
    raw = raw.replace(
        "  - set: body.bmi\n    to: {calculate: body.bmi, from: [{fact: client.weight_kg}, {fact: client.height_cm}]}",
        "  - {set: note.sleep, to: true}",
    )
    tests = raw.index("tests:")
    raw = raw[:tests].replace("Weight over height squared gives {value}.", "Long and often.") + (
        "tests:\n  given: {dose.style: long, client.days: 4}\n  expect: {note.sleep: true}\n  cases:\n"
        "    - {but: {client.days: 3}, failed_at: client.days}\n"
        "    - {but: {client.days: unknown}, needs: [client.days]}\n"
        "    - {but: {dose.style: short}, failed_at: dose.style}\n"
    )
    (book / "dose/BOD-009.yaml").write_text(raw, encoding="utf-8")
    findings = check(book)
    assert [(f.file, f.line, f.code) for f in findings] == [
        ("rules/dose/BOD-009.yaml", 1, "unreached-rule")
    ], "\n".join(map(str, findings))


def test_two_rules_that_say_the_same(book: Path) -> None:
    twin = (book / VOL).read_text("utf-8").replace("VOL-001", "VOL-009")
    (book / "dose/VOL-009.yaml").write_text(twin, encoding="utf-8")
    found = {(f.file, f.line, f.code) for f in check(book, ["lint"])}
    assert ("rules/dose/VOL-009.yaml", 1, "twin-rule") in found


def test_a_pattern_in_the_settings_that_is_none(book: Path) -> None:
    line = replace(book, "check.yaml", "proves?|proven)", "proves?|proven")
    (found,) = check(book, ["lint"])
    assert (found.file, found.line, found.code) == ("rules/check.yaml", line, "bad-pattern")


def test_a_rule_that_rests_on_more_than_the_one_it_overrides_is_not_blamed(book: Path) -> None:
    """BOD-002 needs a wished weight, which not everybody names, so BOD-001 does count."""
    first = (book / BOD).read_text("utf-8")
    second = first.replace("BOD-001", "BOD-002").replace(
        "client.weight_kg", "client.goal_weight_kg"
    )
    second = second.replace("because:", "overrides: [BOD-001]\nbecause:", 1)
    (book / "dose/BOD-002.yaml").write_text(second, encoding="utf-8")
    assert "dead-rule" not in {f.code for f in check(book, ["lint"])}
