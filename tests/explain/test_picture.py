"""Pictures: well-formed, readable without overlap, the same bytes every time, nothing left out shown.

SVG is checked with the standard library's XML parser; Mermaid by the shape of its lines (its grammar of
flowcharts, from memory).
"""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.explain.picture import LEVELS, Node, picture
from assistant.model.case import Case
from assistant.model.values import split_key
from assistant.plan import Planner
from assistant.report.picture_mermaid import picture_mermaid
from assistant.report.picture_svg import BOX_WIDTH, picture_svg
from assistant.report.picture_text import heading, outline

ROOT = Path(__file__).parents[2]
SVG = "{http://www.w3.org/2000/svg}"
KEYS = (
    "energy.target_kcal_per_day",
    "dose.sessions_per_week[glute_max]",
    "protein.g_per_day",
    "phase.now",
    "carbohydrate.g_per_day",
    "review.next_date",
)


def _nodes(node: Node) -> Iterator[Node]:
    yield node
    for below in node.below:
        yield from _nodes(below)


def _depth(node: Node) -> int:
    return 1 + max((_depth(below) for below in node.below), default=0)


@pytest.fixture(scope="module")
def drawn(planner: Planner, cases: dict[str, Case]) -> list[Node]:
    trees = []
    for case in cases.values():
        narrator = planner.narrator(planner.run(case), "coach")
        keys = [key for key in KEYS if key in narrator.run.facts and not narrator.hides(key)]
        trees += [picture(planner.compiled, narrator, key) for key in keys]
    assert len(trees) > 30
    return trees


def test_nothing_is_drawn_below_the_third_level_but_all_of_it_is_counted(
    planner: Planner, cases: dict[str, Case]
) -> None:
    """The count under a folded box is what the unfolded tree holds below it."""
    narrator = planner.narrator(planner.run(cases["four_days"]), "coach")
    for key in KEYS:
        folded = picture(planner.compiled, narrator, key)
        assert _depth(folded) <= LEVELS
        whole = picture(planner.compiled, narrator, key, levels=99)
        unfolded = {(n.label, n.kind) for n in _nodes(whole)}
        assert {(n.label, n.kind) for n in _nodes(folded)} <= unfolded
    folded = picture(planner.compiled, narrator, "energy.target_kcal_per_day", levels=1)
    kinds = [n.kind for n in {n.label: n for n in _nodes(whole_of(planner, narrator))}.values()]
    assert folded.answers_below == len([k for k in kinds if k != "conclusion"])
    assert folded.conclusions_below == len([k for k in kinds if k == "conclusion"]) - 1


def whole_of(planner: Planner, narrator: object) -> Node:
    return picture(planner.compiled, narrator, "energy.target_kcal_per_day", levels=99)  # type: ignore[arg-type]


def test_every_branch_ends_in_answers_or_numbers_of_the_book(
    planner: Planner, cases: dict[str, Case]
) -> None:
    narrator = planner.narrator(planner.run(cases["four_days"]), "coach")
    for key in KEYS:
        for node in _nodes(picture(planner.compiled, narrator, key, levels=99)):
            if node.kind == "conclusion" and not node.below and not node.seen_elsewhere:
                # What is left is a figure of the book, a yes/no nobody said yes to, or a start.
                assert (
                    node.numbers or not node.rules or node.label in {"phase", "level of the screen"}
                )


def test_svg_is_well_formed_and_boxes_do_not_touch(drawn: list[Node]) -> None:
    for tree in drawn:
        root = ET.fromstring(picture_svg(tree))
        assert root.tag == f"{SVG}svg"
        assert root.get("role") == "img"
        title, words = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert heading(tree) in (title.text or "")
        assert words is not None
        assert all(heading(n) in (words.text or "") for n in _nodes(tree))
        width, height = float(root.get("width", 0)), float(root.get("height", 0))
        boxes = [
            tuple(float(rect.get(side, 0)) for side in ("x", "y", "width", "height"))
            for rect in root.findall(f"{SVG}rect")[1:]
        ]
        assert len(boxes) == len(list(_nodes(tree)))
        for x, y, w, h in boxes:
            assert x >= 0
            assert y >= 0
            assert x + w <= width
            assert y + h <= height
        for (x, y, w, h), (x2, y2, w2, h2) in combinations(boxes, 2):
            assert x + w <= x2 or x2 + w2 <= x or y + h <= y2 or y2 + h2 <= y
        assert len(root.findall(f"{SVG}path")) == len(boxes) - 1


def test_words_fit_their_boxes(drawn: list[Node]) -> None:
    """Average advance of a common sans-serif face is a little over half its size (from memory)."""
    for tree in drawn:
        for text in ET.fromstring(picture_svg(tree)).findall(f"{SVG}text")[:-1]:
            assert len(text.text or "") * float(text.get("font-size", 0)) * 0.56 < BOX_WIDTH


def test_mermaid_names_every_box_once_and_joins_them(drawn: list[Node]) -> None:
    box = re.compile(
        r'  (n(?:_\d+)*)(?:\["|\(\["|\[/"|\("|\{\{")([^"<]|<br/>)*"(?:\]|\]\)|/\]|\)|\}\})'
    )
    join = re.compile(r"  (n(?:_\d+)*) --> (n(?:_\d+)*)")
    for tree in drawn:
        first, title, words, *rows = picture_mermaid(tree).splitlines()
        assert first == "flowchart LR"
        assert title.startswith("  accTitle: ")
        assert words.startswith("  accDescr: ")
        joined = [row for row in rows if "-->" in row]
        named = [match.group(1) for row in rows if (match := box.fullmatch(row))]
        assert len(named) + len(joined) == len(rows)
        assert len(set(named)) == len(named) == len(list(_nodes(tree)))
        pairs = [match.groups() for row in joined if (match := join.fullmatch(row))]
        assert len(pairs) == len(joined) == len(named) - 1
        assert all(a in named and b in named for a, b in pairs)


def test_the_same_bytes_twice(planner: Planner, cases: dict[str, Case], drawn: list[Node]) -> None:
    case = cases["four_days"]
    again = picture(
        planner.compiled, planner.narrator(planner.run(case), "coach"), "energy.target_kcal_per_day"
    )
    same = [tree for tree in drawn if tree == again]
    assert same
    assert picture_svg(same[0]) == picture_svg(again)
    assert picture_mermaid(same[0]) == picture_mermaid(again)


def test_text_with_marks_of_either_form_is_kept_as_text() -> None:
    node = Node('a "b" <c> & d; [e] {f} #1', "x|y", "answer")
    assert '<title id="name">Why: A "b" &lt;c&gt; &amp; d; [e] {f} #1: x|y</title>' in picture_svg(
        node
    )
    (row,) = picture_mermaid(node).splitlines()[3:]
    inside = row.removeprefix('  n(["').removesuffix('"])')
    assert set('"<>&[]{}|') & set(inside.replace("<br/>", "")) == set()
    assert "#34;b#34;" in inside


def test_hidden_facts_have_neither_name_nor_value(planner: Planner, cases: dict[str, Case]) -> None:
    narrator = planner.narrator(planner.run(cases["refer_first"]), "client")
    for key in narrator.run.facts:
        fact = planner.kb.facts[split_key(key)[0]]
        if fact.origin != "derived":
            continue
        for node in _nodes(picture(planner.compiled, narrator, key)):
            assert (node.kind == "left_out") == (node.label == "something this page leaves out")
            assert node.value or node.kind == "left_out"
            assert not any(rule.startswith(("SCR-", "FLG-", "REF-")) for rule in node.rules)


def test_the_command_writes_a_new_file_and_never_over_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case, out = str(ROOT / "cases/four_days.yaml"), tmp_path / "why.svg"
    assert main(["picture", case, "food.target", "--out", str(out)]) == 0
    assert ET.parse(out).getroot().tag == f"{SVG}svg"
    capsys.readouterr()
    assert main(["picture", case, "food.target", "--out", str(out)]) == 2
    assert "file-exists" in capsys.readouterr().err
    assert main(["picture", case, "food.target", "--out", str(tmp_path / "no" / "why.svg")]) == 2
    assert "not-writable" in capsys.readouterr().err
    assert main(["picture", case, "food.target", "--format", "text"]) == 0
    assert capsys.readouterr().out.startswith("- Energy to aim for: 2500 kcal a day")


def test_the_outline_is_the_tree(drawn: list[Node]) -> None:
    for tree in drawn[:10]:
        assert len([row for row in outline(tree) if row.lstrip().startswith("- ")]) == len(
            list(_nodes(tree))
        )
