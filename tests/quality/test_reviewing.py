"""Claims go out to a reviewer as a table and come back signed: an invented dietitian's round trip.

Outside source: RFC 4180 (the table is read and written here by the standard library alone).
"""

import csv
import dataclasses
import io
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.explain.picture import picture
from assistant.knowledge import load_knowledge
from assistant.model.documents.reviews import Review
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import prepare
from assistant.quality.reviewing import review_table, reviews_file, reviews_in
from assistant.report.picture_text import outline

SMALL_BOOK = Path(__file__).parent.parent / "knowledge" / "small_book"
ROOT = Path(__file__).parents[2]
WHO = {"by": "Mara Quill", "profession": "dietitian", "day": "2026-03-02"}


def filled(table: str, says: Mapping[str, Mapping[str, str]]) -> str:
    """The table with the reviewer's cells filled in for some rules."""
    rows = list(csv.DictReader(io.StringIO(table)))
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    writer.writerows({**row, **says.get(row["rule"], {})} for row in rows)
    return out.getvalue()


def back(table: str, name: str, kb: KnowledgeBase) -> list[Review]:
    """What the table says; no cell of it has a line of its own."""
    columns, *rows = csv.reader(io.StringIO(table))
    return reviews_in(columns, enumerate(rows, 2), name, kb)


@pytest.fixture(scope="module")
def shipped() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


def test_the_table_holds_every_claim_once(shipped: KnowledgeBase) -> None:
    rows = list(csv.DictReader(io.StringIO(review_table(shipped))))
    assert [row["rule"] for row in rows] == [r.id for r in shipped.rules.values() if r.kind is None]
    assert all(row["says"] == shipped.rules[row["rule"]].because for row in rows)
    disputed = {r.id: r.settled_by for r in shipped.rules.values() if r.settled_by}
    assert {row["rule"]: row["settled_by"] for row in rows if row["settled_by"]} == disputed
    assert {row[name] for row in rows for name in ("agrees", "by", "day")} == {""}


def test_a_review_comes_back_and_lapses_when_the_rule_changes(
    small: KnowledgeBase, calculators: Mapping[str, Any], tmp_path: Path
) -> None:
    first, second, *_ = (r.id for r in small.rules.values() if r.kind is None)
    says = {
        first: {**WHO, "agrees": "yes"},
        second: {**WHO, "agrees": "No", "note": 'too much, for "older" lifters'},
    }
    new = back(filled(review_table(small), says), "t.csv", small)
    book = tmp_path / "rules"
    shutil.copytree(SMALL_BOOK, book)
    (book / "reviews.yaml").write_text(reviews_file((), new), "utf-8")
    load = lambda: load_knowledge(book, calculators=calculators, use_cache=False)  # noqa: E731
    signed = load()
    assert list(map(str, signed.reviews_of(first))) == [
        "signed by Mara Quill, dietitian, 2026-03-02"
    ]
    (other,) = signed.reviews_of(second)
    assert not other.agrees
    assert str(other).endswith(': too much, for "older" lifters')
    assert signed.logic_hash == small.logic_hash
    assert signed.content_hash != small.content_hash
    # The same file again, and her new word on one of the rules.
    again = back(filled(review_table(signed), {first: {**WHO, "agrees": "no"}}), "t", signed)
    (book / "reviews.yaml").write_text(reviews_file(signed.reviews.reviews, again), "utf-8")
    assert [each.agrees for each in load().reviews_of(first)] == [False]
    assert len(load().reviews.reviews) == 2
    # What she signed is not what the rule says after a change.
    changed = signed.rules[first].model_copy(update={"because": "something else"})
    moved = dataclasses.replace(signed, rules={**signed.rules, first: changed})
    assert moved.reviews_of(first) == []
    with pytest.raises(InputProblems, match="says something else now"):
        back(filled(review_table(signed), {first: {**WHO, "agrees": "yes"}}), "t.csv", moved)


def test_a_number_of_the_house_is_not_what_was_signed(shipped: KnowledgeBase) -> None:
    own = dataclasses.replace(shipped, overlay={"protein.aim_per_lb": 0.9})
    assert own.statement("PRO-POUND-GOAL") != shipped.statement("PRO-POUND-GOAL")
    assert own.statement("SLP-010") == shipped.statement("SLP-010")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"agrees": "perhaps"}, "allowed: yes, no, or nothing"),
        ({"by": ""}, "`by` is empty"),
        ({"profession": ""}, "`profession` is empty"),
        ({"day": "2 March"}, "which is not a day"),
        ({"rule": "SLP-01"}, "did you mean"),
    ],
)
def test_a_bad_row_is_told_with_its_line(
    shipped: KnowledgeBase, wrong: dict[str, str], says: str
) -> None:
    table = filled(review_table(shipped), {"SLP-010": {**WHO, "agrees": "yes", **wrong}})
    with pytest.raises(InputProblems) as caught:
        back(table, "march.csv", shipped)
    (problem,) = caught.value.problems
    assert says in problem.text
    line = next(
        n for n, row in enumerate(table.splitlines(), 1) if "Mara" in row or "2026-03" in row
    )
    assert problem.place == f"march.csv:{line}"


def test_the_plan_shows_who_signed(shipped: KnowledgeBase) -> None:
    says = {"SLP-010": {**WHO, "agrees": "yes"}}
    new = back(filled(review_table(shipped), says), "t.csv", shipped)
    kb = shipped.with_files(reviews=shipped.reviews.model_copy(update={"reviews": tuple(new)}))
    case = read_case(ROOT / "cases/four_days.yaml", kb)
    planner = prepare(kb, case.as_of, "clips")
    run = planner.run(case)
    book, key = planner.compiled, "sleep.target_hours"
    told = {
        who: "\n".join(outline(picture(book, planner.narrator(run, who), key, 1), whole=True))
        for who in ("coach", "client")
    }
    assert "signed by Mara Quill, dietitian, 2026-03-02" in told["coach"]
    assert "Mara" not in told["client"]


def test_the_command_takes_a_table_back_into_the_book_named(
    run: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    code, _, said = run("evidence", "--take-back", str(tmp_path / "t.csv"))
    assert code == 2
    assert "--rules" in said
    code, _, said = run("evidence", "cases/four_days.yaml", "--format", "csv")
    assert (code, "leave CLIENT-OR-CASE out" in said) == (2, True)


def test_a_table_comes_back_as_a_spreadsheet_saves_it(
    run: Callable[..., tuple[int, str, str]], shipped: KnowledgeBase, tmp_path: Path
) -> None:
    """With semicolons and a letter of Windows-1252, as spreadsheets write where commas part decimals."""
    table = filled(review_table(shipped), {"SLP-010": {**WHO, "by": "Mära Quill", "agrees": "yes"}})
    book, saved = tmp_path / "rules", tmp_path / "t.csv"
    shutil.copytree(ROOT / "rules", book)
    out = io.StringIO()
    csv.writer(out, delimiter=";").writerows(csv.reader(io.StringIO(table)))
    saved.write_bytes(out.getvalue().encode("cp1252", "replace"))
    code, said, err = run("evidence", "--take-back", str(saved), "--rules", str(book))
    assert (code, err) == (0, "")
    assert said.startswith("1 reviews kept")
    assert "read as Windows-1252" in said
    assert "Mära Quill" in (book / "reviews.yaml").read_text("utf-8")
    saved.write_text(table.replace("Mära", "x" * 200_000), "utf-8")
    code, _, err = run("evidence", "--take-back", str(saved), "--rules", str(book))
    assert (code, f"{saved}:" in err, "Traceback" in err) == (2, True, False)


def test_the_page_of_claims_has_a_box_for_each(tmp_path: Path) -> None:
    out = tmp_path / "evidence.html"
    assert main(["evidence", "--format", "html", "--out", str(out)]) == 0
    html = out.read_text("utf-8")
    kb = load_knowledge(calculators=CALCULATORS)
    claims = [rule for rule in kb.rules.values() if rule.kind is None]
    assert html.count("\u2610 agreed") == len(claims)
    assert all(f"{rule.id} [{kb.statement(rule.id)}]" in html for rule in claims)
    order = [html.index(f">Grade {grade}<") for grade in ("practice", "low", "moderate", "strong")]
    assert order == sorted(order)
    assert "<script" not in html
