"""Months of weights and girths as Observations, from a real record.

Outside check: `fhir.resources` (R4B). The record is filled through the commands a coach types.
"""

import json
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle

from assistant.cli.main import main
from assistant.exchange.bundle_reader import read_bundle
from assistant.model.knowledge import KnowledgeBase

ROOT = Path(__file__).parents[2]
SHEET = """date,weight_kg,waist_cm,hip_cm,neck_cm
2026-01-13,63.4,72.0,99.0,32.0
2026-01-20,63.7,,,
2026-01-27,63.6,71.5,99.5,
"""


@pytest.fixture
def record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    place = ["--db", str(tmp_path / "record.db"), "--as-of", "2026-02-02"]
    case = str(ROOT / "cases/four_days.yaml")
    assert (
        main(["client", "add", "Ines Farrow", "--case", case, *place[:2], "--as-of", "2026-01-12"])
        == 0
    )
    sheet = tmp_path / "weeks.csv"
    sheet.write_text(SHEET)
    assert main(["checkin", "Ines Farrow", "--from", str(sheet), *place]) == 0
    capsys.readouterr()
    return place


def _observations(content: bytes) -> list[tuple[str, str, float, str]]:
    resources: list[Any] = [entry["resource"] for entry in json.loads(content)["entry"][1:]]
    return [
        (
            r["effectiveDateTime"],
            r["code"]["coding"][0]["code"],
            r["valueQuantity"]["value"],
            r["valueQuantity"]["code"],
        )
        for r in resources
    ]


def test_a_record_goes_out_day_by_day(
    kb: KnowledgeBase, record: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "measures.json"
    assert main(["exchange", "measures", "Ines Farrow", "--out", str(out), *record]) == 0
    assert "left out: food, lifts" in capsys.readouterr().err
    content = out.read_bytes()
    Bundle.model_validate_json(content)
    assert b"Farrow" not in content
    found = _observations(content)
    assert [row for row in found if row[1] == "29463-7"] == [
        ("2026-01-13", "29463-7", 63.4, "kg"),
        ("2026-01-20", "29463-7", 63.7, "kg"),
        ("2026-01-27", "29463-7", 63.6, "kg"),
    ]
    assert ("2026-01-13", "56074-8", 32, "cm") in found
    # The site of the waist was not asked in this case and hips have no sure code: codes of our own.
    assert ("2026-01-27", "waist", 71.5, "cm") in found
    assert ("2026-01-27", "hip", 99.5, "cm") in found
    assert len(found) == 8
    # The newest of each coded measure comes back as an answer.
    back = read_bundle(content, "f.json", kb)
    assert back.answers == {"client.neck_cm": 32, "client.weight_kg": 63.6}
    assert back.as_of.isoformat() == "2026-01-27"


def test_nobody_and_nothing(
    record: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["exchange", "measures", "Ines Farow", *record]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
    place = ["--db", str(tmp_path / "other.db"), "--as-of", "2026-01-12"]
    main(["client", "add", "Ines Farrow", "--case", str(ROOT / "cases/four_days.yaml"), *place])
    assert main(["exchange", "measures", "Ines Farrow", *place]) == 1
    assert "holds no weight" in capsys.readouterr().err
