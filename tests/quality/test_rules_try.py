"""A rule file tried beside the book moves the plans it would move, and nothing is written.

What moves is held against the plans printed with the file really put into a copy of the book.
"""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.knowledge.files import TRIED, SourceFile, laid_over

Run = Callable[..., tuple[int, str, str]]
BOOK = Path(__file__).parents[1] / "audit" / "small_book"
SURE = "screen.symptom_now: false, screen.eating_sign: false"
PEOPLE = {
    "lats": "client.weight_kg: 64, client.priority_muscles: [lats]",
    "none": "client.weight_kg: 82, client.priority_muscles: []",
    "quads": "client.weight_kg: 50, client.priority_muscles: [quads]",
}
EXTRA = """\
parameters:
  - id: sets.extra
    title: extra weekly sets for a priority
    unit: "{sets}/wk"
    values: [{since: "2026-01-01", value: 5}]
    range: [1, 6]
    step: 1
    source: [{ref: gym-practice, supports: the extra}]
    grade: {certainty: practice, note: what the gym does}
"""


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A book with three cases beside it, one of which expects twelve sets."""
    shutil.copytree(BOOK, tmp_path / "rules")
    (tmp_path / "cases").mkdir()
    for name, more in PEOPLE.items():
        answers = f"client.age_years: 31, {SURE}, {more}"
        text = f"name: Invented\nas_of: 2026-01-12\nanswers: {{{answers}}}\n"
        if name == "lats":
            text += 'expect: {"dose.sets_per_week[lats]": 12}\n'
        (tmp_path / "cases" / f"{name}.yaml").write_text(text, "utf-8")
    return tmp_path


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_what_a_case_did_not_get_before_is_not_broken_now(run: Run, house: Path) -> None:
    tried, quads = house / "mine.yaml", house / "cases/quads.yaml"
    tried.write_text(EXTRA, "utf-8")
    wish = 'expect: {"dose.sets_per_week[quads]": 99}\n'
    quads.write_text(quads.read_text("utf-8") + wish, "utf-8")
    _, out, _ = run("rules", "try", tried, "--rules", house / "rules")
    assert "cases/lats.yaml: dose.sets_per_week[lats] is 13, expected 12" in out
    assert "expected 99" not in out


def test_of_a_table_of_the_same_id_no_row_stays(house: Path) -> None:
    mine = house / "GAT.yaml"
    book = [
        SourceFile(
            "tables", Path(f"rules/tables/{name}.yaml"), f"rules/tables/{name}.yaml", "tables"
        )
        for name in ("GAT", "LIM")
    ]
    over, *kept = laid_over(book, mine, {"id": "GAT", "rows": []})
    assert (over.path, over.kind, over.layer) == (mine, "tables", TRIED)
    assert [each.path.stem for each in kept] == ["LIM"]


def plan_lines(run: Run, house: Path, rules: Path, name: str) -> list[str]:
    _, out, _ = run(
        "plan", house / "cases" / f"{name}.yaml", "--no-week", "--full", "--rules", rules
    )
    return [line.strip() for line in out.splitlines() if re.search(r"\bsets\b|kcal", line)]


def test_a_number_moves_whom_it_moves_and_nothing_is_written(run: Run, house: Path) -> None:
    tried = house / "mine.yaml"
    tried.write_text(EXTRA, "utf-8")
    log = house / "log.jsonl"
    run("plan", house / "cases/quads.yaml", "--no-week", "--rules", house / "rules", "--log", log)
    before = contents(house)
    code, out, _ = run("rules", "try", tried, "--rules", house / "rules", "--log", log)
    assert contents(house) == before
    assert code == 1, "a case breaks"
    assert "Beside the book: sets.extra differs." in out
    assert "cases/lats.yaml: dose.sets_per_week[lats] is 13, expected 12" in out
    assert "1 of 1 logged plans would move" in out
    assert "comes from: extra weekly sets for a priority" in out
    # The same, with the file really put into a copy of the book.
    other = house / "other" / "rules"
    shutil.copytree(house / "rules", other)
    numbers = other / "parameters" / "all.yaml"
    head, mark, rest = numbers.read_text("utf-8").partition("id: sets.extra")
    assert "value: 4}" in rest
    numbers.write_text(head + mark + rest.replace("value: 4}", "value: 5}", 1), "utf-8")
    moved = set()
    for name in PEOPLE:
        one, two = (plan_lines(run, house, book, name) for book in (house / "rules", other))
        if one != two:
            moved.add(name)
            for was, now in zip(one, two, strict=True):
                if was != now and not was.startswith("why:"):
                    # The text of a line, behind its name in the margin.
                    assert was.partition("  ")[2].split(" [")[0] in out
                    assert now.partition("  ")[2].split(" [")[0] in out
    assert moved == {"lats", "quads"}
    assert "2 of 3 cases would move" in out
    assert "cases/none.yaml" not in out


def test_a_rule_takes_the_place_of_the_one_of_its_name(run: Run, house: Path) -> None:
    text = (house / "rules/dose/VOL-001.yaml").read_text("utf-8")
    tried = house / "VOL-001.yaml"
    edited = text.replace("to: {param: sets.typical}", "to: {sum: [{param: sets.typical}, 1]}")
    tried.write_text(edited, "utf-8")
    code, out, _ = run("rules", "try", tried, "--rules", house / "rules")
    assert code == 1, "its own test still says 8"
    assert "Beside the book: VOL-001 differs." in out
    assert "3 of 3 cases would move" in out
    assert "comes from: rule VOL-001 itself" in out
    assert "rule-test: VOL-001" in " ".join(out.split())


def test_a_new_rule_that_changes_nobody_breaks_nothing(run: Run, house: Path) -> None:
    text = (house / "rules/dose/VOL-002.yaml").read_text("utf-8")
    new = text.replace("id: VOL-002", "id: VOL-004").replace("title: ", "title: Again, ")
    tried = house / "VOL-004.yaml"
    assert "overrides: [VOL-001]" in new
    tried.write_text(new.replace("overrides: [VOL-001]", "overrides: [VOL-001, VOL-002]"), "utf-8")
    code, out, err = run("rules", "try", tried, "--rules", house / "rules")
    assert (code, "All hold." in out) == (0, True), out + err
    assert "0 of 3 cases would move" in out


@pytest.mark.parametrize(
    ("edit", "code", "line"),
    [
        (("set: dose.ceiling_sets_per_week", "set: dose.sealing"), "unknown-fact", 5),
        (("stage: dose", "stage: doze"), "misplaced-file", 0),
        (("title: Most weekly sets", "title: [Most"), "bad-yaml", 3),
        (("{param: sets.most}", "{param: sets.moist}"), "unknown-parameter", 5),
        (("stage: dose\n", ""), "unknown-kind", 1),
    ],
)
def test_a_slip_is_told_with_its_line(
    run: Run, house: Path, edit: tuple[str, str], code: str, line: int
) -> None:
    text = (BOOK / "dose/VOL-003.yaml").read_text("utf-8")
    assert edit[0] in text
    tried = house / "VOL-003.yaml"
    tried.write_text(text.replace(*edit), "utf-8")
    exit_code, out, err = run("rules", "try", tried, "--rules", BOOK)
    assert (exit_code, out) == (2, "")
    place = f"{tried}:{line}" if line else str(tried)
    assert any(row.startswith(f"{place}: ") and f"{code}: " in row for row in err.splitlines()), err


def test_a_stop_made_weaker_is_refused(run: Run, house: Path) -> None:
    text = (BOOK / "flags/symptom_now.yaml").read_text("utf-8")
    tried = house / "symptom_now.yaml"
    tried.write_text(text.replace("severity: stop", "severity: caution"), "utf-8")
    code, _, err = run("rules", "try", tried, "--rules", BOOK)
    assert code == 2
    assert str(tried) in err
    assert "symptom_now" in err


def test_a_rule_made_from_a_flag_gives_way_to_none(run: Run, house: Path) -> None:
    text = (BOOK / "dose/VOL-003.yaml").read_text("utf-8")
    tried = house / "FLG-SYMPTOM_NOW.yaml"
    tried.write_text(text.replace("id: VOL-003", "id: FLG-SYMPTOM_NOW"), "utf-8")
    code, _, err = run("rules", "try", tried, "--rules", BOOK)
    assert (code, "repeated-id" in err) == (2, True), err


def test_a_stop_that_is_asked_in_another_way_is_told(run: Run, house: Path) -> None:
    _, out, _ = run("check", "--only", "laws", "--rules", house / "rules")
    (told,) = (row for row in out.splitlines() if "weakened-stop" in row)
    assert "flags/symptom_now.yaml:1" in told
    assert "is not a value of type boolean; ask it as the shipped book does" in told
