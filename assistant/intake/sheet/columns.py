"""What the columns of a spreadsheet are: measure, site, unit, from their names."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from assistant.calculate import units
from assistant.intake.checkin.book import CheckinBook
from assistant.intake.quantities import UnitSystem, plain_name, plain_unit
from assistant.intake.sheet.table import Row
from assistant.knowledge.nearest import did_you_mean
from assistant.model.entries import MEASURES, Measure
from assistant.model.errors import Problem

# What stands in several columns: how to say so, the columns it needs, and those it may have.
_TOGETHER: tuple[tuple[str, set[str], set[str]], ...] = (
    (
        "a top set needs three columns: exercise, load and reps",
        {"exercise", "top_set", "repetitions"},
        {"reserve", "set_number"},
    ),
    ("`sets` need the column exercise", {"exercise"}, {"sets"}),
    ("a pain needs two columns: joint and pain 0 to 10", {"joint", "pain_at_joint"}, set()),
    ("`seen` needs the column referral: the role that was to look", {"referral"}, {"seen"}),
)
_UNITS: dict[str, dict[str, Callable[[float], float]]] = {
    "mass": {
        **dict.fromkeys(("kg", "kgs", "kilos"), float),
        **dict.fromkeys(("lb", "lbs", "pounds"), units.kg_from_lb),
    },
    "length": {
        "cm": float,
        "mm": lambda n: n / 10,
        **dict.fromkeys(("in", "ins", "inch", "inches"), units.cm_from_inches),
    },
    "energy": {
        **dict.fromkeys(("kcal", "cal", "calories"), float),
        "kj": units.kcal_from_kj,
    },
    "duration_h": {
        **dict.fromkeys(("h", "hr", "hrs", "hours"), float),
        **dict.fromkeys(("min", "mins", "minutes"), lambda n: n / 60),
    },
}


@dataclass(frozen=True)
class Column:
    """One column. role: `measure`, `pain_words`, or a field of `columns` in rules/checkin.yaml.

    to_si: from the column's unit to the measure's; unit: as it is called.
    """

    index: int
    header: str
    role: str
    measure: Measure = "weight_kg"
    detail: str = ""
    unit: str = ""
    to_si: Callable[[float], float] = float


def is_known(cell: str, book: CheckinBook) -> bool:
    """Tell whether a header names a column, for choosing between separators."""
    return _match(cell, book) is not None


def read_header(
    header: Row, book: CheckinBook, system: UnitSystem, place: str
) -> tuple[list[Column], list[int], list[Problem]]:
    """Return the columns, the indices of unknown ones, and what is wrong with the header.

    A name that is nearly a known one is a problem; any other unknown column is left to the caller
    to tell about.
    """
    columns: list[Column] = []
    unknown: list[int] = []
    problems: list[Problem] = []
    here = header.place(place)
    known = sorted(_names(book))
    for index, cell in enumerate(header.cells):
        if not cell.strip() or cell.strip().startswith("#"):
            unknown.append(index)
            continue
        made = _column(index, cell, book, system)
        if isinstance(made, str):
            problems.append(Problem(header.place(place, index), "bad-unit", made))
        elif made is None:
            near = did_you_mean(plain_name(_bare(cell)[0]), known)
            if near:
                text = f"the column `{cell.strip()}` is not known{near} Begin its name with # to leave it out"
                problems.append(Problem(header.place(place, index), "unknown-column", text))
            unknown.append(index)
        else:
            columns.append(made)
    problems += _missing(columns, here)
    return columns, unknown, problems


def _missing(columns: list[Column], here: str) -> list[Problem]:
    problems = []
    spots = [(each.role, each.measure, each.detail) for each in columns]
    for spot in dict.fromkeys(spots):
        if spots.count(spot) > 1:
            twice = " and ".join(
                f"`{c.header}`" for c in columns if (c.role, c.measure, c.detail) == spot
            )
            text = f"{twice} say the same thing; leave one of them"
            problems.append(Problem(here, "repeated-column", text))
    roles = {"top_set" if c.measure == "top_set" else c.role for c in columns}
    if "date" not in roles:
        text = "there is no column for the day; name one `date`"
        problems.append(Problem(here, "no-date-column", text))
    if roles <= {"date"}:
        text = "no column says what was measured; name them like weight (kg), waist (cm), sleep"
        problems.append(Problem(here, "no-measure", text))
    for text, needed, more in _TOGETHER:
        wanting = roles & (needed | more)
        # An exercise beside written sets asks for no load.
        if wanting == {"exercise"} and "sets" in roles:
            continue
        if wanting and not needed <= roles:
            problems.append(Problem(here, "missing-column", text))
    return problems


def _column(index: int, cell: str, book: CheckinBook, system: UnitSystem) -> Column | str | None:
    matched = _match(cell, book)
    if matched is None:
        return None
    role, measure, detail, unit = matched
    header = cell.strip()
    if role != "measure":
        return Column(index, header, role)
    quantity = book.words(measure).quantity
    if quantity is None:
        return Column(index, header, role, measure, detail)
    called = unit or ("kj" if plain_name(cell) == "kj" else plain_unit(quantity, system))
    converter = _UNITS[quantity].get(called)
    if converter is None:
        return (
            f"`{header}`: the unit `{called}` is not known; allowed: {', '.join(_UNITS[quantity])}"
        )
    return Column(index, header, role, measure, detail, called, converter)


def _match(cell: str, book: CheckinBook) -> tuple[str, Measure, str, str] | None:
    names = _names(book)
    for text, unit in _readings(cell):
        if text in names:
            return (*names[text], unit)
    return None


def _readings(cell: str) -> list[tuple[str, str]]:
    """Return the ways of taking a header apart into a name and a unit."""
    whole = plain_name(cell)
    ways = [(whole, "")]
    bare, unit = _bare(cell)
    if unit:
        ways.append((plain_name(bare), unit))
    head, _, tail = whole.rpartition(" ")
    if head and any(tail in known for known in _UNITS.values()):
        ways.append((head, tail))
    if head and tail == "g":
        ways.append((head, ""))
    return ways


def _bare(cell: str) -> tuple[str, str]:
    match = re.fullmatch(r"(.*?)\s*[(\[]([^)\]]*)[)\]]\s*", cell.strip())
    if match is None:
        return cell, ""
    unit = match[2].strip().lower()
    return match[1], "" if unit in {"g", "1-5", "0-10"} else unit


def _names(book: CheckinBook) -> dict[str, tuple[str, Measure, str]]:
    names: dict[str, tuple[str, Measure, str]] = {}
    for role, called in book.document.columns:
        for name in called:
            names[plain_name(name)] = (role, "weight_kg", "")
    for measure in MEASURES:
        each: Measure = measure  # type: ignore[assignment]  # MEASURES lists just these
        words = book.words(each)
        # The id of a quantity ends in its unit, which then counts whatever the units in force.
        own_name = () if words.quantity else (measure,)
        for name in (*own_name, *words.columns):
            if not words.details:
                names.setdefault(plain_name(name), ("measure", each, ""))
        for detail, site in words.details.items():
            for name in (f"{detail} {words.label}", *site.columns):
                names.setdefault(plain_name(name), ("measure", each, detail))
    names.setdefault("pain", ("pain_words", "pain", ""))
    return names
