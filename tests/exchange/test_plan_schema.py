"""The published schema of the plan: every plan meets it, every damaged plan is refused.

Outside check: the `jsonschema` library's reading of JSON Schema draft 2020-12.
"""

import copy
import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from people import somebody
from shipped import planner_on

from assistant.casefiles import read_case
from assistant.cli.main import main
from assistant.clients.week import week_now
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme
from assistant.model.rules import Audience
from assistant.plan import Planner
from assistant.report.plan_json import plan_document
from assistant.report.plan_schema import plan_schema

ROOT = Path(__file__).parents[2]
CASES = sorted((ROOT / "cases").glob("*.yaml"))
READERS: tuple[Audience, ...] = ("coach", "client")
# What is left out where there is nothing to say; `*` is a fact or a place in a list.
OPTIONAL = {
    ("log",),
    ("facts", "*"),
    *(("facts", "*", name) for name in ("low", "high", "method", "derivations")),
    *(("facts", "*", "value", day) for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")),
    ("sections", "*", "note"),
    ("sections", "*", "lines", "*", "reason"),
    ("sections", "*", "lines", "*", "grade"),
    *(("derivations", "*", "binding", name) for name in ("muscle", "weekday", "flag", "role")),
    ("derivations", "*", "conclusions", "*", "low"),
    ("derivations", "*", "conclusions", "*", "high"),
    ("derivations", "*", "readings", "*", "margin"),
    ("programme", "sessions", "*", "lines", "*", "load_kg"),
    ("programme", "not_chosen", "*", "behind"),
    ("programme", "unmet", "*", "together"),
}


@pytest.fixture(scope="module")
def schema(kb: KnowledgeBase) -> Draft202012Validator:
    made = plan_schema(kb)
    Draft202012Validator.check_schema(made)
    return Draft202012Validator(made)


@pytest.fixture(scope="module")
def planner() -> Planner:
    return planner_on(dt.date(2026, 1, 12))


def _document(
    planner: Planner, case: Case, reader: Audience, programme: Programme | None = None
) -> Any:
    narrator = planner.narrator(planner.run(case), reader)
    document = plan_document(planner.plan(case, narrator, programme), narrator)
    return json.loads(json.dumps(document))


def _wrong(schema: Draft202012Validator, document: Any) -> list[str]:
    return [f"{list(e.absolute_path)}: {e.message[:200]}" for e in schema.iter_errors(document)]


@pytest.mark.parametrize(
    ("path", "reader"),
    [
        # By default every other page for each reader; both for everybody in the long checks.
        pytest.param(
            path, reader, marks=() if number % 2 else pytest.mark.slow, id=f"{path.stem}-{reader}"
        )
        for number, (path, reader) in enumerate(
            (path, reader)
            for at, path in enumerate(CASES)
            for reader in (READERS, READERS[::-1])[at % 2]
        )
    ],
)
def test_the_plan_of_every_case_meets_the_schema(
    kb: KnowledgeBase, schema: Draft202012Validator, path: Path, reader: Audience
) -> None:
    case = read_case(path, kb)
    assert _wrong(schema, _document(planner_on(case.as_of), case, reader)) == []


def test_a_plan_written_into_a_log_meets_the_schema(
    schema: Draft202012Validator, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    case, log = ROOT / "cases" / "stop_today.yaml", tmp_path / "log.jsonl"
    wanted = ["plan", str(case), "--no-week", "--format", "json", "--engine", "clips"]
    assert main([*wanted, "--log", str(log)]) == 1
    document = json.loads(capfdbinary.readouterr().out)
    assert document["log"].startswith("1:")
    assert _wrong(schema, document) == []
    assert _wrong(schema, document | {"log": "yes"}) != []


@pytest.mark.slow
@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_week_of_every_case_meets_the_schema(
    kb: KnowledgeBase, schema: Draft202012Validator, path: Path
) -> None:
    case = read_case(path, kb)
    planner = planner_on(case.as_of)
    week = week_now(planner, planner.run(case), case, None)
    programme = None if week is None else week.programme
    for reader in READERS:
        assert _wrong(schema, _document(planner, case, reader, programme)) == []


def _check_people(
    kb: KnowledgeBase, schema: Draft202012Validator, planner: Planner, numbers: range
) -> None:
    for number in numbers:
        sent = somebody(kb, number)
        case = Case(sent.name or "Client", planner.on, sent.answers)
        for reader in READERS:
            assert _wrong(schema, _document(planner, case, reader)) == [], number


def test_plans_of_anybody_meet_the_schema(
    kb: KnowledgeBase, schema: Draft202012Validator, planner: Planner
) -> None:
    _check_people(kb, schema, planner, range(2))


@pytest.mark.slow
def test_plans_of_a_hundred_more_meet_the_schema(
    kb: KnowledgeBase, schema: Draft202012Validator, planner: Planner
) -> None:
    _check_people(kb, schema, planner, range(2, 110))


@pytest.fixture(scope="module")
def small(case: Case, programme: Programme) -> dict[Audience, Any]:
    """A real plan with its week, cut down to a few of each thing."""
    planner = planner_on(case.as_of)
    kept = ("screen.flags", "screen.withheld", "week.structure", "priority.muscles", "block.weeks",
            "review.next_date", "training.level", "dose.sets_per_week[lats]")  # fmt: skip
    found: dict[Audience, Any] = {}
    for reader in READERS:
        document = _document(planner, case, reader, programme)
        facts = {key: document["facts"][key] for key in kept if key in document["facts"]}
        found[reader] = _cut(document | {"facts": facts})
    return found


def _cut(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _cut(value) for key, value in node.items()}
    return [_cut(item) for item in node[:2]] if isinstance(node, list) else node


def _places(node: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield at
    inner = (
        node.items()
        if isinstance(node, dict)
        else enumerate(node)
        if isinstance(node, list)
        else ()
    )
    for key, value in inner:
        yield from _places(value, (*at, key))


def _at(document: Any, place: tuple[Any, ...]) -> Any:
    for key in place:
        document = document[key]
    return document


def test_every_kind_of_damage_is_refused(
    schema: Draft202012Validator, small: dict[Audience, Any]
) -> None:
    """Each field left out, each value of another type, each object with one field more."""
    document = small["coach"]
    assert _wrong(schema, document) == []
    missed = []
    for place in list(_places(document))[1:]:
        for damage in ("type", "gone", "more"):
            damaged = copy.deepcopy(document)
            parent, key, value = _at(damaged, place[:-1]), place[-1], _at(damaged, place)
            if damage == "type":
                # No place holds a list of nulls, nor an object with this field.
                parent[key] = [None] if isinstance(value, dict) else {"wrong": 1}
            elif damage == "more" and isinstance(value, dict):
                value["wrong"] = 1
            elif damage == "gone" and isinstance(parent, dict) and not _may_be_gone(place):
                del parent[key]
            else:
                continue
            if schema.is_valid(damaged):
                missed.append((damage, place))
    assert missed == []


def _may_be_gone(place: tuple[Any, ...]) -> bool:
    in_facts = place[0] == "facts"
    general = (
        "*" if isinstance(k, int) or (in_facts and n == 1) else k for n, k in enumerate(place)
    )
    return tuple(general) in OPTIONAL


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("as_of",), "12.1.2026"),
        (("for",), "anyone"),
        (("book", "logic_hash"), "abc"),
        (("facts", "block.weeks", "unit"), "months"),
        (("facts", "training.level", "value"), "expert"),
        (("facts", "priority.muscles", "value"), ["wings"]),
        (("facts", "block.weeks", "grade"), "certain"),
        (("facts", "block.weeks", "derivation"), "ENE-400"),
        (("facts", "week.structure", "value", "mon"), "holiday"),
        (("programme", "sessions", 0, "day"), "someday"),
        (("programme", "sessions", 0, "lines", 0, "sets"), 0),
        (("programme", "sessions", 0, "lines", 0, "reps"), [8]),
        (("programme", "sessions", 0, "lines", 0, "measure"), "miles"),
        (("programme", "sessions", 0, "lines", 0, "load_kg"), -5),
        (("programme", "sessions", 0, "lines"), []),
    ],
)
def test_a_value_nobody_means_is_refused(
    schema: Draft202012Validator, small: dict[Audience, Any], place: tuple[Any, ...], value: Any
) -> None:
    damaged = copy.deepcopy(small["coach"])
    _at(damaged, place[:-1])[place[-1]] = value
    assert not schema.is_valid(damaged)


def test_the_client_has_no_account_of_the_search(
    schema: Draft202012Validator, small: dict[Audience, Any]
) -> None:
    swapped = copy.deepcopy(small["coach"]) | {"for": "client"}
    assert not schema.is_valid(swapped)
    assert not schema.is_valid(copy.deepcopy(small["client"]) | {"for": "coach"})


def test_the_command_prints_it(
    kb: KnowledgeBase, tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    out = tmp_path / "plan.schema.json"
    assert main(["schema", "plan", "--out", str(out)]) == 0
    assert json.loads(out.read_bytes()) == plan_schema(kb)
    assert main(["schema", "rule"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["type"] == "object"
