"""Ask-if clauses read answers as the engine's own reading of a rule does, or ask."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from intake_forms import AS_OF, small_knowledge

from assistant.engine import judge
from assistant.intake.asking import applies, truth
from assistant.model.clauses import Clause
from assistant.model.derivation import Holds, Verdict
from assistant.model.facts import FactDeclaration
from assistant.model.rules import Rule
from assistant.model.values import Status, Value

KNOWLEDGE = small_knowledge()
PARAMETERS = {"screen.adult_age": 18.0}
HOLDS_BY_VERDICT = {
    Verdict.FIRED: Holds.TRUE,
    Verdict.FAILED_AT: Holds.FALSE,
    Verdict.NEEDS: Holds.UNKNOWN,
}
STATUSES = st.sampled_from(list(Status))
BOOLEANS = ("screen.pregnant", "screen.guardian_agrees", "screen.severe_low_sugar_last_24h")
ANSWERS = st.fixed_dictionaries(
    {},
    optional={
        "client.sex_for_equations": st.sampled_from(["female", "male"]) | STATUSES,
        "client.age_years": st.sampled_from([17.0, 18.0, 18.5, 40.0]) | STATUSES,
        "screen.medicines": st.sampled_from([(), ("insulin",), ("insulin", "statin")]) | STATUSES,
        "client.target_date": st.sampled_from(["2026-03-01", "2027-01-01"]) | STATUSES,
        **dict.fromkeys(BOOLEANS, st.booleans() | STATUSES),
    },
)
ADULT = {"param": "screen.adult_age"}
NUMBER_TESTS = st.sampled_from(
    [{op: ADULT} for op in ("at_least", "at_most", "more_than", "less_than", "equals", "is_not")]
)
CLAUSES: st.SearchStrategy[dict[str, Any]] = st.one_of(
    NUMBER_TESTS.map(lambda test: {"fact": "client.age_years", **test}),
    st.sampled_from(["equals", "is_not"]).map(
        lambda op: {"fact": "client.sex_for_equations", op: "female"}
    ),
    st.just({"fact": "client.sex_for_equations", "one_of": ("female",)}),
    st.sampled_from(["has", "lacks"]).map(lambda op: {"fact": "screen.medicines", op: "insulin"}),
    st.just({"fact": "screen.medicines", "not_empty": True}),
    st.sampled_from(["at_least", "more_than"]).map(
        lambda op: {"count_items": "screen.medicines", op: 1.0}
    ),
    st.sampled_from(["at_least", "more_than"]).map(lambda op: {"count_true": BOOLEANS, op: 1.0}),
    st.booleans().map(lambda yes: {"fact": "screen.pregnant", "equals": yes}),
    st.sampled_from(["known", "unanswered", "unknown", "declined", "not_applicable", "none"]).map(
        lambda status: {"fact": "client.age_years", "status": status}
    ),
)


def rule_that_asks(clause: Clause) -> Rule:
    return Rule.model_validate(
        {
            "id": "TST-1",
            "title": "asks",
            "stage": "screen",
            "when": (clause,),
            "then": ({"set": "screen.asked", "to": True},),
            "because": "asked",
            "source": ({"ref": "invented", "supports": "nothing"},),
            "grade": {"certainty": "practice", "note": "invented"},
            "tests": {},
        },
        strict=False,
    )


ASKED = FactDeclaration.model_validate(
    {"id": "screen.asked", "label": "asked", "type": "boolean", "origin": "derived",
     "combine": "any"},
    strict=False,
)  # fmt: skip


@given(CLAUSES, ANSWERS)
@settings(deadline=None)
def test_a_clause_reads_as_in_a_rule(raw: dict[str, Any], answers: dict[str, Value]) -> None:
    clause = Clause.model_validate(raw, strict=False)
    facts = {**KNOWLEDGE.facts, ASKED.id: ASKED}
    knowledge = type(KNOWLEDGE)(**{**vars(KNOWLEDGE), "facts": facts})
    record = judge(rule_that_asks(clause), None, answers, knowledge, AS_OF, {})
    assert truth(clause, answers, PARAMETERS) is HOLDS_BY_VERDICT[record.verdict]


def test_what_cannot_be_compared_is_asked() -> None:
    ordered_ids = Clause.model_validate(
        {"fact": "client.sex_for_equations", "at_least": "female"}, strict=False
    )
    assert truth(ordered_ids, {"client.sex_for_equations": "male"}, {}) is Holds.UNKNOWN
    assert applies((ordered_ids,), {"client.sex_for_equations": "male"}, {})
    no_parameter = Clause.model_validate(
        {"fact": "client.age_years", "less_than": ADULT}, strict=False
    )
    assert applies((no_parameter,), {"client.age_years": 40.0}, {})
