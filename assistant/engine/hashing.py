"""A short fingerprint of what a rule does, so that a record can be tied to the rule it used."""

import hashlib
import json

from assistant.model.rules import Rule

# Prose, sources, grades and tests may change without changing what a rule concludes.
LOGIC_FIELDS = frozenset(
    {
        "id",
        "stage",
        "in_force_from",
        "in_force_until",
        "for_each",
        "when",
        "unless",
        "excused_by",
        "then",
        "overrides",
    }
)


def rule_hash(rule: Rule) -> str:
    """Return 12 hexadecimal digits of the SHA-256 of the rule's logic as canonical JSON."""
    logic = rule.model_dump(
        mode="json", by_alias=True, include=set(LOGIC_FIELDS), exclude_none=True
    )
    text = json.dumps(logic, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:12]
