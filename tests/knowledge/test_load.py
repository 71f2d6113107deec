"""What a loaded knowledge base holds, its hashes, its compiled copy, and a coach's own settings."""

import datetime as dt
import hashlib
import json
import os
import pickle
import random
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType

import pytest
import yaml

from assistant.calculate.registry import CALCULATORS
from assistant.engine.compile import compile_knowledge
from assistant.knowledge import load_kept
from assistant.knowledge.packed import BROKEN, pack, unpack
from assistant.knowledge.strict_yaml import parse_file
from assistant.model.errors import InputProblems
from assistant.model.expressions import ParameterTerm
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.lint.unread import unread

Load = Callable[..., KnowledgeBase]
Edit = Callable[[str, str, str], int]


def test_everything_is_there_in_order_of_id(small: KnowledgeBase) -> None:
    assert list(small.rules) == [
        "BOD-001", "MUS-001", "MUS-002", "SCR-001", "STY-LONG", "STY-SHORT", "VOL-001", "VOL-002"
    ]  # fmt: skip
    for mapping in (small.facts, small.parameters, small.sources, small.grades, small.rules):
        assert list(mapping) == sorted(mapping)
    assert [question.fact for question in small.questions][:2] == [
        "client.age_years", "screen.chest_pain"
    ]  # fmt: skip
    assert small.wording.labels == {"lats": "Hello from Harrow Lane"}
    assert list(small.files) == ["wording"]


def test_nothing_can_be_changed_after_loading(small: KnowledgeBase) -> None:
    with pytest.raises(TypeError):
        small.rules["X"] = small.rules["VOL-001"]  # type: ignore[index]
    with pytest.raises(ValueError, match="frozen"):
        small.rules["VOL-001"].title = "x"  # type: ignore[misc]


def test_places_point_at_the_item(small: KnowledgeBase) -> None:
    assert str(small.places["VOL-001"]) == "small_book/dose/VOL-001.yaml:1"
    assert str(small.places["STY-LONG"]) == "small_book/tables/STY.yaml:29"
    assert str(small.places["parameter:days.many"]) == "small_book/parameters/dose.yaml:18"
    assert str(small.places["fact:body.bmi"]) == "small_book/facts/derived.yaml:5"


def test_a_table_row_is_a_rule(small: KnowledgeBase) -> None:
    rule = small.rules["STY-SHORT"]
    assert rule.title == "Style of short sessions: short"
    assert rule.because == "Sessions are short; {client.days} days."
    assert [clause.model_dump(exclude_none=True) for clause in rule.when] == [
        {"fact": "client.days", "at_least": {"param": "days.many"}},
        {"fact": "client.goal", "one_of": ("gain", "hold")},
    ]
    assert [conclusion.fact for conclusion in rule.then] == ["note.sleep", "dose.style"]
    assert isinstance(rule.when[0].operand, ParameterTerm)  # type: ignore[union-attr]


def test_the_shared_clauses_of_a_table_come_first_and_cells_with_lists_conclude_one_by_one(
    edit: Edit, load: Load
) -> None:
    edit("tables/STY.yaml", "shared:\n", "shared:\n  unless: [{fact: client.sleeps_well, "
         "equals: false}]\n")  # fmt: skip
    edit("tables/STY.yaml", 'style: {then: {set: dose.style, to: "$"}}',
         'style: {then: {set: dose.style, to: "$"}}\n'
         '  held: {then: {add: note.held, item: "$"}}')  # fmt: skip
    edit("tables/STY.yaml", "    style: short\n", "    style: short\n    held: any\n")
    edit("tables/STY.yaml", "    style: long\n",
         "    style: long\n    held: [exercise_any, body_measures]\n"
         "    unless: [{fact: client.target_date, status: known}]\n")  # fmt: skip
    edit("facts/derived.yaml", "facts:\n", "facts:\n  - {id: note.held, label: held, type: choices,"
         " choice_domain: output, origin: derived, combine: collect}\n")  # fmt: skip
    rule = load().rules["STY-LONG"]
    assert [c.fact for c in rule.then] == ["note.sleep", "dose.style", "note.held", "note.held"]
    assert [c.item for c in rule.then[2:]] == ["exercise_any", "body_measures"]
    assert [c.fact for c in rule.unless] == ["client.sleeps_well", "client.target_date"]
    assert len(load().rules["STY-SHORT"].then) == 2


def test_findings_name_what_is_unused_or_unasked(edit: Edit, load: Load) -> None:
    edit("sources/gym.yaml", "sources:\n", "sources:\n  - {id: lonely, kind: judgement, "
         "citation: ours, says: x, mark: judgement}\n")  # fmt: skip
    edit("questions/00_all.yaml", "  - {fact: client.soreness, section: you, coach: How sore?, "
         "self: How sore?, why: to go easy}\n", "")  # fmt: skip
    edit("questions/00_all.yaml", "labels: {gain: gain muscle, hold: hold}", "labels: {gain: gain}")
    edit("dose/BOD-001.yaml", "source: [{ref: quotient,", "source: [{ref: gym-practice,")
    edit("dose/BOD-001.yaml", "certainty: strong", "certainty: practice")
    found = {(problem.place, problem.code) for problem in unread(load())}
    assert ("rules/sources/gym.yaml:2", "unused-source") in found
    assert ("rules/facts/answers.yaml:15", "unasked-fact") in found
    assert ("rules/questions/00_all.yaml:17", "unlabelled-choice") in found
    assert ("rules/sources/gym.yaml:5", "unused-source") in found
    assert not [code for _, code in found if code == "unused-parameter"]


# Hashes.


def test_formatting_comments_and_file_order_change_no_hash(book: Path, load: Load) -> None:
    before = load()
    for path in sorted(book.rglob("*.yaml")):
        data = parse_file(path, "x").data
        text = json.dumps(data, indent=3) if random.Random(path.name).random() < 0.5 else (
            yaml.safe_dump(data, width=40, default_flow_style=False)
        )  # fmt: skip
        path.write_text("# a comment\n" + text, encoding="utf-8")
    (book / "facts" / "answers.yaml").rename(book / "facts" / "zz_answers.yaml")
    after = load()
    assert (after.logic_hash, after.content_hash) == (before.logic_hash, before.content_hash)


def test_order_inside_a_file_changes_no_hash(book: Path, load: Load) -> None:
    before = load()
    path = book / "facts" / "derived.yaml"
    data = parse_file(path, "x").data
    data["facts"].reverse()
    path.write_text(json.dumps(data), encoding="utf-8")
    after = load()
    assert (after.logic_hash, after.content_hash) == (before.logic_hash, before.content_hash)


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("dose/BOD-001.yaml", "because: Weight over", "because: The weight over"),
        ("dose/BOD-001.yaml", "title: Body mass index", "title: Index"),
        ("sources/gym.yaml", "says: how the gym does it", "says: how we do it"),
        ("facts/answers.yaml", "label: body weight", "label: weight"),
        ("dose/MUS-002.yaml", "  loop: lats\n  given: {client.priority_muscles: [lats]}",
         "  loop: lats\n  given: {client.priority_muscles: [lats, quads]}"),
        ("questions/00_all.yaml", "why: rest matters", "why: rest counts"),
        ("book.yaml", "version: 1.0.0", "version: 1.0.1"),
        ("facts/answers.yaml", "because: most people start with three", "because: x"),
    ],
)  # fmt: skip
def test_prose_sources_and_tests_change_only_the_content_hash(
    file: str, old: str, new: str, edit: Edit, load: Load
) -> None:
    before = load()
    edit(file, old, new)
    after = load()
    assert after.logic_hash == before.logic_hash
    assert after.content_hash != before.content_hash


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("parameters/dose.yaml", '"2026-06-01", value: 9', '"2026-06-01", value: 10'),
        ("parameters/dose.yaml", '"2026-06-01", value: 9', '"2026-06-02", value: 9'),
        ("dose/VOL-001.yaml", "low: {difference: [{param: sets.typical}, 1]}",
         "low: {difference: [{param: sets.typical}, 0]}"),
        ("facts/answers.yaml", "default: {value: 3", "default: {value: 4"),
        ("facts/derived.yaml", "combine: max", "combine: min"),
        ("wording.yaml", "Hello from", "Welcome to"),
        ("book.yaml", "muscle: [lats, quads, chest]", "muscle: [lats, quads, chest, abs]"),
    ],
)  # fmt: skip
def test_what_can_change_a_plan_changes_both_hashes(
    file: str, old: str, new: str, edit: Edit, load: Load
) -> None:
    before = load()
    edit(file, old, new)
    after = load()
    assert after.logic_hash != before.logic_hash
    assert after.content_hash != before.content_hash


def test_a_table_and_the_same_rules_written_out_have_the_same_logic(book: Path, load: Load) -> None:
    before = load()
    for rule_id in ("STY-LONG", "STY-SHORT"):
        raw = before.rules[rule_id].model_dump(mode="json", by_alias=True, exclude_unset=True)
        (book / "dose" / f"{rule_id}.yaml").write_text(json.dumps(raw), encoding="utf-8")
    (book / "tables" / "STY.yaml").unlink()
    after = load()
    assert after.rules == before.rules
    assert (after.logic_hash, after.content_hash) == (before.logic_hash, before.content_hash)


# A coach's own settings.


def test_own_settings_win_and_show_in_the_hash(tmp_path: Path, load: Load) -> None:
    own = tmp_path / "own.yaml"
    own.write_text("parameters: {sets.typical: 10}\n", encoding="utf-8")
    plain, settled = load(), load(house=own)
    day = dt.date(2026, 1, 12)
    assert plain.parameter_value("sets.typical", day).value == 8
    assert plain.parameter_value("sets.typical", dt.date(2026, 6, 1)).value == 9
    assert settled.parameter_value("sets.typical", day).value == 10
    assert settled.overlay == {"sets.typical": 10}
    assert settled.logic_hash != plain.logic_hash


@pytest.mark.parametrize(
    ("text", "line", "code", "says"),
    [
        ("parameters: {sets.typicl: 10}", 1, "unknown-parameter", "did you mean `sets.typical`"),
        ("parameters:\n  sets.typical: 20", 2, "out-of-range", "4 to 12 {sets}/wk"),
        ("parameters:\n  sets.typical: many", 2, "bad-type", "a number in {sets}/wk"),
        ("parameters:\n  sets.typical: true", 2, "bad-type", "a number"),
        ("sets.typical: 9", 1, "bad-type", "`parameters:`"),
        ("parameters: {sets.typical: 9}\nrules: {}", 2, "unknown-field", "only `parameters`"),
        ("parameters: {sets.typical: 9", 1, "bad-yaml", "brackets"),
    ],
)
def test_own_settings_that_can_not_be(
    text: str, line: int, code: str, says: str, tmp_path: Path, load: Load
) -> None:
    own = tmp_path / "own.yaml"
    own.write_text(text, encoding="utf-8")
    with pytest.raises(InputProblems) as caught:
        load(house=own)
    [problem] = caught.value.problems
    assert (problem.place, problem.code) == (f"{own}:{line}", code)
    assert says in problem.text


def test_own_settings_that_are_not_there(tmp_path: Path, load: Load) -> None:
    with pytest.raises(InputProblems, match="unreadable-file: the file of own settings"):
        load(house=tmp_path / "nothing.yaml")


# The compiled copy.


def test_a_compiled_copy_is_the_same_knowledge(tmp_path: Path, load: Load) -> None:
    folder = tmp_path / "cache"
    cold = load(use_cache=True, cache_directory=folder)
    [copy] = folder.iterdir()
    assert copy.stat().st_mode & 0o777 == 0o600
    written = copy.stat().st_mtime_ns
    warm = load(use_cache=True, cache_directory=folder)
    assert copy.stat().st_mtime_ns == written
    assert warm == cold
    assert list(warm.rules) == list(cold.rules)


def _with_own_hash(body: bytes) -> bytes:
    """A copy as somebody would write it who knows how its head is made."""
    return hashlib.sha256(body).digest() + body


class _RunsACommand:
    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.system, ("false",)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda _: b"",
        lambda _: b"x",
        lambda raw: raw.replace(b"Body mass index", b"Body mass undex"),
        lambda raw: raw[: len(raw) // 2],
        lambda raw: _with_own_hash(raw[32 : len(raw) // 2]),
        lambda _: _with_own_hash(pickle.dumps({"not": "a book"})),
        lambda _: _with_own_hash(pickle.dumps(_RunsACommand())),
        lambda _: _with_own_hash(b"cassistant.knowledge.cache\nos.system\n."),
        lambda _: _with_own_hash(b"cassistant.model.places\ncache_folder\n."),
    ],
)
def test_a_spoiled_copy_is_ignored_and_replaced(
    spoil: Callable[[bytes], bytes], tmp_path: Path, load: Load
) -> None:
    folder = tmp_path / "cache"
    cold = load(use_cache=True, cache_directory=folder)
    [copy] = folder.iterdir()
    whole = copy.read_bytes()
    copy.write_bytes(spoil(whole))
    assert copy.read_bytes() != whole
    assert load(use_cache=True, cache_directory=folder) == cold
    assert copy.read_bytes() == whole


def test_a_copy_that_others_may_write_is_not_believed(tmp_path: Path, load: Load) -> None:
    folder = tmp_path / "cache"
    cold = load(use_cache=True, cache_directory=folder)
    [copy] = folder.iterdir()
    copy.chmod(0o620)
    assert load(use_cache=True, cache_directory=folder) == cold
    assert copy.stat().st_mode & 0o777 == 0o600


def test_no_copy_can_name_what_is_not_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only classes of the rooms that are kept can be named: no function, no other module, no inner name."""
    ran: list[str] = []
    monkeypatch.setattr("os.system", ran.append)
    for raw in (
        pickle.dumps(_RunsACommand()),
        b"cassistant.model.places\ncache_folder\n)R.",
        b"cassistant.model.knowledge\ndataclasses.replace\n)R.",
        b"cassistant.cli.main\nmain\n)R.",
        b"cbuiltins\neval\n(S'ran.append(1)'\ntR.",
    ):
        with pytest.raises(BROKEN):
            unpack(raw)
    assert ran == []
    facts = frozenset({dt.date(2026, 1, 12)})
    assert unpack(pack(MappingProxyType({"kept": facts}))) == {"kept": facts}


def test_what_is_made_of_a_book_names_its_rules_and_is_the_same(tmp_path: Path) -> None:
    day = dt.date(2026, 1, 12)
    kb, copy = load_kept(calculators=CALCULATORS, cache_directory=tmp_path)
    assert copy is not None
    made = compile_knowledge(kb, day)
    assert copy.read_made(kb) is None
    copy.write_made(made, kb)
    again = copy.read_made(kb)
    assert again == made
    assert again.kb is kb
    assert all(bound.rule is kb.rules[bound.rule.id] for bound in again.rules)
    assert len(again.rules) > 1_000


def test_a_changed_file_is_never_served_from_the_copy(
    tmp_path: Path, edit: Edit, load: Load
) -> None:
    folder = tmp_path / "cache"
    load(use_cache=True, cache_directory=folder)
    edit("dose/BOD-001.yaml", "title: Body mass index", "title: Index")
    assert load(use_cache=True, cache_directory=folder).rules["BOD-001"].title == "Index"
    edit("dose/BOD-001.yaml", "ref: quotient", "ref: quotiend")
    with pytest.raises(InputProblems, match="unknown-source"):
        load(use_cache=True, cache_directory=folder)


def test_other_calculators_are_checked_anew(tmp_path: Path, load: Load) -> None:
    folder = tmp_path / "cache"
    load(use_cache=True, cache_directory=folder)
    with pytest.raises(InputProblems, match="unknown-calculator"):
        load(use_cache=True, cache_directory=folder, calculators={})


def test_a_cache_folder_that_can_not_be_written_does_no_harm(tmp_path: Path, load: Load) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    assert load(use_cache=True, cache_directory=blocked / "cache").rules


def test_only_a_few_copies_are_kept(tmp_path: Path, book: Path, load: Load) -> None:
    folder = tmp_path / "cache"
    for number in range(10):
        (book / "wording.yaml").write_text(f"labels: {{lats: {number} hellos}}\n", encoding="utf-8")
        load(use_cache=True, cache_directory=folder)
    assert len(list(folder.glob("rules-*.kb"))) == 8
