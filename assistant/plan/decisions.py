"""People's decisions about flags: which count on the day, and how the page records them."""

import datetime as dt
from collections.abc import Iterable, Mapping

from assistant.model.case import Decision
from assistant.model.plan import Line
from assistant.plan.sentences import Narrator

_FACTS = {"set_aside": "context.set_aside_flags", "cleared": "context.cleared_flags"}


def decided_flags(decisions: Iterable[Decision], on: dt.date) -> Mapping[str, tuple[str, ...]]:
    """Return the flags set aside and cleared on a day, by context fact."""
    in_force = [decision for decision in decisions if decision.in_force(on)]
    return {
        fact: tuple(sorted({d.flag for d in in_force if d.kind == kind}))
        for kind, fact in _FACTS.items()
    }


def compose_decisions(decisions: Iterable[Decision], narrator: Narrator) -> list[Line]:
    """Return one line for each decision in force; they are for the coach's page."""
    if narrator.audience != "coach":
        return []
    lines = []
    for decision in decisions:
        if not decision.in_force(narrator.on):
            continue
        slots = {
            "by": decision.by,
            "until": decision.until.isoformat(),
            "area": narrator.kb.flags[decision.flag].area,
            "reason": decision.reason,
        }
        text = narrator.phrases.render(narrator.kb.plan.phrases[decision.kind], slots.get)
        fact = _FACTS[decision.kind]
        lines.append(Line(f"screen.decision[{decision.flag}]", text, "", (fact,)))
    return lines
