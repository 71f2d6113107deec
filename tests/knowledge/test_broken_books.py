"""A spoiled knowledge base gives one clear line with the exact place, a stable code and a remedy."""

import re
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NamedTuple

import pytest

from assistant.knowledge.files import rule_file_name
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.sources import Certainty


class Spoiled(NamedTuple):
    """One edit, and the problem it must give. `below` is how far under the edit the place is."""

    file: str
    old: str
    new: str
    code: str
    says: str
    below: int = 0


VOL, SCR, BOD = "dose/VOL-001.yaml", "screen/SCR-001.yaml", "dose/BOD-001.yaml"
ANSWERS, DERIVED, DOSE = "facts/answers.yaml", "facts/derived.yaml", "parameters/dose.yaml"
TABLE, ASKED = "tables/STY.yaml", "questions/00_all.yaml"

# fmt: off
SPOILED = {
    # How YAML is written.
    "tab": Spoiled(VOL, "  loop: quads", "\tloop: quads", "tab", "spaces"),
    "repeated field": Spoiled(
        VOL, "stage: dose", "stage: dose\nstage: dose", "repeated-field", "line 3", 1
    ),
    "bare no": Spoiled(SCR, "title: A sign", "title: no\nx: A sign", "ambiguous-value", "true or"),
    "bare date": Spoiled(
        DOSE, '{since: "2026-06-01"', "{since: 2026-06-01", "ambiguous-value", '"2026-01-01"'
    ),
    "anchor": Spoiled(DOSE, "range: [4, 12]", "range: &r [4, 12]", "anchor", "in full"),
    "tag": Spoiled(DOSE, "range: [4, 12]", "range: !!set [4, 12]", "tag", "remove the tag"),
    "octal": Spoiled(DOSE, "range: [4, 12]", "range: [04, 12]", "ambiguous-value", "decimal"),
    "nothing there": Spoiled(DOSE, "range: [4, 12]", "range:", "empty-value", "give a value"),
    "open bracket": Spoiled(DOSE, "range: [4, 12]", "range: [4, 12", "bad-yaml", "brackets", 1),
    "two documents": Spoiled(VOL, "because:", "---\nbecause:", "several-documents", "split"),
    "turned text": Spoiled(VOL, "stage: dose", "stage: do\u202ese", "bad-character", "U+202E"),
    # The shape of a document.
    "unknown field": Spoiled(
        VOL, "because:", "becouse: x\nbecause:", "unknown-field", "did you mean `because`"
    ),
    "unknown field in a clause": Spoiled(
        SCR, "age_years, status:", "age_years, is_status: x, status:", "unknown-field", "`status`"
    ),
    "missing field": Spoiled(BOD, "title: Body mass index\n", "", "missing-field", "`title`", -1),
    "bad stage word": Spoiled(VOL, "stage: dose", "stage: 3", "bad-value", "text (put quotes"),
    "bad certainty": Spoiled(
        VOL, "certainty: practice", "certainty: sure", "bad-value", "'strong', 'moderate'"
    ),
    "two operators": Spoiled(
        VOL, "equals: typical", "equals: typical, has: typical", "bad-value", "exactly one operator"
    ),
    "not an expression": Spoiled(
        VOL, "to: {param: sets.typical}", "to: {parm: sets.typical}", "bad-value", "{param: ...}"
    ),
    "list for an expression": Spoiled(
        VOL, "to: {param: sets.typical}", "to: [1]", "bad-value", "{sum: [...]}"
    ),
    "a clause that is text": Spoiled(
        VOL,
        "- {fact: dose.role, of: muscle, equals: typical}",
        "- dose.role",
        "bad-value",
        "any_of",
    ),
    "no source": Spoiled(
        VOL, "source: [{ref: gym-practice, supports: all}]", "source: []", "bad-value", "1 entry"
    ),
    "day that does not exist": Spoiled(
        DOSE, '"2026-06-01", value: 9', '"2026-06-31", value: 9', "bad-value", "a date such as"
    ),
    "value outside its range": Spoiled(
        DOSE,
        "range: [4, 12]",
        "range: [9, 12]",
        "bad-value",
        "outside the allowed range 9 to 12",
        -4,
    ),
    "safety default": Spoiled(
        ANSWERS,
        "screen.dizzy, label: dizziness, type: boolean, origin: answer, tier: A",
        "screen.dizzy, label: dizziness, type: boolean, origin: answer, tier: A, "
        "default: {value: false, because: x}",
        "bad-value",
        "never takes a default",
    ),
    "wrong list name": Spoiled(DOSE, "parameters:", "parameter:", "unknown-field", "`parameters:`"),
    # Names.
    "unknown fact": Spoiled(
        VOL, "{fact: dose.role, of", "{fact: dose.rol, of", "unknown-fact", "mean `dose.role`"
    ),
    "unknown parameter": Spoiled(
        VOL,
        "to: {param: sets.typical}",
        "to: {param: sets.tipical}",
        "unknown-parameter",
        "did you mean `sets.typical`",
    ),
    "unknown source": Spoiled(
        VOL, "ref: gym-practice", "ref: gym-practise", "unknown-source", "mean `gym-practice`"
    ),
    "unknown calculator": Spoiled(
        BOD, "calculate: body.bmi", "calculate: body.bmy", "unknown-calculator", "`body.bmi`"
    ),
    "unknown domain": Spoiled(
        VOL,
        "for_each: {muscle: muscle}",
        "for_each: {muscle: muscles}",
        "unknown-domain",
        "mean `muscle`",
    ),
    "unknown stage": Spoiled(
        VOL, "stage: dose", "stage: doze", "unknown-stage", "did you mean `dose`"
    ),
    "unknown choice": Spoiled(
        VOL, "equals: typical", "equals: typicle", "unknown-choice", "did you mean `typical`"
    ),
    "unknown choice in one_of": Spoiled(
        TABLE, "goals: [gain, hold]", "goals: [gain, hald]", "unknown-choice", "mean `hold`", -3
    ),
    "unknown item": Spoiled(
        SCR, "item: EVERYTHING", "item: EVERYTHIN", "unknown-choice", "mean `EVERYTHING`"
    ),
    "unknown loop": Spoiled(
        VOL, "equals: typical", "equals: {loop: mussel}", "unknown-loop", "(muscle)"
    ),
    "unknown index": Spoiled(
        VOL, "dose.role, of: muscle", "dose.role, of: lat", "bad-index", "did you mean `lats`"
    ),
    "missing index": Spoiled(
        VOL, "dose.role, of: muscle", "dose.role", "bad-index", "one value per muscle"
    ),
    "unknown override": Spoiled(
        VOL, "because:", "overrides: [VOL-002, VOL-022]\nbecause:", "unknown-rule", "is not a rule"
    ),
    "override of another fact": Spoiled(
        VOL, "because:", "overrides: [MUS-001]\nbecause:", "bad-override", "concludes nothing"
    ),
    "personal fact": Spoiled(
        SCR, "screen.dizzy, equals: true", "client.note, status: known", "personal-fact", "no rule"
    ),
    # Types and units.
    "bare number": Spoiled(
        VOL, "to: {param: sets.typical}", "to: 8", "bare-number", "declare it as a parameter"
    ),
    "unit of a conclusion": Spoiled(
        VOL,
        "to: {param: sets.typical}",
        "to: {param: days.many}",
        "unit-mismatch",
        "`dose.sets_per_week` is in {sets}/wk",
    ),
    "mixed sum": Spoiled(
        VOL, "{param: sets.priority_extra}", "{fact: client.weight_kg}", "unit-mismatch", "mixes"
    ),
    "calculator's unit": Spoiled(
        BOD,
        "[{fact: client.weight_kg}, {",
        "[{fact: client.height_cm}, {",
        "unit-mismatch",
        "wants weight in kg",
    ),
    "calculator's arity": Spoiled(
        BOD, "from: [{fact: client.weight_kg}, ", "from: [", "bad-calculation", "takes 2 values"
    ),
    "text for a number": Spoiled(
        TABLE, 'at_least: "$"', "at_least: often", "bad-type", "is a number in 1", 5
    ),
    "order of a yes/no": Spoiled(
        SCR, "screen.dizzy, equals: true", "screen.dizzy, at_least: 1", "bad-operator", "ordered"
    ),
    "list operator on a choice": Spoiled(
        VOL, "equals: typical", "has: typical", "bad-operator", "for lists"
    ),
    "count that is not monotone": Spoiled(
        SCR, "more_than: 1", "at_most: 1", "bad-operator", "an unanswered one is not a no"
    ),
    "range of a fact without one": Spoiled(
        "dose/MUS-001.yaml", "to: typical", "to: typical, low: 1", "no-range", "has_range"
    ),
    "set on a list that collects": Spoiled(
        SCR,
        "{add: screen.withheld, item: EVERYTHING}",
        "{set: screen.withheld, to: body_measures}",
        "bad-conclusion",
        "use `add`",
    ),
    "concluding an answer": Spoiled(
        "dose/MUS-001.yaml",
        "{set: dose.role, of: muscle, to: typical}",
        "{set: client.goal, to: gain}",
        "not-derived",
        "conclude derived facts",
    ),
    "status that can never be": Spoiled(
        SCR, "status: not_applicable", "status: none", "never-true", "never be `none`"
    ),
    # Order.
    "unless in the screen": Spoiled(
        SCR, "excused_by:", "unless:", "unless-in-screen", "use `excused_by`"
    ),
    "reading a later stage": Spoiled(
        SCR,
        "{fact: screen.dizzy, equals: true}",
        "{fact: note.sleep, equals: true}",
        "later-stage",
        "later stage `dose`",
        -7,
    ),
    "reading one's own conclusion": Spoiled(
        "dose/MUS-001.yaml",
        "then:",
        "when: [{fact: dose.role, of: muscle, status: known}]\nthen:",
        "reads-own-conclusion",
        "concludes itself",
        -4,
    ),
    "circle": Spoiled(
        "dose/MUS-001.yaml",
        "then:",
        "when: [{fact: dose.sets_per_week, of: muscle, status: known}]\nthen:",
        "circle",
        "dose.role <- dose.sets_per_week <- dose.role",
        -4,
    ),
    # Prose, grades, tests.
    "placeholder that nobody knows": Spoiled(
        BOD, "gives {value}", "gives {valeu}", "bad-placeholder", "did you mean `value`"
    ),
    "placeholder not read": Spoiled(
        BOD, "gives {value}", "gives {client.goal}", "bad-placeholder", "not read by this rule"
    ),
    "open brace": Spoiled(BOD, "gives {value}", "gives {value", "bad-placeholder", "partner"),
    "grade above its source": Spoiled(
        VOL, "certainty: practice", "certainty: low", "grade-too-high", "practice or weaker"
    ),
    "parameter's grade": Spoiled(
        DOSE,
        "    grade: {certainty: practice, note: what the gym does}\n  - id: sets.priority",
        "    grade: {certainty: strong, note: what the gym does}\n  - id: sets.priority",
        "grade-too-high",
        "practice or weaker",
    ),
    "grade above the weakest part": Spoiled(
        BOD,
        "source: [{ref: quotient, supports: the definition}]\ngrade: {certainty: strong",
        "source: [{ref: quotient, supports: the definition}, {ref: gym-practice, supports: the use}]\n"
        "grade: {certainty: moderate",
        "grade-too-high",
        "bear for `the use`; allowed: low or weaker",
        1,
    ),
    "test without expectation": Spoiled(
        "dose/MUS-001.yaml", ', expect: {"dose.role[lats]": typical}', "", "missing-test", "expect"
    ),
    "test of an unread fact": Spoiled(
        BOD,
        "given: {client.weight_kg: 64,",
        "given: {client.goal: gain, client.weight_kg: 64,",
        "bad-test",
        "giving it tests nothing",
    ),
    "test value out of range": Spoiled(
        BOD, "client.weight_kg: 64", "client.weight_kg: 640", "out-of-range", "30 to 250 in kg"
    ),
    "test of another element": Spoiled(
        VOL, "loop: quads", "loop: quad", "bad-test", "did you mean `quads`"
    ),
    "reason for nothing": Spoiled(
        SCR, "when.0.any_of.1:", "when.0.any_of.7:", "unknown-address", "did you mean"
    ),
    # Facts, parameters, questions.
    "unknown unit": Spoiled(DERIVED, "unit: kg/m2", "unit: kilo/m2", "unknown-unit", "kcal/d"),
    "unknown output": Spoiled(
        DERIVED,
        "reveals: [body_measures]}",
        "reveals: [body_measure]}",
        "unknown-choice",
        "mean `body_measures`",
    ),
    "group of strangers": Spoiled(
        DERIVED,
        "EVERYTHING: [exercise_any, body",
        "EVERYTHING: [exercise, body",
        "unknown-choice",
        "mean `exercise_any`",
    ),
    "choice named like a status": Spoiled(
        ANSWERS,
        "choices: [gain, hold]",
        "choices: [gain, hold, declined]",
        "bad-declaration",
        "rename it",
    ),
    "default out of range": Spoiled(
        ANSWERS, "default: {value: 3,", "default: {value: 9,", "out-of-range", "1 to 7"
    ),
    "fact declared twice": Spoiled(
        DERIVED,
        "- {id: note.sleep,",
        "- {id: dose.style, type: text, origin: derived, label: x}\n  - {id: note.sleep,",
        "repeated-id",
        "stands already at rules/facts/derived.yaml:10",
    ),
    "question about nothing": Spoiled(
        ASKED,
        "{fact: client.sleeps_well,",
        "{fact: client.sleep_well,",
        "unknown-fact",
        "mean `client.sleeps_well`",
    ),
    "question about a conclusion": Spoiled(
        ASKED, "{fact: client.sleeps_well,", "{fact: note.sleep,", "not-an-answer", "not asked"
    ),
    "unknown section": Spoiled(
        ASKED,
        "sections:\n  - {id: you,",
        "sections:\n  - {id: me,",
        "unknown-section",
        "`you` is not a section",
        3,
    ),
    "suggested safety answer": Spoiled(
        ASKED,
        "self: Any dizziness?,",
        "self: Any dizziness?, suggestion: false,",
        "suggested-safety-answer",
        "never suggests",
    ),
    "quantity of another unit": Spoiled(
        ASKED, "quantity: length", "quantity: energy", "unit-mismatch", "is in cm"
    ),
    "ask-if about what comes later": Spoiled(
        ASKED,
        "{fact: client.age_years, status: known}",
        "{fact: client.days, status: known}",
        "asked-too-late",
        "not asked before",
    ),
    "label of no choice": Spoiled(
        ASKED, "hold: hold}}", "holt: hold}}", "unknown-choice", "did you mean `hold`", 0
    ),
    # Tables.
    "row without a cell": Spoiled(TABLE, "    few: any\n", "", "missing-cell", "write `any`", -2),
    "row with a stranger": Spoiled(
        TABLE, "    few: any\n", "    few: any\n    fewer: 1\n", "unknown-field", "mean `few`", 1
    ),
    "column named like a field": Spoiled(
        TABLE, "  many: {when:", "  tests: {when:", "bad-column", "rename the column"
    ),
    "unknown name in a sentence": Spoiled(
        TABLE,
        "because: Sessions are $style;",
        "because: Sessions are $stile;",
        "unknown-column",
        "mean `style`",
        7,
    ),
    "shared field that is none": Spoiled(
        TABLE, "shared:\n", "shared:\n  gread: {}\n", "unknown-field", "did you mean `grade`", 1
    ),
    # One value, one rule.
    "two rules for one value": Spoiled(
        TABLE, 'less_than: "$"', 'at_most: "$"', "conflict", "from `STY-SHORT`", 16
    ),
}
# fmt: on


@pytest.mark.parametrize("name", SPOILED)
def test_a_spoiled_book_says_where_and_what(
    name: str, edit: Callable[[str, str, str], int], load: Callable[[], object]
) -> None:
    spoiled = SPOILED[name]
    line = edit(spoiled.file, spoiled.old, spoiled.new) + spoiled.below
    with pytest.raises(InputProblems) as caught:
        load()
    problems = caught.value.problems
    found = [p for p in problems if p.code == spoiled.code and spoiled.says in p.text]
    assert found, str(caught.value)
    assert f"rules/{spoiled.file}:{line}" in {p.place for p in found}, str(caught.value)
    for problem in problems:
        assert re.fullmatch(r"[a-z0-9-]+", problem.code)
        assert "\n" not in str(problem)


def test_a_grade_is_capped_part_by_part(
    edit: Callable[[str, str, str], int], load: Callable[..., KnowledgeBase]
) -> None:
    """What is published about one part lifts the whole to `low`, and a second study lifts to `strong`."""
    two_parts = "source: [{ref: quotient, supports: the definition}, {ref: gym-practice, supports: the use}]"
    edit(BOD, "source: [{ref: quotient, supports: the definition}]", two_parts)
    edit(BOD, "certainty: strong", "certainty: low")
    assert load().rules["BOD-001"].grade.certainty is Certainty.LOW
    edit("sources/gym.yaml", "{id: quotient, kind: standard,", "{id: quotient, kind: trial,")
    edit(BOD, "certainty: low", "certainty: strong")
    one_study = two_parts.replace("{ref: gym-practice, supports: the use}", "")
    edit(BOD, two_parts, one_study)
    with pytest.raises(InputProblems, match="allowed: moderate or weaker"):
        load()
    second = "  - {id: second, kind: trial, citation: another, says: the same, mark: read}\n"
    edit("sources/gym.yaml", "  - {id: quotient", f"{second}  - {{id: quotient")
    edit(
        BOD,
        "supports: the definition}, ]",
        "supports: the definition}, {ref: second, supports: the definition}]",
    )
    assert load().rules["BOD-001"].grade.certainty is Certainty.STRONG


def test_a_calculator_is_a_part_of_its_own(
    load: Callable[..., KnowledgeBase], calculators: dict[str, Any]
) -> None:
    recalled = SimpleNamespace(**vars(calculators["body.bmi"]) | {"mark": "from_memory"})
    with pytest.raises(InputProblems, match=r"bear for `body\.bmi`; allowed: low or weaker"):
        load(calculators={**calculators, "body.bmi": recalled})


def test_all_problems_come_at_once_in_order_of_place(
    edit: Callable[[str, str, str], int], load: Callable[[], object]
) -> None:
    edit(VOL, "ref: gym-practice", "ref: gym-practise")
    edit(BOD, "calculate: body.bmi", "calculate: body.bmy")
    edit(SCR, "item: EVERYTHING", "item: EVERYTHIN")
    with pytest.raises(InputProblems) as caught:
        load()
    assert [p.code for p in caught.value.problems] == [
        "unknown-calculator", "unknown-source", "unknown-choice"
    ]  # fmt: skip


def test_a_broken_rule_does_not_hide_the_problems_of_sound_ones(
    edit: Callable[[str, str, str], int], load: Callable[[], object]
) -> None:
    edit("dose/MUS-001.yaml", "because:", "becouse:")
    edit(VOL, "ref: gym-practice", "ref: gym-practise")
    with pytest.raises(InputProblems) as caught:
        load()
    codes = [p.code for p in caught.value.problems]
    assert "missing-field" in codes
    assert "unknown-source" in codes
    # Rules that read what the broken one would have concluded are not blamed.
    assert "never-concluded" not in codes


@pytest.mark.parametrize(
    ("path", "content", "place", "code", "says"),
    [
        ("dose/VOL-900.yml", "id: VOL-900\n", "rules/dose/VOL-900.yml", "misplaced-file", ".yaml"),
        ("doze/A.yaml", "id: 1\n", "rules/doze/A.yaml", "misplaced-file", "did you mean `dose`"),
        ("dose/deep/A.yaml", "id: 1\n", "rules/dose/deep/A.yaml", "misplaced-file", "inside"),
        ("facts/empty.yaml", "", "rules/facts/empty.yaml:1", "empty-file", "says nothing"),
        ("facts/list.yaml", "- 1\n", "rules/facts/list.yaml:1", "bad-value", "`facts:`"),
        ("facts/text.yaml", "facts: x\n", "rules/facts/text.yaml:1", "bad-value", "begin every"),
        ("book.yaml", "name: x\n", "rules/book.yaml:1", "missing-field", "`stages`"),
        ("grades.yaml", "grades: []\n", "rules/grades.yaml", "missing-grade", "strong"),
    ],
)
def test_a_file_out_of_place(
    path: str,
    content: str,
    place: str,
    code: str,
    says: str,
    book: Path,
    load: Callable[[], object],
) -> None:
    (book / path).parent.mkdir(parents=True, exist_ok=True)
    (book / path).write_text(content, encoding="utf-8")
    with pytest.raises(InputProblems) as caught:
        load()
    assert any(
        (p.place, p.code) == (place, code) and says in p.text for p in caught.value.problems
    ), str(caught.value)


@pytest.mark.parametrize("name", ["VOL-100", "VOL-0010", "VOL-001-LATE-sets", "sets-VOL-001"])
def test_a_rule_in_a_file_of_another_name(
    book: Path, load: Callable[[], object], name: str
) -> None:
    (book / VOL).rename(book / "dose" / f"{name}.yaml")
    said = rf"rules/dose/{name}.yaml:1: misnamed-file.*name the file VOL-001-[a-z-]+\.yaml"
    with pytest.raises(InputProblems, match=said):
        load()


def test_a_file_named_after_a_rule_and_its_title(book: Path, load: Callable[[], object]) -> None:
    (book / VOL).rename(book / "dose" / "VOL-001-sets-of-a-week.yaml")
    load()


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("The doctor's agreement", "ENE-001-doctors-agreement.yaml"),
        ("Müde: 8 hours, no less", "ENE-001-mude-8-hours-no-less.yaml"),
        (
            "How far the goal may lie from the weight that they would wish for",
            "ENE-001-how-far-goal-may-lie-from-weight.yaml",
        ),
        ("…", "ENE-001.yaml"),
    ],
)
def test_the_name_of_a_file_is_the_title_cut_short(title: str, name: str) -> None:
    assert rule_file_name("ENE-001", title) == name


def test_a_rule_in_the_folder_of_another_stage(book: Path, load: Callable[[], object]) -> None:
    (book / VOL).rename(book / "screen" / "VOL-001.yaml")
    with pytest.raises(InputProblems, match=r"rules/screen/VOL-001.yaml:3: misplaced-file"):
        load()


def test_a_fact_that_is_read_but_never_concluded(book: Path, load: Callable[[], object]) -> None:
    (book / "dose" / "MUS-001.yaml").unlink()
    (book / "dose" / "MUS-002.yaml").unlink()
    with pytest.raises(InputProblems) as caught:
        load()
    assert {(p.place, p.code) for p in caught.value.problems} == {
        ("rules/dose/VOL-001.yaml:1", "never-concluded"),
        ("rules/dose/VOL-002.yaml:1", "never-concluded"),
    }


def test_bytes_that_are_no_text(book: Path, load: Callable[[], object]) -> None:
    (book / VOL).write_bytes(b"id: VOL-001\ntitle: \xff\n")
    with pytest.raises(InputProblems, match=r"rules/dose/VOL-001.yaml:2: bad-encoding.*UTF-8"):
        load()


def test_a_file_that_is_too_big(book: Path, load: Callable[[], object]) -> None:
    (book / "wording.yaml").write_bytes(b"# " + b"x" * 1_000_000)
    with pytest.raises(InputProblems, match=r"rules/wording.yaml: too-big"):
        load()


def test_a_missing_folder_and_a_missing_front_page(book: Path, load: Callable[[], object]) -> None:
    (book / "book.yaml").unlink()
    with pytest.raises(InputProblems, match=r"rules/book.yaml: missing-file"):
        load()
    book.rename(book.parent / "elsewhere")
    with pytest.raises(InputProblems, match="missing-folder: there is no such folder"):
        load()
