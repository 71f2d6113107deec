"""People's decisions about flags: which count on the day, and how the page records them."""

import datetime as dt
from collections.abc import Iterable, Mapping

from assistant.knowledge.flag_rules import DECISIONS
from assistant.model.case import Decision
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import Line
from assistant.model.values import split_key
from assistant.plan.by_hand import fact_of
from assistant.plan.clearances import Clearances
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped


def decided_flags(
    decisions: Iterable[Decision], given: Mapping[str, object], kb: KnowledgeBase, on: dt.date
) -> Mapping[str, tuple[str, ...]]:
    """Return the flags set aside and cleared on a day, by context fact.

    given: what is known of the person, by fact; something new or worse makes a clearance void.
    """
    clearances = Clearances(kb, given, on)
    counting = [d for d in decisions if d.in_force(on) and not clearances.void_by(d)]
    return {
        fact: tuple(sorted({d.flag for d in counting if d.kind == kind}))
        for kind, fact in DECISIONS.items()
    }


def compose_set_aside(narrator: Narrator) -> list[Line]:
    """Return one line for each change by hand that does not hold today, for the coach; no figures."""
    words = narrator.kb.plan.by_hand
    if words is None or narrator.audience != "coach" or is_stopped(narrator.run):
        return []
    lines = []
    for change, why in narrator.run.set_aside:
        fact = fact_of(change.line, narrator.kb)
        fact_id, element = split_key(fact)
        what = narrator.kb.facts[fact_id].label
        if element is not None:
            what = f"{what}, {narrator.phrases.label(element)}"
        slots = {"what": what, "by": change.by, "since": change.since.isoformat(),
                 "why": sentence_case(why)}  # fmt: skip
        text = narrator.phrases.render(words.set_aside, slots.get)
        lines.append(Line(f"by_hand.{change.line}", text, "", ("screen.level",)))
    return lines


def compose_decisions(decisions: Iterable[Decision], narrator: Narrator) -> list[Line]:
    """Return one line for each decision in force, for the coach; a void one is told to both."""
    given = {key: fact.value for key, fact in narrator.run.facts.items()}
    clearances = Clearances(narrator.kb, given, narrator.on)
    is_coach = narrator.audience == "coach"
    lines = []
    for number, decision in enumerate(decisions, start=1):
        void = clearances.void_by(decision)
        if not decision.in_force(narrator.on) or not (is_coach or void):
            continue
        name = f"{decision.kind}_void" if void else decision.kind
        # A flag's name is the coach's: the client's lines carry a number.
        key = decision.flag if is_coach else str(number)
        text = narrator.phrase(
            name,
            by=decision.by,
            until=decision.until.isoformat(),
            area=narrator.kb.flags[decision.flag].area,
            reason=decision.reason,
            new=", ".join(narrator.kb.facts[fact].label for fact in void),
        )
        fact = DECISIONS[decision.kind] if is_coach else "screen.level"
        lines.append(Line(f"screen.decision[{key}]", text, "", (fact,)))
    return lines
