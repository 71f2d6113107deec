"""Measures as people type them, in metric or imperial units, turned into SI and back.

A number without a unit is in the units in force. Text that can be read in two ways is refused
with a line that shows both readings; nothing is guessed. The conversion factors come from
`assistant.calculate.units`, which rounds once.
"""

import datetime as dt
import math
import re
import unicodedata
from collections.abc import Callable
from enum import StrEnum
from fractions import Fraction

from assistant.calculate import units
from assistant.intake.speech import Sentence, Speech

_IN_ENGLISH = Speech()


class UnitSystem(StrEnum):
    """The units in which plain numbers are read and answers are shown."""

    METRIC = "metric"
    IMPERIAL = "imperial"

    @property
    def other(self) -> "UnitSystem":
        """The system that a switch leads to."""
        return UnitSystem.IMPERIAL if self is UnitSystem.METRIC else UnitSystem.METRIC


class Refusal(ValueError):
    """Typed text that is no valid answer. The message is one line: what is wrong, what to type.

    instead: the whole line as it was probably meant, where a near name is offered.
    """

    instead = ""

    def __init__(self, template: str, **values: str | float | Sentence) -> None:
        """Fill the sentence, to be said in the language of whoever typed."""
        self.sentence = Sentence(template, values)
        super().__init__(str(self.sentence))


NOT_A_NUMBER = "`{typed}` is not a number; type it in digits"
_NUMBER = r"[+-]?[0-9]{1,12}(?:[.,][0-9]{1,12})?"
_THOUSANDS_OR_DECIMAL = re.compile(r"[+-]?0*[1-9][0-9]*,[0-9]{3}")
# What keyboards and phones make of a foot mark, an inch mark and a minus.
_PLAIN_MARKS = str.maketrans(
    "\N{PRIME}\N{LEFT SINGLE QUOTATION MARK}\N{RIGHT SINGLE QUOTATION MARK}`"
    "\N{DOUBLE PRIME}\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}"
    "\N{MINUS SIGN}\N{EN DASH}",
    "''''\"\"\"--",
)
_MINUTES_PER_HOUR = 60
_CM_PER_M = 100
# Below this a length is a girth and is shown in inches alone; standing heights get feet.
_FEET_FROM_CM = 120.0


def tidy(text: str) -> str:
    """Return text in one spelling: compatible characters, lower case, single spaces, plain marks."""
    plain = unicodedata.normalize("NFKC", text).lower().strip()
    return re.sub(r"\s+", " ", plain.translate(_PLAIN_MARKS).replace("''", '"'))


def plain_name(text: str) -> str:
    """Return a name, an id or a label without case, underscores and hyphens, for comparing."""
    return re.sub(r"[\s_-]+", " ", tidy(text)).strip()


def iso_day(text: str) -> dt.date | None:
    """Return the day of a text written as year-month-day; None for any other. Raises Refusal."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as problem:
        raise Refusal(
            "`{typed}` is not in the calendar; check month and day", typed=text
        ) from problem


def read_number(text: str) -> str:
    """Return a typed number with a decimal point, as text, so that no digit is lost.

    Raises Refusal for anything else, and for `2,300`, which is 2300 to some and 2.3 to others.
    """
    plain = tidy(text)
    if not re.fullmatch(_NUMBER, plain):
        raise Refusal(NOT_A_NUMBER, typed=text.strip())
    if _THOUSANDS_OR_DECIMAL.fullmatch(plain):
        whole = plain.replace(",", "")
        decimal = plain.replace(",", ".").rstrip("0").rstrip(".")
        told = "`{typed}` can mean {whole} or {decimal}; type it without the comma"
        raise Refusal(told, typed=plain, whole=whole, decimal=decimal)
    return plain.replace(",", ".")


def _scaled(number: str, factor: Fraction | int) -> float:
    return float(Fraction(number) * factor)


def _whole(number: str, big_unit: str, small_unit: str) -> float:
    if "." in number:
        raise Refusal(
            "`{number} {big}` can be read in two ways; type whole {big} and {small}, for example {example}",
            number=number,
            big=big_unit,
            small=small_unit,
            example=_EXAMPLE[big_unit],
        )
    return float(number)


_EXAMPLE = {"ft": "5 ft 6 in", "st": "11 st 4 lb"}


def _feet(feet: str, inches: str = "0") -> float:
    whole = _whole(feet, "ft", "in")
    try:
        return units.cm_from_feet_and_inches(whole, float(inches))
    except ValueError as problem:
        raise Refusal(
            "{feet} ft {inches} in is not a length; inches go from 0 to under 12",
            feet=feet,
            inches=inches,
        ) from problem


def _stone(stone: str, pounds: str = "0") -> float:
    whole = _whole(stone, "st", "lb")
    if not 0 <= float(pounds) < units.LB_PER_STONE:
        told = "{stone} st {pounds} lb is not a weight; pounds go from 0 to under 14"
        raise Refusal(told, stone=stone, pounds=pounds)
    return units.kg_from_stone(whole, float(pounds))


def _clock(hours: str, minutes: str = "0") -> Fraction:
    if "." in hours and Fraction(minutes):
        told = "{hours} h {minutes} min is not a duration; type whole hours and minutes"
        raise Refusal(told, hours=hours, minutes=minutes)
    if not 0 <= float(minutes) < _MINUTES_PER_HOUR:
        told = "{hours} h {minutes} min is not a duration; minutes go from 0 to 59"
        raise Refusal(told, hours=hours, minutes=minutes)
    return Fraction(hours) * _MINUTES_PER_HOUR + Fraction(minutes)


_N = f"({_NUMBER})"
_MIN = "(?:min|mins|minute|minutes|minuten)"
_HOURS = "(?:h|hr|hrs|hour|hours|std|stunde|stunden)"
_CLOCK_FORMS: tuple[tuple[str, Callable[..., Fraction]], ...] = (
    (rf"{_N} ?{_MIN}", Fraction),
    (rf"{_N} ?{_HOURS}", _clock),
    (rf"{_N} ?{_HOURS} ?(?:and |und )?{_N} ?{_MIN}?", _clock),
    (r"([0-9]{1,2}):([0-9]{2})", _clock),
)
# quantity -> the ways of typing it that carry their own unit, each with its reading in SI
_FORMS: dict[str, tuple[tuple[str, Callable[..., float]], ...]] = {
    "length": (
        (rf"{_N} ?(?:cm|centimetres?|centimeters?|zentimeter)", float),
        (rf"{_N} ?(?:m|metres?|meters?)", lambda n: _scaled(n, _CM_PER_M)),
        (rf"{_N} ?(?:in|ins|inch|inches|\")", lambda n: units.cm_from_inches(float(n))),
        (rf"{_N} ?(?:ft|foot|feet|')", _feet),
        (rf"{_N} ?(?:ft|foot|feet|') ?(?:and )?{_N} ?(?:in|ins|inch|inches|\")?", _feet),
    ),
    "mass": (
        (rf"{_N} ?(?:kg|kgs|kilos?|kilograms?|kilogramm)", float),
        (rf"{_N} ?(?:lb|lbs|pounds?)", lambda n: units.kg_from_lb(float(n))),
        (rf"{_N} ?(?:st|stones?)", _stone),
        (rf"{_N} ?(?:st|stones?) ?(?:and )?{_N} ?(?:lb|lbs|pounds?)?", _stone),
    ),
    # In talk about food a "calorie" is a kilocalorie (common practice, no source).
    "energy": (
        (rf"{_N} ?(?:kcal|kilocalories|cal|cals|calories|kilokalorien|kalorien)", float),
        (rf"{_N} ?(?:kj|kilojoules?)", lambda n: units.kcal_from_kj(float(n))),
    ),
    "duration_min": tuple(
        (form, lambda *n, read=read: float(read(*n))) for form, read in _CLOCK_FORMS
    ),
    "duration_h": tuple(
        (form, lambda *n, read=read: float(read(*n) / _MINUTES_PER_HOUR))
        for form, read in _CLOCK_FORMS
    ),
}
_PLAIN_UNIT: dict[tuple[str, UnitSystem], str] = {
    ("length", UnitSystem.METRIC): "cm",
    ("length", UnitSystem.IMPERIAL): "in",
    ("mass", UnitSystem.METRIC): "kg",
    ("mass", UnitSystem.IMPERIAL): "lb",
}
_SAME_EVERYWHERE = {"energy": "kcal", "duration_min": "min", "duration_h": "h"}
_HOW_TO_TYPE = {
    "length": Sentence("165 cm, 1.65 m, 65 in or 5 ft 5"),
    "mass": Sentence("63.5 kg, 140 lb or 11 st 4"),
    "energy": Sentence("2300 kcal or 9600 kJ"),
    "duration_min": Sentence("75 min or 1 h 15"),
    "duration_h": Sentence("7.5 h or 7 h 30"),
}


def plain_unit(quantity: str, system: UnitSystem) -> str:
    """Return the unit of a number typed without one."""
    return _SAME_EVERYWHERE.get(quantity) or _PLAIN_UNIT[(quantity, system)]


def how_to_type(quantity: str) -> Sentence:
    """Return examples of typed measures of a quantity."""
    return _HOW_TO_TYPE[quantity]


_TO_SI = {"in": units.cm_from_inches, "lb": units.kg_from_lb}
_FROM_SI = {"in": units.inches_from_cm, "lb": units.lb_from_kg}


def si_from_plain(number: float, quantity: str, system: UnitSystem) -> float:
    """Return the SI value of a plain number in the units in force."""
    return _TO_SI.get(plain_unit(quantity, system), float)(number)


def plain_from_si(value: float, quantity: str, system: UnitSystem) -> float:
    """Return an SI value as a plain number in the units in force."""
    return _FROM_SI.get(plain_unit(quantity, system), float)(value)


def parse_measure(
    text: str, quantity: str, system: UnitSystem, allowed: tuple[float, float] | None = None
) -> float:
    """Return the SI value (kg, cm, kcal, min or h by quantity) of a typed measure.

    allowed: with it a bare 1.75 is the 175 cm that it can only be; else the range is not looked at.
    Raises Refusal with one line if the text has no single reading.
    """
    plain = tidy(text)
    for form, read in _FORMS[quantity]:
        match = re.fullmatch(form, plain)
        if match:
            return read(*(read_number(number) for number in match.groups()))
    if re.fullmatch(_NUMBER, plain):
        value = si_from_plain(float(read_number(plain)), quantity, system)
        metres = round(value * 100, 6)
        is_metres = quantity == "length" and re.fullmatch(r"[0-9][.,][0-9]{2}", plain)
        if is_metres and system is UnitSystem.METRIC and allowed:
            return metres if value < allowed[0] <= metres <= allowed[1] else value
        return value
    told = "`{typed}` is not understood; type it like {example}"
    raise Refusal(told, typed=text.strip(), example=how_to_type(quantity))


def number_in_words(value: float, decimals: int = 1) -> str:
    """Return a number without needless zeros."""
    rounded = f"{value:.{decimals}f}"
    return rounded.rstrip("0").rstrip(".") if "." in rounded else rounded


def measure_in_words(
    value: float, quantity: str, system: UnitSystem, speech: Speech = _IN_ENGLISH
) -> str:
    """Return an SI value in the units in force, for reading: `63.5 kg`, `5 ft 5 in`."""
    unit = plain_unit(quantity, system)
    number = plain_from_si(value, quantity, system)
    if unit == "in" and value >= _FEET_FROM_CM:
        feet, inches = divmod(round(number, 1), units.INCHES_PER_FOOT)
        return f"{feet:.0f} ft {speech.number(number_in_words(inches))} in"
    return f"{speech.number(number_in_words(number, 2 if unit == 'h' else 1))} {unit}"


def range_in_words(low: float, high: float, quantity: str, system: UnitSystem) -> Sentence:
    """Return an allowed range in the units in force, rounded inwards: what it says is allowed."""
    unit = plain_unit(quantity, system)
    if system is UnitSystem.METRIC or quantity in _SAME_EVERYWHERE:
        return range_of_numbers(low, high, unit)
    lowest = math.ceil(plain_from_si(low, quantity, system) * 10) / 10
    highest = math.floor(plain_from_si(high, quantity, system) * 10) / 10
    return range_of_numbers(lowest, highest, unit)


def range_of_numbers(low: float, high: float, unit: str) -> Sentence:
    """Return a range with its unit; a number without one has an empty unit."""
    lowest, highest = (float(number_in_words(end, 2)) for end in (low, high))
    if not unit:
        return Sentence("{low} to {high}", {"low": lowest, "high": highest})
    return Sentence("{low} to {high} {unit}", {"low": lowest, "high": highest, "unit": unit})
