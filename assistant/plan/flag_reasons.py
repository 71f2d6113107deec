"""Why a flag is raised: every rule that raised it has its say, not only the first."""

from assistant.model.derivation import Derivation
from assistant.model.knowledge import KnowledgeBase
from assistant.plan.sentences import Narrator
from assistant.plan.views import raised_flags


def flag_reasons(narrator: Narrator, flag: str) -> list[str]:
    """Return the sentence of every rule that raised a flag, each once.

    Open questions have a part of their own on the page, so of reasons that are mere silence one is
    enough. A client has the flag's own sentence, and reasons only where the book words them apart.
    """
    raised = [record for record in narrator.run.records.fired() if flag in raised_flags(record)]
    if narrator.audience == "client":
        apart = client_reasons(narrator.kb, flag)
        rules = narrator.kb.rules
        telling = [r for r in raised if rules[r.rule_id].client_because in apart]
        return list(dict.fromkeys(record.client_because or "" for record in telling))
    silent = [record for record in raised if _is_silence(record)]
    said = [narrator.sentence(record) for record in raised if record not in silent[1:]]
    return list(dict.fromkeys(said))


def client_reasons(kb: KnowledgeBase, flag: str) -> frozenset[str]:
    """Return the reasons a client can read under a flag.

    None where all rules that raise it say the same: that sentence adds nothing to the flag's own.
    The sentences of the screen for a client hold nothing to fill in.
    """
    raising = (
        rule
        for rule in kb.rules.values()
        if any(item.fact == "screen.found" and item.item == flag for item in rule.then)
    )
    said = frozenset(rule.client_because for rule in raising if rule.client_because)
    return said if len(said) > 1 else frozenset()


def _is_silence(record: Derivation) -> bool:
    """Tell whether a rule fired for unanswered questions alone."""
    return all(
        reading.operator == "status" for reading in record.readings if reading.role == "when"
    )
