"""Typed text turned into the value of a fact, or refused with one helpful line."""

import re
from collections.abc import Callable, Mapping

from assistant.intake.dates import read_day
from assistant.intake.form import Slot
from assistant.intake.listed import names, one_choice, several
from assistant.intake.quantities import (
    Refusal,
    UnitSystem,
    iso_day,
    measure_in_words,
    number_in_words,
    plain_name,
    tidy,
)
from assistant.intake.typed_numbers import allowed_range, in_range, parse_number
from assistant.model.facts import FactType
from assistant.model.values import Status, Value

LONGEST_ANSWER = 2000  # room for a whole list typed out
# A coach answers for the client beside him.
_OTHERS = [f"{who} {says}" for who in ("he", "she") for says in ("does", "is", "has")]
_YES = frozenset(
    {"yes", "y", "true", "yeah", "yep", "yup", "sure", "of course", "definitely", "i do", "i am", "i have", "yes please",
     "always", *_OTHERS}
)  # fmt: skip
_NO = frozenset(
    {"no", "n", "false", "nope", "nah", "not at all", "no way", "definitely not", "i don't", "i do not", "i'm not",
     "i haven't", "no thanks", "no thank you", "never", "not ever", "none", "nothing",
     *(f"{said}n't" for said in _OTHERS)}
)  # fmt: skip
_NONE = _NO - {"false", "i'm not"} | {
    "none of these", "none of those", "none of them", "none of the above", "no to all", "no to all of them", "not any", "no one",
    "neither", "nothing at all", "nothing special", "nothing in mind", "nothing like that", "nil",
}  # fmt: skip
# Before another answer of its kind each says the same twice: `no, never`, `nope, none of those`, `yes, she does`.
_SAID_FIRST = frozenset({"no", "nope", "nah", "yes", "yeah", "yep"})
# To how much or how long, where no answer of safety hangs on it.
_NOT_YET = re.compile(
    r"(?:i |i've |i have )?(?:never (?:really )?(?:lifted|trained|done it|tried)(?: (?:weights|before|at all))*|not yet"
    r"|(?:none )?(?:not|haven'?t) started(?: yet)?|just starting)"
)
_NOT_APPLICABLE = frozenset({"not applicable", "does not apply", "doesn't apply", "n/a"})


def parse_answer(text: str, slot: Slot, system: UnitSystem) -> Value:
    """Return the value that typed text means for a question.

    Numbers come back in the fact's own (SI) unit, lists as sorted tuples without repeats, dates
    as ISO text. Raises Refusal with one line that says what is wrong and what to type.
    """
    if not text.strip():
        raise Refusal("type {how}", how=what_to_type(slot, system))
    if len(text) > LONGEST_ANSWER:
        told = "that is over {count} characters; type a shorter answer"
        raise Refusal(told, count=LONGEST_ANSWER)
    status = _status(text, slot)
    if status is not None:
        return status
    no = slot.question.no_means
    if no is not None and not slot.declaration.is_safety and _NOT_YET.fullmatch(_bare(text)):
        return no
    if no is not None and _is_one_of(
        slot.speech.meant(_bare(text)), _NO | _NONE - names(slot).keys()
    ):
        return no
    if slot.lines is not None:
        return slot.lines.read(_free_text(text, slot), system)
    if slot.declaration.type in {FactType.NUMBER, FactType.INTEGER}:
        return in_range(parse_number(text, slot, system), slot, system)
    return _READERS[slot.declaration.type](text, slot)


def check(text: str, slot: Slot, system: UnitSystem) -> str | None:
    """Return what is wrong with text typed so far, or None; cheap enough for every key."""
    try:
        parse_answer(text, slot, system)
    except Refusal as refusal:
        return slot.speech.said(refusal.sentence)
    return None


def _status(text: str, slot: Slot) -> Status | None:
    plain = slot.speech.meant(_bare(text))
    if may_not_apply(slot) and plain in _NOT_APPLICABLE:
        return Status.NOT_APPLICABLE
    if not slot.declaration.allows_none or slot.declaration.type is FactType.CHOICES:
        return None  # of a list, "none" is the empty list
    if slot.declaration.type is FactType.BOOLEAN:
        return Status.NONE if plain == Status.NONE else None
    harmless = not slot.declaration.is_safety and re.fullmatch(r"no [a-z]+", plain)
    return Status.NONE if harmless or _is_one_of(plain, _none_words(slot)) else None


def _is_one_of(plain: str, said: frozenset[str]) -> bool:
    """Return whether a line is one of the short answers, or one said again after another of its kind."""
    first, _, again = plain.partition(" ")
    return plain in said or (first in said & _SAID_FIRST and again in said)


def _bare(text: str) -> str:
    """Return a short answer without the marks around it: `No, never!` is `no never`."""
    return re.sub(r"[,.!]+(?= |$)", "", tidy(text))


def _none_words(slot: Slot) -> frozenset[str]:
    if Status.NONE in slot.choices:
        return frozenset()
    return _NONE - {plain_name(choice) for choice in slot.choices} | {tidy(slot.label(Status.NONE))}


def may_not_apply(slot: Slot) -> bool:
    """Return whether a person may type that a question does not apply to them.

    Only a quantity that the book itself leaves out for some people (months without a period), and
    never one whose silence holds all exercise: a yes/no question always has a plain answer.
    """
    numeric = slot.declaration.type in {FactType.NUMBER, FactType.INTEGER}
    conditional = bool(slot.question.ask_if) and slot.question.otherwise == "not_applicable"
    return numeric and conditional and slot.declaration.tier != "A"


def _boolean(text: str, slot: Slot) -> Value:
    return one_choice(text, slot) if slot.options else _said_yes(text, slot)


def says_yes(text: str, slot: Slot) -> bool:
    """Return whether a line says yes, to whatever was asked last."""
    return _is_one_of(slot.speech.meant(_bare(text)), _YES)


def _said_yes(text: str, slot: Slot) -> bool:
    if says_yes(text, slot):
        return True
    if _is_one_of(slot.speech.meant(_bare(text)), _NO):
        return False
    raise Refusal("`{typed}` is not an answer here; type yes, no or not sure", typed=text.strip())


def names_a_choice(text: str, slot: Slot) -> bool:
    """Return whether text is exactly one of the choices, so that it is never read as a command."""
    return plain_name(text) in names(slot)


def _choices(text: str, slot: Slot) -> tuple[str, ...]:
    if slot.yes_item:
        return (slot.yes_item,) if _said_yes(text, slot) else ()
    if _is_one_of(slot.speech.meant(_bare(text)), _none_words(slot)):
        if slot.question.needs_one:
            raise Refusal(
                "at least one is needed; type {how}", how=what_to_type(slot, UnitSystem.METRIC)
            )
        return ()
    chosen = several(text, slot)
    if "none" in chosen and len(chosen) > 1:
        raise Refusal("`none` cannot stand beside other items; type one or the other")
    return chosen


def _date(text: str, _: Slot) -> str:
    if day := iso_day(tidy(text)) or read_day(tidy(text)):
        return day.isoformat()
    told = "`{typed}` is not a date; type year-month-day, for example 2026-03-01"
    raise Refusal(told, typed=text.strip())


def _free_text(text: str, _: Slot) -> str:
    plain = text.strip()
    if not plain.isprintable():
        raise Refusal("the text holds characters that cannot be printed; type it again")
    return plain


_READERS: Mapping[FactType, Callable[[str, Slot], Value]] = {
    FactType.BOOLEAN: _boolean,
    FactType.CHOICE: one_choice,
    FactType.CHOICES: _choices,
    FactType.DATE: _date,
    FactType.TEXT: _free_text,
}


def what_to_type(slot: Slot, system: UnitSystem) -> str:
    """Return what an answer to this question looks like, in a few words."""
    say = slot.speech.say
    kind = FactType.BOOLEAN if slot.yes_item else slot.declaration.type
    if kind is FactType.CHOICES:
        if slot.question.needs_one:
            return say("numbers or names with commas between")
        return say("numbers or names with commas between, or none")
    if slot.options:
        return say("a number from 1 to {last}, or the name", last=len(slot.options))
    match kind:
        case FactType.BOOLEAN:
            how = say("yes, no or not sure")
        case FactType.DATE:
            how = say("a date as year-month-day")
        case FactType.NUMBER | FactType.INTEGER:
            how = say("a number, {allowed}", allowed=allowed_range(slot, system))
        case _:
            return say("a few words" if slot.lines is None else slot.lines.how)
    if slot.declaration.allows_none and kind is not FactType.BOOLEAN:
        how = say("{this}, or {other}", this=how, other=tidy(slot.label(Status.NONE)))
    if may_not_apply(slot):
        how = say("{this}, or {other}", this=how, other=say("does not apply"))
    return how


def answer_in_words(value: Value, slot: Slot, system: UnitSystem) -> str:
    """Return an answer as a person would read it, in the units in use."""
    say = slot.speech.say
    if isinstance(value, Status):
        return slot.label(value) if value is Status.NONE else say(_STATUS_WORDS[value])
    if isinstance(value, bool) or slot.yes_item:
        named = {answer: label for label, answer in slot.options}
        return named.get(value) or say("yes" if value else "no")
    if isinstance(value, tuple):
        chosen = [slot.label(choice) for choice in slot.choices if choice in value]
        return ", ".join(chosen) or slot.label(Status.NONE)
    if isinstance(value, str):
        named_so = slot.label(value) if value in slot.choices else value
        return named_so if slot.lines is None else slot.lines.shown(value)
    if slot.question.quantity is not None:
        return measure_in_words(value, slot.question.quantity, system, slot.speech)
    return f"{slot.speech.number(number_in_words(value, 3))} {slot.unit}".rstrip()


_STATUS_WORDS = {
    Status.UNKNOWN: "not sure, or left blank",
    Status.DECLINED: "prefer not to say",
    Status.NOT_APPLICABLE: "does not apply",
}
