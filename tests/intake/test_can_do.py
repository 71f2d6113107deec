"""What can be done with body weight is asked only where a week could hold it, and only of who ticks it."""

import pytest
from intake_walks import quiet_answer, walk
from tick_lists import form

from assistant.intake.form import Slot

ASKED = "client.can_do"


def _asked(ticks: str, months: str, kit: str) -> bool:
    said = {
        "client.age_years": "35",
        "ticks.wishes": ticks,
        "client.training_age_months": months,
        "client.equipment": kit,
    }

    def text_for(slot: Slot) -> str:
        return said.get(slot.fact) or quiet_answer(slot)

    *states, _ = walk(form(), "self", text_for)
    return ASKED in {state.form.slots[state.position].fact for state in states}


@pytest.mark.parametrize(
    ("ticks", "months", "kit", "asked"),
    [
        ("none", "24", "full gym", False),
        ("7", "24", "full gym", True),
        ("7", "24", "pull up bar", True),
        ("7", "0", "bands at home", True),
        # Machines and dumbbells do a beginner's work.
        ("7", "0", "full gym", False),
    ],
)
def test_it_is_asked_where_it_matters(ticks: str, months: str, kit: str, asked: bool) -> None:
    assert _asked(ticks, months, kit) is asked
