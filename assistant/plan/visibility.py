"""Who may see what: withheld outputs hide facts by their `reveals`, on every page and in every file.

The engine already refuses to conclude what is withheld. This file hides the rest: answers and
screening facts that would show the same figure another way.
"""

from collections.abc import Mapping

from assistant.engine.lookup import WITHHELD_FACTS, left_out
from assistant.model.derivation import FactValue, Run, word_in
from assistant.model.knowledge import KnowledgeBase
from assistant.model.rules import Audience
from assistant.model.values import FactKey, split_key

# Of what the screen works out the client is told areas and next steps; the rest, names of flags
# among it, is for the coach's own reading.
_SCREEN_FOR_CLIENTS = frozenset({"screen.level", "screen.withheld", "screen.referral_urgency"})
# How the flags in force came about; `screen.flags` shows the outcome with each one's severity.
_WORKINGS = frozenset({"screen.found", "screen.standing", "screen.severity"})


def withheld_outputs(run: Run) -> frozenset[str]:
    """Return the ids of all outputs that the plan leaves out."""
    return left_out({key: run.facts[key].value for key in WITHHELD_FACTS if key in run.facts})


def is_stopped(run: Run) -> bool:
    """Tell whether the screen lets nothing out but the safety message and the note."""
    return word_in(run.facts, "screen.level") == "stop"


def is_hidden(
    kb: KnowledgeBase, key: FactKey, withheld: frozenset[str], audience: Audience
) -> bool:
    """Tell whether a fact may not be shown, because of what it reveals or who is reading."""
    fact_id, _ = split_key(key)
    declaration = kb.facts.get(fact_id)
    if declaration is None:
        return True
    if withheld.intersection(declaration.reveals):
        return True
    if audience == "coach":
        return False
    worked_out = declaration.origin == "derived" and fact_id.startswith("screen.")
    return declaration.personal or (worked_out and fact_id not in _SCREEN_FOR_CLIENTS)


def visible_conclusions(
    kb: KnowledgeBase, run: Run, audience: Audience
) -> Mapping[FactKey, FactValue]:
    """Return the derived facts this reader may see, in the order of their keys."""
    withheld, stopped = withheld_outputs(run), is_stopped(run)
    shown: dict[FactKey, FactValue] = {}
    for key in sorted(run.facts):
        fact_id, _ = split_key(key)
        if kb.facts[fact_id].origin != "derived" or fact_id in _WORKINGS:
            continue
        if (key.startswith("screen.") or not stopped) and not is_hidden(
            kb, key, withheld, audience
        ):
            shown[key] = run.facts[key]
    return shown
