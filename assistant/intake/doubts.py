"""Answers that are each allowed but look wrong beside each other: asked about, never corrected."""

from collections.abc import Mapping

from assistant.intake.form import Form, Slot
from assistant.intake.parse import answer_in_words
from assistant.intake.quantities import (
    Refusal,
    UnitSystem,
    measure_in_words,
    parse_measure,
    plain_from_si,
    si_from_plain,
)
from assistant.intake.typed_numbers import parse_number
from assistant.model.values import Value

WEIGHT, HEIGHT = "client.weight_kg", "client.height_cm"
UPPER_PRESSURE, LOWER_PRESSURE = "screen.bp_systolic", "screen.bp_diastolic"
_PARTNER = {WEIGHT: HEIGHT, HEIGHT: WEIGHT}


def doubt(fact: str, value: Value, answers: Mapping[str, Value], form: Form) -> str | None:
    """Return a question about an answer that does not sit well with another, or None.

    Weight over height (kg over cm) is what two swapped answers look like; in a blood pressure the
    upper figure is the larger one. A target date that has passed is a slip of the year.
    """
    together, say = {**answers, fact: value}, form.speech.say
    if fact in (WEIGHT, HEIGHT) and _number(together, WEIGHT) > _number(together, HEIGHT) > 0:
        weight, height = _number(together, WEIGHT), _number(together, HEIGHT)
        told = "weight {weight} kg and height {height} cm: were the two swapped?"
        return say(told, weight=weight, height=height)
    if fact in (UPPER_PRESSURE, LOWER_PRESSURE):
        upper, lower = _number(together, UPPER_PRESSURE), _number(together, LOWER_PRESSURE)
        if 0 < upper <= lower:
            told = "blood pressure {upper} over {lower}: were the two swapped?"
            return say(told, upper=upper, lower=lower)
    if fact == "client.target_date" and isinstance(value, str):
        today = form.as_of.isoformat()
        if len(value) == len(today) and value <= today:
            return say("{day} is not after {today}: is the date right?", day=value, today=today)
    return form.second_look(fact, value) if form.second_look is not None else None


def _number(answers: Mapping[str, Value], fact: str) -> float:
    value = answers.get(fact)
    return float(value) if isinstance(value, (int, float)) else 0.0


def refused(
    refusal: Refusal,
    text: str,
    slot: Slot,
    form: Form,
    answers: Mapping[str, Value],
    system: UnitSystem,
) -> str:
    """Return what a refused line is told, with what it may have meant instead where that shows."""
    here = (text, slot, form, answers, system)
    hint = _swap_hint(*here) or _share_hint(*here)
    told = form.speech.said(refusal.sentence)
    told += "" if told.endswith("?") else "."
    return f"{told} {hint}." if hint else told


def _swap_hint(
    text: str, slot: Slot, form: Form, answers: Mapping[str, Value], system: UnitSystem
) -> str | None:
    """Return a question for a refused weight or height that would fit if the two were swapped."""
    partner_fact = _PARTNER.get(slot.fact)
    given = answers.get(partner_fact or "")
    if partner_fact is None or not isinstance(given, (int, float)):
        return None
    partner = form.slots[form.index_of(partner_fact)]
    if slot.question.quantity is None or partner.question.quantity is None:
        return None
    try:
        typed = plain_from_si(parse_number(text, slot, system), slot.question.quantity, system)
    except Refusal:
        return None
    plain_given = plain_from_si(float(given), partner.question.quantity, system)
    typed_as_partner = si_from_plain(typed, partner.question.quantity, system)
    given_as_this = si_from_plain(plain_given, slot.question.quantity, system)
    if _fits(typed_as_partner, partner) and _fits(given_as_this, slot):
        return form.speech.say(
            "{answer} was given as {given}: were the two swapped? Type back to put it right",
            answer=partner.declaration.label,
            given=answer_in_words(given, partner, system),
        )
    return None


def _share_hint(
    text: str, slot: Slot, form: Form, answers: Mapping[str, Value], system: UnitSystem
) -> str | None:
    """Return how many per cent of the present weight a typed weight is, where per cent are asked for."""
    present = _number(answers, WEIGHT)
    if slot.declaration.unit not in {"%", "%/wk"} or not present:
        return None
    try:
        share = round(100 * parse_measure(text, "mass", system) / present, 1)
    except Refusal:
        return None
    told = "Of {weight} that is about {share} per cent; type that if it is right"
    weight = measure_in_words(present, "mass", system, form.speech)
    return form.speech.say(told, weight=weight, share=share)


def _fits(value: float, slot: Slot) -> bool:
    allowed = slot.declaration.range
    return allowed is not None and allowed[0] <= value <= allowed[1]
