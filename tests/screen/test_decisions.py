"""A coach may set a caution aside with a reason, for a while; a stop is lifted by nobody here.

The house rules checked: cautions only, at most four weeks, clearances at most a year (common
practice, no source; graded `practice` in the book).
"""

import datetime as dt
from pathlib import Path

import pytest

from assistant.calculate.registry import CALCULATORS
from assistant.engine import run_engine
from assistant.knowledge import load_knowledge, read_case
from assistant.model.derivation import Run
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import prepare
from assistant.plan.views import flag_records

ON = dt.date(2026, 1, 12)
CASES = Path(__file__).parents[2] / "cases"


@pytest.fixture(scope="module")
def kb() -> KnowledgeBase:
    return load_knowledge(calculators=CALCULATORS)


def _case_file(tmp_path: Path, changes: dict[str, str], decisions: str) -> Path:
    lines = (CASES / "four_days.yaml").read_text("utf-8").partition("expect:")[0].splitlines()
    kept = [line for line in lines if line.strip().partition(":")[0] not in changes]
    kept += [f"  {name}: {value}" for name, value in changes.items()]
    path = tmp_path / "case.yaml"
    path.write_text("\n".join([*kept, "decisions:", decisions]) + "\n", "utf-8")
    return path


def _run(kb: KnowledgeBase, path: Path, on: dt.date = ON) -> Run:
    return prepare(kb, on).run(read_case(path, kb))


def _decision(kind: str, flag: str, until: str = "2026-02-09") -> str:
    return (
        f'  - {{{kind}: {flag}, by: head trainer, reason: "talked it over on the day",'
        f' since: "2026-01-12", until: "{until}"}}'
    )


ONE_SOFT_ITEM = {"screen.eats_past_stopping": "true"}


def test_a_caution_set_aside_gives_back_what_it_took(kb: KnowledgeBase, tmp_path: Path) -> None:
    plain = _run(kb, _case_file(tmp_path, ONE_SOFT_ITEM, "  []"))
    assert plain.facts["screen.level"].value == "caution"
    assert plain.facts["screen.withheld"].value == ("deficit_large",)
    path = _case_file(tmp_path, ONE_SOFT_ITEM, _decision("set_aside", "eating_screen_one"))
    lifted = _run(kb, path)
    assert lifted.facts["screen.level"].value == "none"
    assert flag_records(kb, lifted) == []


def test_it_lapses_on_its_day(kb: KnowledgeBase, tmp_path: Path) -> None:
    path = _case_file(tmp_path, ONE_SOFT_ITEM, _decision("set_aside", "eating_screen_one"))
    assert _run(kb, path, dt.date(2026, 2, 9)).facts["screen.level"].value == "none"
    assert _run(kb, path, dt.date(2026, 2, 10)).facts["screen.level"].value == "caution"


def test_the_page_records_who_why_and_until(kb: KnowledgeBase, tmp_path: Path) -> None:
    path = _case_file(tmp_path, ONE_SOFT_ITEM, _decision("set_aside", "eating_screen_one"))
    case, planner = read_case(path, kb), prepare(kb, ON)
    plan = planner.plan(case, planner.narrator(planner.run(case), "coach"))
    (line,) = [ln for s in plan.sections for ln in s.lines if ln.id.startswith("screen.decision")]
    assert "head trainer" in line.text
    assert "2026-02-09" in line.text
    assert "talked it over" in line.text


@pytest.mark.parametrize(
    ("decision", "code"),
    [
        (_decision("set_aside", "symptom_now"), "not-liftable"),
        (_decision("cleared", "symptom_now"), "not-liftable"),
        (_decision("set_aside", "eating_screen_two_plus"), "not-liftable"),
        (_decision("set_aside", "measuring_not_wanted"), "not-liftable"),
        (_decision("cleared", "no_period_3_months"), "not-liftable"),
        (_decision("set_aside", "unanswered_background_question"), "not-liftable"),
        (_decision("set_aside", "eating_screen_uno"), "unknown-flag"),
        (_decision("set_aside", "eating_screen_one", "2026-02-10"), "bad-value"),
        (_decision("set_aside", "eating_screen_one", "2026-01-11"), "bad-value"),
        (_decision("cleared", "surgery_recent", "2027-01-12"), "bad-value"),
        ("  - {set_aside: eating_screen_one}", "missing-field"),
        ("  - {lift: eating_screen_one}", "bad-decision"),
        ("  - 3", "bad-type"),
    ],
)
def test_what_is_refused_is_refused_with_its_line(
    kb: KnowledgeBase, tmp_path: Path, decision: str, code: str
) -> None:
    path = _case_file(tmp_path, ONE_SOFT_ITEM, decision)
    line = len(path.read_text("utf-8").splitlines())
    with pytest.raises(InputProblems) as caught:
        read_case(path, kb)
    (problem,) = caught.value.problems
    assert problem.code == code
    assert problem.place.endswith(f":{line}")


def test_no_decision_about_any_flag_lifts_a_stop(kb: KnowledgeBase) -> None:
    """Passed straight to the rules, past the reader of case files: still nothing lifts a stop."""
    planner = prepare(kb, ON)
    case = read_case(CASES / "stop_today.yaml", kb)
    flags = kb.book.domains["flag"]
    run = planner.run(case)
    decided = {"context.set_aside_flags": flags, "context.cleared_flags": flags}
    given = {**case.answers, **decided}
    lifted = run_engine(planner.compiled, given, ON, calculators=CALCULATORS)
    assert lifted.facts["screen.level"].value == "stop"
    assert lifted.facts["screen.withheld"].value == run.facts["screen.withheld"].value
    assert "screen.referral_urgency[emergency_services]" in lifted.facts


def test_a_clearance_lets_what_it_names_go_on(kb: KnowledgeBase, tmp_path: Path) -> None:
    changes = {"screen.surgery_weeks_ago": "8"}
    plain = _run(kb, _case_file(tmp_path, changes, "  []"))
    assert "exercise_any" in plain.facts["screen.withheld"].value  # type: ignore[operator]
    path = _case_file(tmp_path, changes, _decision("cleared", "surgery_recent", "2026-06-30"))
    cleared = _run(kb, path)
    assert cleared.facts["screen.level"].value == "none"
    assert not [key for key in cleared.facts if key.startswith("screen.referral_urgency")]
