"""A typed number in the unit of its fact: with a unit behind it, as a span of time, as one of two."""

import re

from assistant.intake.dates import days_since
from assistant.intake.form import Slot
from assistant.intake.numerals import days_in, said_plainly, span_in, two_in
from assistant.intake.quantities import (
    NOT_A_NUMBER,
    Refusal,
    UnitSystem,
    how_to_type,
    measure_in_words,
    number_in_words,
    parse_measure,
    range_in_words,
    range_of_numbers,
    read_number,
    tidy,
)
from assistant.intake.speech import Sentence
from assistant.model.facts import FactType

# Words that may follow a plain number, by the unit of the fact (UCUM-like).
_UNIT_WORDS = {
    "%": ("%", "percent", "per cent", "prozent"),
    "%/wk": ("%", "percent", "per cent", "prozent"),
    "a": ("a", "y", "yr", "yrs", "year", "years", "years old", "yo", "y/o", "years of age"),
    "mo": ("mo", "month", "months"),
    "wk": ("wk", "wks", "week", "weeks"),
    "d": ("d", "day", "days"),
    "g/d": ("g", "grams", "g/d", "g a day"),
    "mm[Hg]": ("mmhg", "mm hg"),
    "{sessions}/wk": (
        "sessions",
        "times",
        "x",
        "a week",
        "times a week",
        "sessions a week",
        "x a week",
        "per week",
    ),
}
_TIMES = ("times", "time", "x")


def parse_number(text: str, slot: Slot, system: UnitSystem) -> float:
    """Return a typed number in the fact's unit, without a look at the range."""
    plain = _rated(said_plainly(text), slot)
    try:
        value = _one_number(text, plain, slot, system)
    except Refusal as refusal:
        if refusal.sentence.template != NOT_A_NUMBER or not re.search("[0-9]", text):
            raise
        # The whole line is told back, not the part of it that was not understood.
        told = "`{typed}` is more than a number; type one number alone, {allowed}"
        allowed = allowed_range(slot, system)
        raise Refusal(told, typed=text.strip(), allowed=allowed) from None
    if slot.declaration.type is FactType.INTEGER and not value.is_integer():
        told = "`{typed}` is not a whole number; type one without decimals"
        raise Refusal(told, typed=text.strip())
    return value


def _one_number(text: str, plain: str, slot: Slot, system: UnitSystem) -> float:
    try:
        return _number(text, plain, slot, system)
    except Refusal:
        two = two_in(plain)
        if two is None:
            raise
        return _of_two(text, two, slot, system)


def _of_two(text: str, two: tuple[str, str, bool], slot: Slot, system: UnitSystem) -> float:
    """Return the one of two numbers that the question asks for.

    Raises Refusal where which of them counts is for the person to say.
    """
    first, last, is_span = two
    meant = slot.question.of_two
    low, high = (_number(each, each, slot, system) for each in (first, last))
    if low <= high and is_span and meant in {"low", "middle", "high"}:
        middle = round((low + high) / 2, slot.declaration.decimals)
        return {"low": low, "high": high}.get(meant, middle)
    if low > high and not is_span and meant in {"upper", "lower"}:
        return low if meant == "upper" else high
    told = "`{typed}` gives two numbers; type the one that fits best"
    raise Refusal(told, typed=text.strip())


def _number(text: str, plain: str, slot: Slot, system: UnitSystem) -> float:
    if slot.question.quantity is not None:
        try:
            return parse_measure(plain, slot.question.quantity, system, slot.declaration.range)
        except Refusal:
            return parse_measure(text, slot.question.quantity, system, slot.declaration.range)
    if (span := span_in(slot.declaration.unit, plain)) is not None:
        return span
    if slot.today is not None and not slot.declaration.is_safety:
        days = days_since(plain, slot.today)
        if days is not None and (span := days_in(slot.declaration.unit, days)) is not None:
            return span
    words = {tidy(slot.unit), *_UNIT_WORDS.get(slot.declaration.unit, _TIMES)}
    for word in sorted(words, key=len, reverse=True):
        if word and plain.endswith(word):
            plain = plain.removesuffix(word).strip()
            break
    try:
        return float(read_number(plain or text))
    except Refusal:
        return float(read_number(text))


def _rated(plain: str, slot: Slot) -> str:
    """Return the `3` of `3 out of 5` where the question's own scale ends there; any other text as it is."""
    found = re.fullmatch(r"([0-9.]+) ?(?:out of|of|/|von) ?([0-9]+)", plain)
    ends = slot.declaration.range
    if found is None or slot.unit or ends is None or float(found[2]) != ends[1]:
        return plain
    return found[1]


def in_range(value: float, slot: Slot, system: UnitSystem) -> float:
    """Return the value, or raise Refusal with the allowed range in the units in use."""
    allowed = slot.declaration.range
    if allowed is None or allowed[0] <= value <= allowed[1]:
        return value
    within = allowed_range(slot, system)
    if slot.question.quantity is None:
        typed = slot.speech.number(number_in_words(value, 3))
        raise Refusal("{typed} is outside {allowed}; check it", typed=typed, allowed=within)
    raise Refusal(
        "{typed} is outside {allowed}; check it, or type the unit too ({how})",
        typed=measure_in_words(value, slot.question.quantity, system, slot.speech),
        allowed=within,
        how=how_to_type(slot.question.quantity),
    )


def allowed_range(slot: Slot, system: UnitSystem) -> Sentence:
    """Return the allowed range of a number, in the units in use."""
    allowed = slot.declaration.range
    if allowed is None:
        return Sentence("any number")
    if slot.question.quantity is not None:
        return range_in_words(*allowed, slot.question.quantity, system)
    return range_of_numbers(*allowed, slot.unit)
