"""Tick lists: each leads to asked questions, says what an unticked item means, and hides no stop."""

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.knowledge.values import read_value
from assistant.model.errors import Problem, Refused
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.questions import TickItem, TickList
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status

# An answer of these kinds has one plain no; any other says in the book what no means.
_OWN_NO = {FactType.BOOLEAN, FactType.CHOICES}

_NO_ANSWER = (Status.DECLINED, Status.NOT_APPLICABLE)


def check_tick_lists(draft: Draft) -> list[Problem]:
    """Return what is wrong with the lists that are ticked before questions are asked."""
    problems: list[Problem] = []
    section_of = {question.fact: question.section for question in draft.questions}
    taken: set[str] = set()
    for ticks in draft.tick_lists:
        scope = Scope(draft, "tick_list", ticks.id)
        _place(ticks, section_of, scope)
        ids: set[str] = set()
        for number, item in enumerate(ticks.items):
            at: RawPath = ("items", number)
            if item.id in ids:
                scope.problem(at, "repeated-item", f"the item `{item.id}` is here twice")
            ids.add(item.id)
            for fact_id in item.facts:
                _fact(fact_id, item, (*at, "facts"), taken, scope)
            for fact_id in item.otherwise:
                if fact_id not in item.facts:
                    hint = did_you_mean(fact_id, item.facts)
                    text = f"`{fact_id}` is not among the `facts` of this item{hint}"
                    scope.problem((*at, "otherwise"), "unknown-fact", text)
        problems.extend(scope.problems)
    return problems


def _place(ticks: TickList, section_of: dict[str, str], scope: Scope) -> None:
    """A list stands right before the first question behind it, so it is in that question's section."""
    behind = [section for fact, section in section_of.items() if fact in ticks.facts]
    if behind and behind[0] != ticks.section:
        text = f"the first question behind it is in `{behind[0]}`; name that section"
        scope.problem(("section",), "unknown-section", text)


def _fact(fact_id: str, item: TickItem, path: RawPath, taken: set[str], scope: Scope) -> None:
    draft = scope.draft
    asked = {question.fact for question in draft.questions}
    fact = draft.facts.get(fact_id)
    if fact is None or fact_id not in asked:
        hint = did_you_mean(fact_id, asked)
        scope.problem(path, "unknown-fact", f"no question asks `{fact_id}`{hint}")
        return
    if fact_id in taken:
        text = f"`{fact_id}` is behind another item already; one list leads to a question"
        scope.problem(path, "repeated-item", text)
    taken.add(fact_id)
    if fact.tier == "A" or fact_id in SESSION_ONLY_FACTS:
        text = f"`{fact_id}` may stop everything, so it is asked by itself; take it out of the list"
        scope.problem(path, "hidden-stop", text)
    _no(fact, item, path, scope)


def _no(fact: FactDeclaration, item: TickItem, path: RawPath, scope: Scope) -> None:
    if fact.type in _OWN_NO:
        if fact.id in item.otherwise:
            text = (
                f"what no means for `{fact.id}` follows from its kind; remove it from `otherwise`"
            )
            scope.problem(path, "bad-value", text)
    elif fact.id not in item.otherwise:
        text = f"say under `otherwise` what `{fact.id}` is where `{item.id}` is not ticked"
        scope.problem(path, "missing-entry", text)
    elif item.otherwise[fact.id] in _NO_ANSWER and item.otherwise[fact.id] not in scope.choices(
        fact
    ):
        text = f"`{item.otherwise[fact.id]}` is no plain no for `{fact.id}`; write none, unknown or a choice"
        scope.problem(path, "bad-value", text)
    else:
        try:
            read_value(fact, scope.draft.book, item.otherwise[fact.id])
        except Refused as refused:
            scope.problem(path, refused.code, f"`otherwise` for `{fact.id}` {refused.text}")
