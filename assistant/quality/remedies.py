"""What to do about a finding whose message does not say it, by code."""

_USUAL = "correct it as the message says, then run the check again"

_REMEDIES = {
    "bad-declaration": "correct the declaration of the fact",
    "bad-grade": "lower the grade, or cite a source that bears it",
    "bad-index": "name one id of the domain, or the rule's loop variable",
    "bad-override": "remove the rule from `overrides`",
    "bad-placeholder": "name a fact this rule reads or concludes, `value`, or `param:<id>`",
    "bad-test": "correct the test of the rule",
    "bad-type": "use a value of the type the fact declares",
    "circle": "let one of the rules read something concluded earlier",
    "conflict": "add a clause that excludes one of the two, or say `overrides`",
    "grade-too-high": "lower the grade, or cite a source that bears it",
    "later-stage": "move the rule to the later stage, or read an earlier fact",
    "missing-field": "add the field",
    "missing-grade": "write what the grade means in grades.yaml",
    "missing-test": "add an example with `given` and `expect`",
    "needless-reason": "remove the reason under `unmutated`",
    "never-concluded": "add a rule that concludes it, or read another fact",
    "never-true": "remove the clause, or test for a status the fact can have",
    "not-derived": "set a fact that is declared `origin: derived`",
    "out-of-range": "write a value inside the range",
    "reads-own-conclusion": "read a fact that an earlier rule concludes",
    "repeated-id": "rename or remove one of the two",
    "rule-test": "correct the rule, or the test if the rule is right",
    "unasked-fact": "add a question for it, or remove the fact",
    "unit-mismatch": "use a value in the unit the fact declares",
    "unlabelled-choice": "add the labels to the question",
    "unnoticed-change": "add a case to the rule's tests, or a reason under `unmutated`",
    "unread-fact": "remove the fact and its question, or name its reader in check.yaml",
    "unused-calculator": "remove the function with what only it uses, or name it in a rule",
    "unused-parameter": "remove the parameter, or name its reader in check.yaml",
    "unused-source": "remove the source, or cite it",
}


def remedy(code: str) -> str:
    """Return the usual remedy for a code, in a few words."""
    if code.startswith("unknown-"):
        return "correct the name, or declare it first"
    return _REMEDIES.get(code, _USUAL)
