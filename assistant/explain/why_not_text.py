"""The answer to "why not": what stands now, and the nearest rules that would have said otherwise."""

from collections.abc import Iterator, Mapping

from assistant.engine.bound import BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.lookup import SCREEN_STAGE
from assistant.engine.terms import Calculator
from assistant.explain.gap_words import (
    LEFT_OUT,
    label_of,
    may_name,
    missing_answers,
    obstacle_words,
    reasons,
    value_words,
)
from assistant.explain.numbers import own_numbers
from assistant.explain.why_not import Asked, Missed, deciding, why_not
from assistant.model.derivation import Concluded, Verdict
from assistant.model.facts import Combine
from assistant.model.values import fact_key, split_key
from assistant.plan.phrases import sentence_case, wrapped
from assistant.plan.sentences import Narrator

_VERDICT_WORDS: Mapping[Verdict, str] = {
    Verdict.FAILED_AT: "a condition is not met",
    Verdict.BLOCKED_BY: "held back",
    Verdict.NEEDS: "an answer is missing",
    Verdict.OVERRIDDEN: "overridden",
    Verdict.FIRED: "it does apply, but another conclusion counts",
    Verdict.NOT_IN_FORCE: "not in force",
}
# A list that no rule put anything in: no answer is missing, there is just no reason.
_NOT_CALLED_FOR = "nothing calls for it"
_NONE_LEFT = "No other rule has a say in it."
_NOT_SHOWN = "This page leaves that out. The coach's page says what can be said about it."


def why_not_text(
    book: CompiledBook,
    narrator: Narrator,
    calculators: Mapping[str, Calculator],
    asked: Asked,
    most: int,
    command: str,
) -> str:
    """Return the answer for the narrator's reader, with at most `most` rules; `command` shows more."""
    if _is_closed(book, narrator, asked):
        return f"{_NOT_SHOWN}\n"
    missed = [
        each
        for each in why_not(book, narrator.run, calculators, asked)
        if not _is_for_coach_alone(narrator, each.bound)
    ]
    rows = [row for line in _now(book, narrator, asked) for row in wrapped(sentence_case(line))]
    rows += ["", "What did not decide it, the nearest first:" if missed else _NONE_LEFT]
    told: dict[str, int] = {}
    for number, each in enumerate(missed[:most], start=1):
        rows += ["", *_entry(book, narrator, each, number, told)]
    if len(missed) > most:
        rows += ["", f"{len(missed) - most} more: {command} --most {len(missed)}"]
    return "\n".join(rows) + "\n"


def _is_closed(book: CompiledBook, narrator: Narrator, asked: Asked) -> bool:
    """Tell whether the client may not hear about this at all. A coach hears it without figures."""
    if narrator.audience == "coach":
        return False
    if asked.rule_id:
        bound = [one for one in book.rules if one.rule.id == asked.rule_id]
        return any(_is_for_coach_alone(narrator, one) for one in bound)
    return all(narrator.hides(key) or key.startswith("screen.") for key in asked.keys)


def _is_for_coach_alone(narrator: Narrator, bound: BoundRule) -> bool:
    if narrator.audience == "coach":
        return False
    hidden = [narrator.hides(conclusion.key) for conclusion in bound.conclusions]
    return bound.rule.stage == SCREEN_STAGE or all(hidden)


def _now(book: CompiledBook, narrator: Narrator, asked: Asked) -> Iterator[str]:
    """Say what the plan says now, and by which rules."""
    for key in asked.keys:
        fact = narrator.run.facts.get(key)
        label = label_of(narrator, key)
        if narrator.hides(key):
            yield f"{label}: left out"
        elif fact is None:
            yield f"{label}: not concluded"
        else:
            records = [narrator.run.derivation(name) for name in fact.derivations]
            rules = ", ".join(dict.fromkeys(each.rule_id for each in records))
            by = f" (rule {rules})" if rules else " (no rule says yes)"
            yield f"{label}: {value_words(narrator, split_key(key)[0], fact.value)}{by}"
            heard = [each for each in records if may_name(narrator, each.rule_id)]
            used = (name for each in heard for name in each.parameters)
            yield from (f"number {said}" for said in own_numbers(narrator, used))
    if asked.rule_id:
        title = narrator.kb.rules[asked.rule_id].title
        yield f"Rule {asked.rule_id}: {title}"
        for record in deciding(book, narrator.run, asked):
            element = next(iter(record.binding.values()), "")
            of = f" for {narrator.phrases.label(element)}" if element else ""
            yield f"It does apply{of}: {narrator.sentence(record)}"


def _entry(
    book: CompiledBook, narrator: Narrator, missed: Missed, number: int, told: dict[str, int]
) -> list[str]:
    """Return one rule; `told` says under which number a reason has been given already."""
    rule, element = missed.bound.rule, missed.bound.element
    asks = missing_answers(book, narrator, missed.obstacles)
    verdict = _VERDICT_WORDS[missed.verdict]
    if missed.verdict is Verdict.NEEDS and not asks:
        verdict = _NOT_CALLED_FOR
    first = f"{number}. "
    pad = " " * len(first)
    rows = wrapped(f"{fact_key(rule.id, element)}: {rule.title}", first, pad)
    if missed.would_say:
        said = ", ".join(_said(narrator, one) for one in missed.would_say)
        rows += wrapped(f"would say: {said}", pad, pad + "  ")
    for said in own_numbers(narrator, missed.bound.parameters):
        rows += wrapped(f"number {said}", pad, pad + "  ")
    faults = list(_faults(narrator, missed))
    rows += wrapped(f"{verdict}:" if faults else verdict, pad, pad)
    for text, because in faults:
        rows += wrapped(text, pad + "- ", pad + "  ")
        for reason in (each for each in because if each not in told):
            rows += wrapped(f"because: {reason}", pad + "    ", pad + "      ")
        earlier = {told[each] for each in because if told.get(each, number) != number}
        if earlier:
            rows += wrapped(f"because: as under {min(earlier)}", pad + "    ", pad + "      ")
        told.update({each: told.get(each, number) for each in because})
    if asks:
        open_ = ", ".join(label_of(narrator, key) for key in asks)
        rows += wrapped(f"to ask: {open_}", pad, pad + "  ")
    return rows


def _faults(narrator: Narrator, missed: Missed) -> Iterator[tuple[str, list[str]]]:
    """Yield what stands in the way, and why it is so (nearest reason first)."""
    for obstacle in missed.obstacles:
        text = obstacle_words(narrator, obstacle)
        gaps = () if LEFT_OUT in text else obstacle
        because = [said for gap in gaps for said in reasons(narrator, gap)]
        yield text, list(dict.fromkeys(because))
    for other in missed.overridden_by:
        yield f"rule {other} takes precedence: {narrator.kb.rules[other].title}", []
    if missed.outdone_by:
        keys = [conclusion.key for conclusion in missed.bound.conclusions]
        combine = {narrator.kb.facts[split_key(key)[0]].combine for key in keys}
        which = "the smallest" if Combine.MIN in combine else "the largest"
        others = ", ".join(missed.outdone_by)
        yield f"of several conclusions {which} counts, here that of rule {others}", []
    if missed.verdict is Verdict.NOT_IN_FORCE:
        yield _dates(missed.bound, narrator), []


def _dates(bound: BoundRule, narrator: Narrator) -> str:
    rule = bound.rule
    first = f" from {rule.in_force_from}" if rule.in_force_from else ""
    last = f" until {rule.in_force_until}" if rule.in_force_until else ""
    return f"the rule counts{first}{last}; this plan is for {narrator.on.isoformat()}"


def _said(narrator: Narrator, one: Concluded) -> str:
    fact_id, _ = split_key(one.fact)
    label = label_of(narrator, one.fact)
    if narrator.hides(one.fact):
        return f"{label} (figure left out)"
    if narrator.kb.facts[fact_id].combine is Combine.COLLECT:
        return f"{narrator.phrases.value(fact_id, (str(one.value),))} among {label}"
    return f"{label} {value_words(narrator, fact_id, one.value)}"
