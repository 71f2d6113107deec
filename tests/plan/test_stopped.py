"""Under a stop the page, the facts and the derivations hold the screen's words and nothing else."""

import json
from pathlib import Path

import pytest

from assistant.cli.main import main

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("audience", ["coach", "client"])
def test_a_stop_lets_nothing_else_out(audience: str, capsys: pytest.CaptureFixture[str]) -> None:
    case = str(ROOT / "cases/stop_today.yaml")
    assert main(["plan", case, "--format", "json", "--for", audience]) == 1
    plan = json.loads(capsys.readouterr().out)
    assert [section["id"] for section in plan["sections"]] == ["first"]
    assert plan["facts"]
    assert all(key.startswith("screen.") for key in plan["facts"])
    assert plan["derivations"]
    concluded = {c["fact"] for d in plan["derivations"] for c in d["conclusions"]}
    assert all(key.startswith("screen.") for key in concluded)


def test_the_same_page_without_a_stop_does_hold_more(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(ROOT / "cases/six_days.yaml"), "--format", "json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert "sleep.target_hours" in plan["facts"]
    assert any(d["rule"].startswith("SLP-") for d in plan["derivations"])
