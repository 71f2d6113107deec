"""Nobody is missing among those who should look: every flag in force asks for whom its document names.

The documents are read a second time here, beside the rules made from them: the role, and an urgency at
least as soon. Referrals with conditions of their own have their examples beside them.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengths import at_length
from screening import knowledge
from screening_people import RED, Person, people, with_red
from whole_plans import ENGINES, MOSTLY_ONE, facts_of_person, value

from assistant.engine import EngineChoice
from assistant.model.documents.flags import URGENCIES

RED_ONES = [(key, red) for key, values in RED.items() for red in values]


def missing(person: Person, engines: EngineChoice = ENGINES) -> list[str]:
    """Return what is missing, as `flag: role, urgency`."""
    run = facts_of_person(*person, engines=engines)
    found = []
    for flag in value(run, "screen.flags") or ():
        for refer in knowledge().flags[flag].refer:
            said = value(run, f"screen.referral_urgency[{refer.to}]")
            if refer.when or refer.excused_by:
                continue
            if said is None or URGENCIES.index(said) > URGENCIES.index(refer.urgency):
                found.append(f"{flag}: {refer.to}, {refer.urgency} (said: {said})")
    return found


@settings(max_examples=30, deadline=None)
@given(person=people(most=8), red=st.sampled_from(RED_ONES))
def test_no_referral_is_missing(person: Person, red: tuple[str, object]) -> None:
    assert missing(with_red(person, *red)) == []


@pytest.mark.slow
@settings(max_examples=at_length(10_000, in_ci=150), deadline=None)
@given(person=people(most=12), red=st.sampled_from(RED_ONES), engines=MOSTLY_ONE)
def test_no_referral_is_missing_at_length(
    person: Person, red: tuple[str, object], engines: EngineChoice
) -> None:
    assert missing(with_red(person, *red), engines) == []


def test_the_search_sees_referrals() -> None:
    person = with_red(("woman", {}), "symptom_recent", "palpitations")
    run = facts_of_person(*person)
    assert value(run, "screen.flags")
    assert value(run, "screen.referral_urgency[physician]") is not None
