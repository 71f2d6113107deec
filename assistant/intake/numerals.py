"""Numbers as people say them: words for digits, "about", spans of time in other units, two numbers at once.

English only: a German line is matched whole against the language's own table before.
"""

import re

from assistant.intake.quantities import tidy

_ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_VALUES = {word: n for n, word in enumerate(_ONES)} | {
    word: 10 * n for n, word in enumerate(_TENS, start=2)
}
_HUNDRED = 100
_WORD = "|".join((*_VALUES, "hundred"))
_RUN = re.compile(rf"\b(?:a hundred|{_WORD})(?:(?: and |[ -])(?:{_WORD}))*\b")
_SPAN = "hour|day|week|month|year|minute|kilo|foot|stone"
_SHORT_WAYS = (
    (r"\bonce\b", "1"),
    (r"\btwice\b", "2"),
    (rf"\b(?:an?|1) ({_SPAN}) and a half\b", r"1.5 \1s"),
    (r"\b([0-9]+) and a half\b", r"\1.5"),
    (rf"\bhalf an? ({_SPAN})\b", r"0.5 \1"),
    (rf"^an? ({_SPAN})\b", r"1 \1"),
    (r"([0-9])m([0-9]{2})$", r"\1.\2 m"),
)
_BEFORE = re.compile(
    r"(?:about|around|approximately|approx\.?|roughly|circa|ca\.?|etwa|ungefähr|maybe|perhaps|only|just|for|i weigh"
    r"|i am|i'm|im|it is|it's|its|(?:s?he)(?: is|'s| weighs)?) +|[~≈] ?"
)
_AFTER = re.compile(
    r" ?(?:or so|-?ish|ago|tall|high|i think|i guess|roughly|maybe|perhaps|please|[.!])$"
)
_NUMBER = r"[0-9]{1,6}(?:[.,][0-9]{1,3})?"
_SPAN_WORDS = r"-|\u2013|\bto\b|\bor\b|\band\b|\bbis\b|\boder\b|\bund\b"
_OVER = r"/|\bover\b|\bzu\b"
_TWO = re.compile(
    rf"(?:(?:between|from|zwischen) )?(?P<first>{_NUMBER})[^0-9]{{0,14}}?"
    rf"(?:(?P<span>{_SPAN_WORDS})|{_OVER}) ?(?P<last>{_NUMBER})(?P<unit>.*)"
)
_DAYS = {"a": 365.25, "mo": 365.25 / 12, "wk": 7.0, "d": 1.0}
_SPANS = {
    "a": "y|yrs?|years?|jahre?n?",
    "mo": "mo|mos|months?|monate?n?",
    "wk": "wks?|weeks?|wochen?",
    "d": "d|days?|tagen?|tag",
}
_ONE_SPAN = re.compile(
    rf"({_NUMBER}) ?(?:" + "|".join(f"(?P<{unit}>{form})" for unit, form in _SPANS.items()) + r")\b"
)


def said_plainly(text: str) -> str:
    """Return typed text tidied, with digits for words and without what only says "about"."""
    plain = tidy(text)
    before = ""
    while plain != before:
        before = plain
        started = _BEFORE.match(plain)
        plain = _AFTER.sub("", plain[started.end() :] if started else plain).strip()
    plain = _RUN.sub(lambda found: str(_value(found.group())), plain)
    for form, digits in _SHORT_WAYS:
        plain = re.sub(form, digits, plain)
    return plain


def _value(words: str) -> int | str:
    """Return the number that words say; the words as they are where they say several."""
    total, last = 0, _HUNDRED * 10
    for word in re.split(r"[ -]", words):
        if word in {"and", "a"}:
            continue
        value = _VALUES.get(word, _HUNDRED)
        if word == "hundred":
            total, last = max(total, 1) * _HUNDRED, _HUNDRED
        elif value and value >= 10 ** (len(str(last)) - 1):
            return words
        else:
            total, last = total + value, value or 1
    return total


def days_in(unit: str, days: int) -> float | None:
    """Return days in a unit of time (a, mo, wk, d), to one decimal; None for a unit of anything else."""
    return round(days / _DAYS[unit], 1) if unit in _DAYS else None


def span_in(unit: str, plain: str) -> float | None:
    """Return a span of time in a unit (a, mo, wk, d) where it was said in others, or None.

    `2 years` are 24 months; years and months may stand together. To one decimal.
    """
    if unit not in _DAYS:
        return None
    days, rest = 0.0, plain
    while found := _ONE_SPAN.match(rest):
        said = next(name for name in _SPANS if found.group(name))
        days += float(found.group(1).replace(",", ".")) * _DAYS[said]
        rest = re.sub(r"^(?: and|,)? ?", "", rest[found.end() :])
        if not rest:
            return round(days / _DAYS[unit], 1)
    return None


def two_in(plain: str) -> tuple[str, str, bool] | None:
    """Return both numbers typed for one, each with the unit behind them, and whether they are the ends of a span.

    No span: one number over the other. None where there are not two.
    """
    found = _TWO.fullmatch(plain)
    if found is None:
        return None
    first, last = (f"{found[name]}{found['unit']}".strip() for name in ("first", "last"))
    return first, last, found["span"] is not None
