"""Decision tables as DMN: the published schema, and a reader of its own against our engine.

The schema is the Object Management Group's DMN13.xsd, as the package spiffworkflow carries it; it is not
ours to copy. The reader is `dmn_reader`; `.ci/run` has a library in another language read them, too.
"""

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from dmn_people import DAY, Asked, asked, context, document, people
from dmn_reader import Decided, Document, read_dmn, unary
from lengths import at_length

from assistant.cli.main import main
from assistant.exchange.dmn.decisions import decisions_of, tables_of
from assistant.exchange.dmn.xml import dmn_bytes
from assistant.exchange.plan_resources import plan_definition
from assistant.model.house import Signed
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Rule
from assistant.model.values import Status

# One worker makes the people once for all tests of this file.
pytestmark = pytest.mark.xdist_group("decision tables")
WORDS = {"not", "null", "true", "false", "count", "or"}
MODEL = "https://www.omg.org/spec/DMN/20191111/MODEL/"


@pytest.fixture(scope="module")
def content(kb: KnowledgeBase) -> bytes:
    return document(kb)


@pytest.fixture(scope="module")
def read(content: bytes) -> Document:
    return read_dmn(content)


@pytest.mark.skipif(find_spec("SpiffWorkflow") is None, reason="spiffworkflow brings the schema")
def test_it_is_valid_by_the_published_schema(content: bytes) -> None:
    from lxml import etree  # noqa: PLC0415 - comes with the package

    (place,) = find_spec("SpiffWorkflow").submodule_search_locations or ()  # type: ignore[union-attr]
    schema = etree.XMLSchema(etree.parse(Path(place) / "dmn/parser/schema/DMN13.xsd"))
    schema.assertValid(etree.fromstring(content))
    for was, other in (('"UNIQUE"', '"ONLY"'), ("inputEntry>", "entry>"), (MODEL, MODEL + "x")):
        assert was.encode() in content
        assert not schema.validate(etree.fromstring(content.replace(was.encode(), other.encode())))


def test_every_table_is_there_or_says_why(kb: KnowledgeBase, read: Document) -> None:
    rules = {rule.id for made in read.decisions.values() for rule in made.rules}
    for table, its in tables_of(kb).items():
        missing = {rule.id for rule in its} - rules
        _, left_out = decisions_of(kb, table, DAY)
        assert bool(left_out) is bool(missing), table
        assert table == "PRO" or not missing
    assert len(tables_of(kb)) == len(list(Path("rules/tables").resolve().glob("*.yaml")))


def test_what_is_required_is_what_is_read(read: Document) -> None:
    for made in read.decisions.values():
        texts = [*made.inputs, *(t for r in made.rules for t in (*r.tests, *r.outcomes))]
        plain = re.sub(r'"[^"]*"|list contains|item = true', "", " ".join(texts))
        words = set(re.findall(r"[a-z]\w+", plain)) - WORDS
        # The element a table is evaluated for stands in the names of what belongs to it.
        assert words - {*read.loops} == {*made.required} - {*read.loops}, made.name
        assert set(made.required) <= {*read.inputs, *read.decisions}


def test_hit_policies_are_what_the_book_does(read: Document) -> None:
    """Exclusive rows, the larger of ordered words, the same said twice, and lists."""
    policies = {name: (made.policy, made.aggregation) for name, made in read.decisions.items()}
    assert policies["block_next_style"] == ("UNIQUE", "")
    assert policies["week_day_number_of_fri"] == ("PRIORITY", "")
    ranks = read.decisions["week_day_number_of_fri"].outputs[0][1]
    assert ranks == ("seven", "six", "five", "four", "three", "two", "one")
    assert policies["fat_loss_against_of_lean"] == ("ANY", "")
    assert policies["LIM_training_limits"] == ("COLLECT", "")


def _agree(read: Document, questions: Iterable[Asked]) -> set[str]:
    seen: set[str] = set()
    for one in questions:
        made = read.decisions[one.decision]
        hits = {rule.id for rule in made.hits(one.brought)}
        assert hits == one.rules, f"{one.decision}: {hits ^ one.rules} given {one.brought}"
        value = made.value(one.brought)
        value = sorted(set(value)) if isinstance(value, list) else value
        assert value == one.value, f"{one.decision} given {one.brought}"
        seen |= hits
    return seen


@pytest.fixture(scope="module")
def questions(kb: KnowledgeBase, read: Document) -> list[Asked]:
    return [one for run in people(kb, 150) for one in asked(kb, read, run)]


def test_rows_say_what_the_engine_says(read: Document, questions: list[Asked]) -> None:
    assert len(_agree(read, questions)) > 100


@pytest.mark.slow
def test_rows_say_what_the_engine_says_of_two_thousand(kb: KnowledgeBase, read: Document) -> None:
    many = people(kb, at_length(2000, 500))
    seen = _agree(read, (one for run in many for one in asked(kb, read, run)))
    # Of 188 rows 176 hold for one of two thousand; the rest are tried by the tests of their rules.
    assert len(seen) > 150


def _examples(rule: Rule) -> Iterator[tuple[dict[str, Any], bool]]:
    """The rule's own tests: final facts, and whether it then fires."""
    words = {status.value: status for status in Status}

    def facts(given: dict[str, Any]) -> dict[str, Any]:
        plain = {k: words.get(v, v) if isinstance(v, str) else v for k, v in given.items()}
        return {k: float(v) if type(v) is int else v for k, v in plain.items()}

    given = rule.tests.given
    yield facts(given), True
    for case in rule.tests.cases:
        obstacle = case.failed_at or case.blocked_by or case.needs
        yield facts({**given, **case.but}), not obstacle if case.fires is None else case.fires


def test_rows_hold_by_the_tests_of_their_rules(kb: KnowledgeBase, read: Document) -> None:
    """Each row on the line and beside it, as the book's authors wrote it down."""
    tried = 0
    for made in read.decisions.values():
        for rule in (kb.rules[name] for name in dict.fromkeys(row.id for row in made.rules)):
            for given, fires in _examples(rule):
                held = context(kb, read, given)
                if loop := rule.loop_variable:
                    element = rule.tests.loop or ""
                    held[loop] = element
                    ours = f"_of_{element}"
                    held |= {
                        n.removesuffix(element) + loop: v
                        for n, v in held.items()
                        if n.endswith(ours)
                    }
                hits = {row.id for row in made.hits(held)}
                assert (rule.id in hits) is fires, (made.name, rule.id, given)
                tried += 1
    assert tried > 500


def test_the_reader_notices_a_changed_row(content: bytes, questions: list[Asked]) -> None:
    """Thresholds, words, brakes and policies: none may change unnoticed."""
    for was, other in (
        ('"novice"', '"advanced"'),
        ("not(true)", "-"),
        ("exercise_any", "body_measures"),
        ('hitPolicy="PRIORITY"', 'hitPolicy="ANY"'),
        ("&gt;= 2</text>", "&gt;= 3</text>"),
    ):
        assert was.encode() in content
        with pytest.raises(AssertionError):
            _agree(read_dmn(content.replace(was.encode(), other.encode())), questions)


def test_null_is_read_as_the_standard_says() -> None:
    """Table 55 and 7.3.10 of DMN 1.3: null equals null alone, and no order holds of it."""
    for text, value, passes in (
        ("not(null)", None, False), ("not(null)", 3.0, True), ("null", None, True),
        ('not("a", "b")', None, True), ('not("a", "b")', "b", False), (">= 5", None, None),
        ("(? >= 5) != true", None, True), ('(list contains(?, "x")) = true', None, False),
        ('(list contains(?, "x")) != true', ("x",), False), ("(count(?) > 0) != true", (), True),
    ):  # fmt: skip
        assert unary(text)({"?": value}) is passes, text


def test_a_brake_on_an_answer_is_told_not_turned(kb: KnowledgeBase) -> None:
    """The book blocks while an answer is unknown and lets through where it does not apply; null is both."""
    brake = {"fact": "client.weight_kg", "at_least": {"param": "protein.adjust_bmi"}}
    rule = kb.rules["BLK-NOVICE"]
    braked = Rule.model_validate(
        {**rule.model_dump(by_alias=True, exclude_none=True), "unless": (brake,)}
    )
    made, left_out = decisions_of(replace(kb, rules={**kb.rules, rule.id: braked}), "BLK", DAY)
    assert made == ()
    assert "a brake on an answer" in left_out[0]


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes) -> None:
    out = tmp_path / "all.dmn"
    on = ["--as-of", DAY.isoformat()]
    assert main(["exchange", "dmn", "--out", str(out), *on]) == 0
    assert out.read_bytes() == content
    assert "left out: PRO, protein.g_per_day: the calculator" in capsys.readouterr().err
    assert main(["exchange", "dmn", "PRO", *on]) == 1
    assert capsys.readouterr().out == ""
    assert main(["exchange", "dmn", "STRR", *on]) == 2
    assert "did you mean `STR`" in capsys.readouterr().err
    assert main(["exchange", "dmn", "STY", *on]) == 0
    (made,) = read_dmn(capsys.readouterr().out.encode()).decisions.values()
    assert isinstance(made, Decided)
    assert made.rules[0].id == "STY-BEGINNER"


def test_the_numbers_are_the_houses_and_the_days(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kb: KnowledgeBase
) -> None:
    own = kb.parameters["block.usual_advanced"]
    number = own.range[0]
    house = tmp_path / "house.yaml"
    house.write_text(f"parameters:\n  block.usual_advanced: {number:g}\n", encoding="utf-8")
    assert main(["exchange", "dmn", "BLK", "--house", str(house), "--as-of", "2026-01-12"]) == 0
    printed = capsys.readouterr().out
    assert f"block.usual_advanced = {number:g} (set by the house)" in printed
    rows = {rule.id: rule for rule in read_dmn(printed.encode()).decisions["BLK_block_weeks"].rules}
    assert rows["BLK-ADVANCED"].outcomes[0] == f"{number:g}"


def test_a_rule_of_the_house_is_marked_so(kb: KnowledgeBase) -> None:
    who = {"by": "Ada Vale", "reason": "it suits our lifters", "reviewed_by": "Tom Sedgley"}
    signed = Signed.model_validate({**who, "day": DAY})
    ours = replace(kb, house={"STY-BEGINNER": signed})
    made, _ = decisions_of(ours, "STY", DAY)
    assert dmn_bytes(ours, "STY", made, DAY).decode().count(signed.told) == 1
    assert dmn_bytes(kb, "STY", made, DAY).decode().count(signed.told) == 0
    described = json.dumps(plan_definition(ours), ensure_ascii=False)
    assert described.count(f"this house's own: {signed.told}") == 1
