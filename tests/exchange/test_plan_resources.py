"""CarePlan and PlanDefinition: valid by R4B (as `fhir.resources` has it), and no line that the plan has not."""

import json
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.careplan import CarePlan
from fhir.resources.R4B.plandefinition import PlanDefinition

from assistant.cli.main import main
from assistant.clients.book import planner
from assistant.clients.person import Person
from assistant.exchange.plan_resources import care_plan, plan_definition
from assistant.exchange.portable import portable
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.model.programme import Programme

ROOT = Path(__file__).parents[2]


def _plan_of(made: dict[str, Any]) -> dict[str, Any]:
    (found,) = [e["resource"] for e in made["entry"] if e["resource"]["resourceType"] == "CarePlan"]
    return dict(found)


def test_the_plan_with_its_sessions(case: Case, kb: KnowledgeBase, programme: Programme) -> None:
    person = Person(case, planner(None, None, case.as_of, None))
    plan = person.planner.plan(case, person.narrator("coach"), programme)
    assert plan.programme is not None
    made = care_plan(kb, plan, portable(case, with_name=False, whole=False), "x")
    Bundle.model_validate(made)
    found = CarePlan.model_validate(_plan_of(made))
    assert found.status == "active"
    details = [activity["detail"] for activity in _plan_of(made)["activity"]]
    assert [each["description"] for each in details[: len(plan.lines)]] == [
        line.text for line in plan.lines
    ]
    sessions = details[len(plan.lines) :]
    days = [each["scheduledTiming"]["repeat"]["dayOfWeek"] for each in sessions]
    assert days == [["tue"], ["fri"]]
    assert (
        "Leg press: 3 x 8 to 12 repetitions; Plank: 3 x 20 to 40 seconds"
        in sessions[0]["description"]
    )


@pytest.mark.parametrize("name", ["refer_first", "stop_today"])
def test_what_is_withheld_is_in_no_activity(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The lines are those of the plan as printed; a plan that is stopped waits, and has no session."""
    file = ROOT / f"cases/{name}.yaml"
    out = tmp_path / "plan.json"
    command = ["exchange", "export", str(file), "--to", "fhir", "--what", "plan", "--out", str(out)]
    assert main(command) == 0
    main(["plan", str(file), "--format", "json"])
    printed = json.loads(capsys.readouterr().out)
    text = out.read_text("utf-8")
    found = _plan_of(json.loads(text))
    lines = [line["text"] for section in printed["sections"] for line in section["lines"]]
    sessions = (printed["programme"] or {"sessions": []})["sessions"]
    assert len(found["activity"]) == len(lines) + len(sessions)
    assert [a["detail"]["description"] for a in found["activity"][: len(lines)]] == lines
    assert found["status"] == ("on-hold" if name == "stop_today" else "active")
    assert printed["case"] not in text


def test_the_book_as_a_plan_definition(kb: KnowledgeBase) -> None:
    made = plan_definition(kb)
    PlanDefinition.model_validate(made)
    stages = [stage["title"] for stage in made["action"]]
    assert stages == [stage for stage in kb.book.stages if stage in stages]
    rules = [rule for stage in made["action"] for rule in stage["action"]]
    assert {rule["id"] for rule in rules} == set(kb.rules)
    assert all(rule["documentation"] for rule in rules)


def test_the_book_is_written_without_a_person(tmp_path: Path, kb: KnowledgeBase) -> None:
    out = tmp_path / "rules.json"
    assert main(["exchange", "rules", "--out", str(out)]) == 0
    assert json.loads(out.read_bytes()) == plan_definition(kb)
