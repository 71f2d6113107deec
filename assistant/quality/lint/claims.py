"""Sentences that claim more than their grade bears."""

from assistant.knowledge.draft import Draft
from assistant.model.documents.checking import CheckSettings
from assistant.model.errors import Problem
from assistant.model.sources import Grade


def claims(draft: Draft, settings: CheckSettings) -> list[Problem]:
    """Return every sentence with a word that the certainty of its rule or parameter rules out."""
    problems: list[Problem] = []
    for rule in draft.rules.values():
        for field in ("title", "because", "client_because"):
            sentence = getattr(rule, field)
            text = _objection(sentence, rule.grade, settings) if sentence else None
            if text is not None:
                place = draft.place("rule", rule.id, field)
                problems.append(Problem(place, "over-claiming", f"{rule.id} `{field}` {text}"))
    for parameter in draft.parameters.values():
        text = _objection(parameter.title, parameter.grade, settings)
        if text is not None:
            place = draft.place("parameter", parameter.id, "title")
            problems.append(Problem(place, "over-claiming", f"`{parameter.id}` {text}"))
    return problems


def _objection(sentence: str, grade: Grade, settings: CheckSettings) -> str | None:
    for each in settings.over_claiming:
        words = each.objects(sentence, grade.certainty)
        if words is not None:
            return (
                f"says `{words}` under the grade {grade.certainty.value}; "
                "say it more carefully, or cite what bears it"
            )
    return None
