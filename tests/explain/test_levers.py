"""What a client may be asked to change: declared beside the fact, checked with file and line."""

import shutil
from pathlib import Path

import pytest

from assistant.cli.main import main
from assistant.explain.levers import levers_of, steps
from assistant.knowledge import load_knowledge
from assistant.model.errors import InputProblems
from assistant.model.facts import FactDeclaration, FactType, Lever
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value

ROOT = Path(__file__).parents[2]
SMALL_BOOK = ROOT / "tests/knowledge/small_book"


def test_no_lever_is_a_safety_answer_or_a_body(kb: KnowledgeBase) -> None:
    names = set(levers_of(kb))
    assert {"client.sleep_hours", "client.available_days", "client.minutes_per_session"} <= names
    assert {"client.intake_kcal_per_day", "client.protein_g_per_day"} <= names
    never = {"client.age_years", "client.weight_kg", "client.goal_weight_kg", "client.height_cm"}
    assert not names & never
    assert all(kb.facts[name].tier in {None, "free"} for name in names)


@pytest.mark.parametrize(
    ("lever", "code", "says"),
    [
        ("lever: {cost: 1}", "bad-value", "has a `step` if the fact is a number"),
        ("lever: {step: 1, cost: 0}", "bad-value", "greater than 0"),
        ("lever: {step: 0.1, cost: 1}", "too-many-steps", "widen `step`"),
        ("lever: {step: 1, cost: 1, reach: [20, 300]}", "bad-value", "within the fact's `range`"),
        ("lever: {step: 1, cost: 1, direction: sideways}", "bad-value", "'both', 'up'"),
        ("lever: {step: 1, cost: 1, stepp: 2}", "unknown-field", "did you mean `step`"),
    ],
)
def test_a_wrong_lever_is_one_line_with_its_place(
    tmp_path: Path, lever: str, code: str, says: str
) -> None:
    book = tmp_path / "rules"
    shutil.copytree(SMALL_BOOK, book)
    path = book / "facts/answers.yaml"
    old = "unit: kg, range: [30, 250], loinc: 29463-7}"
    text = path.read_text("utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, f"{old[:-1]}, {lever}}}"), "utf-8")
    with pytest.raises(InputProblems) as caught:
        load_knowledge(book, use_cache=False)
    problem = next(each for each in caught.value.problems if each.code == code)
    assert problem.place == "rules/facts/answers.yaml:4"
    assert says in problem.text


@pytest.mark.parametrize(
    ("old", "says"),
    [
        ("origin: answer, tier: A}", "a safety answer is never a `lever`"),
        ("personal: true}", "a `lever` is an answer of one value"),
        ("type: date, origin: answer}", "a `lever` is a number, a choice"),
    ],
)
def test_what_may_not_be_a_lever(tmp_path: Path, old: str, says: str) -> None:
    book = tmp_path / "rules"
    shutil.copytree(SMALL_BOOK, book)
    path = book / "facts/answers.yaml"
    path.write_text(
        path.read_text("utf-8").replace(old, f"{old[:-1]}, lever: {{cost: 1}}}}", 1), "utf-8"
    )
    with pytest.raises(InputProblems, match=says.replace("`", ".")):
        load_knowledge(book, use_cache=False)


def _number(**lever: object) -> FactDeclaration:
    return FactDeclaration(
        id="client.hours", label="hours", type=FactType.NUMBER, origin="answer", range=(0, 10),
        lever=Lever(cost=2, **lever),
    )  # fmt: skip


def _found(kb: KnowledgeBase, fact: FactDeclaration, now: Value) -> list[tuple[Value, float]]:
    assert fact.lever is not None
    return [(step.value, step.cost) for step in steps(fact, fact.lever, now, kb)]


def test_steps_of_a_number(kb: KnowledgeBase) -> None:
    assert _found(kb, _number(step=2.0, reach=(4, 9)), 6.5) == [(8.5, 2), (4.5, 2)]
    assert _found(kb, _number(step=0.1, reach=(0, 0.3)), 0.0) == [(0.1, 2), (0.2, 4), (0.3, 6)]
    assert _found(kb, _number(step=2.0, reach=(4, 9), direction="up"), 6.5) == [(8.5, 2)]
    assert _found(kb, _number(step=2.0, reach=(4, 9), direction="down"), 6.5) == [(4.5, 2)]
    # Who stands outside the reach steps into it.
    up = _number(step=2.0, reach=(4, 9), direction="up")
    assert _found(kb, up, 1.0) == [(5, 4), (7, 6), (9, 8)]
    assert _found(kb, up, 9.5) == []
    assert _found(kb, _number(step=5.0), Status.UNKNOWN) == [(0, 2), (5, 2), (10, 2)]
    assert _found(kb, _number(step=5.0), Status.NOT_APPLICABLE) == []


def test_steps_of_a_list(kb: KnowledgeBase) -> None:
    days = kb.facts["client.available_days"]
    found = _found(kb, days, ("mon", "tue"))
    assert len(found) == 2**7 - 2  # every set of days but none at all and the present one
    assert found[0][1] == days.lever.cost  # type: ignore[union-attr]
    costs = dict(found)
    assert costs["mon",] == 3
    assert costs["mon", "wed"] == 6


def test_steps_of_an_ordered_choice(kb: KnowledgeBase) -> None:
    life = kb.facts["client.daily_activity"]
    assert _found(kb, life, "low_active") == [("active", 6), ("very_active", 12)]
    assert _found(kb, life, "very_active") == []


def test_levers_change_no_plan(kb: KnowledgeBase, tmp_path: Path) -> None:
    """They are for the search alone, so the logic hash does not know them; the content hash does."""
    book = tmp_path / "rules"
    shutil.copytree(ROOT / "rules", book)
    path = book / "facts/client.yaml"
    path.write_text(
        path.read_text("utf-8").replace(
            "{step: 5, cost: 1, reach: [15, 120]}", "{step: 10, cost: 1}"
        ),
        "utf-8",
    )
    other = load_knowledge(book, use_cache=False)
    assert other.logic_hash == kb.logic_hash
    assert other.content_hash != kb.content_hash


def test_flip_says_what_it_found_and_how_far_it_looked(capsys: pytest.CaptureFixture[str]) -> None:
    short = str(ROOT / "cases/two_short_evenings.yaml")
    assert main(["flip", short, "dose.sessions_per_week[glute_max]"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "minutes for one session: 35 minutes -> 45 minutes" in said
    assert "Nothing smaller does it:" in said
    assert f"whyplan what-if {short} client.available_days=fri,mon,tue" in said
    assert main(["flip", short, "week.structure", "upper_lower_4", "--most", "2"]) == 1
    assert "None found up to effort" in capsys.readouterr().out
    assert main(["flip", short, "screen.level", "caution"]) == 1
    assert "Nothing that a client can change has a say in this." in capsys.readouterr().out
    assert main(["flip", short, "week.structure", "full_2"]) == 0
    assert "That is so already" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("fact", "target", "code"),
    [
        ("client.goal", None, "not-a-conclusion"),
        ("dose.sessions_per_week", None, "not-a-conclusion"),
        ("FRQ-020", None, "not-a-conclusion"),
        ("week.structure", "full_9", "bad-target"),
        ("week.structure", ">=full_2", "bad-target"),
        ("energy.target_kcal_per_day", "lots", "bad-target"),
        ("recovery.poor", "maybe", "bad-target"),
        ("priority.muscles", "has:tail", "bad-target"),
    ],
)
def test_flip_refuses_in_one_line(
    capsys: pytest.CaptureFixture[str], fact: str, target: str | None, code: str
) -> None:
    arguments = ["flip", str(ROOT / "cases/four_days.yaml"), fact, *([target] if target else [])]
    assert main(arguments) == 2
    (line,) = capsys.readouterr().err.strip().splitlines()
    assert f": {code}: " in line


def test_flip_searches_nothing_that_the_page_leaves_out(capsys: pytest.CaptureFixture[str]) -> None:
    case = str(ROOT / "cases/refer_first.yaml")
    for audience in ("coach", "client"):
        assert main(["flip", case, "energy.target_kcal_per_day", "--for", audience]) == 2
        assert ": left-out: " in capsys.readouterr().err
