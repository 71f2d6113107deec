"""Printed coefficients, tables and conversions that the calculators have to give back."""

import math
from collections.abc import Callable

from assistant.calculate import composition as body
from assistant.calculate import energy, nutrition, resting, strength, units

from .table import Printed, Text

TEXTS = {
    "dri-2005": Text(
        "Institute of Medicine 2002/2005, table of energy requirements at 30 years, women and men",
        "read",
    ),
    "nasem-2023": Text(
        "National Academies 2023, 10.17226/26818, equations for adults", "second_hand"
    ),
    "mifflin-1990": Text("Mifflin 1990, Am J Clin Nutr 51:241, abstract", "read"),
    "cunningham-1991": Text("Cunningham 1991, Am J Clin Nutr 54:963", "second_hand"),
    "hodgdon-beckett-1984": Text(
        "Hodgdon and Beckett 1984, NHRC 84-11 and 84-29, as a medical reference page rounds them",
        "second_hand",
    ),
    "siri-1961": Text(
        "Siri 1961, 495 / density - 450, as the UCLA statistics page prints it", "read"
    ),
    "fao-2004": Text("FAO/WHO/UNU 2004, Human energy requirements, section 5.4.1", "read"),
    "hall-2008": Text("Hall 2008, Int J Obes 32:573", "read"),
    "slater-2019": Text("Slater 2019, Front Nutr 6:131", "second_hand"),
    "brzycki-1993": Text("Brzycki 1993, J Phys Educ Recreat Dance 64:88, table", "from_memory"),
    "epley-1985": Text("Epley 1985, Poundage chart", "from_memory"),
    "load-table": Text(
        "strength and conditioning textbook, load table above ten repetitions", "from_memory"
    ),
    "yard-pound-1959": Text("International yard and pound agreement 1959", "read"),
    "gym-plates": Text(
        "plates and dumbbells marked in pounds, as makers print the kilograms", "from_memory"
    ),
    "gym-steps": Text(
        "pairs of 1.25 kg discs, dumbbells and kettlebells as makers grade them", "from_memory"
    ),
    "who-bmi": Text("WHO nutrition landscape help and BMI classification, worked examples", "read"),
    "morton-2018": Text("Morton 2018 and the usual figures by the pound", "read"),
}

SEXES = ("female", "male")


def _requirement(sex: str, level: str, years: float = 30, cm: float = 170, kg: float = 70) -> float:
    return energy.eer_2023(sex, years, cm, kg, level)


def _coefficients() -> list[Printed]:
    """Constant, year, centimetre and kilogram of each of the eight lines (National Academies 2023)."""
    lines = {
        ("female", "inactive"): (584.90, -7.01, 5.72, 11.71),
        ("female", "low_active"): (575.77, -7.01, 6.60, 12.14),
        ("female", "active"): (710.25, -7.01, 6.54, 12.34),
        ("female", "very_active"): (511.83, -7.01, 9.07, 12.56),
        ("male", "inactive"): (753.07, -10.83, 6.50, 14.10),
        ("male", "low_active"): (581.47, -10.83, 8.30, 14.94),
        ("male", "active"): (1004.82, -10.83, 6.52, 15.91),
        ("male", "very_active"): (-517.88, -10.83, 15.61, 19.11),
    }
    rows = []
    for (sex, level), printed in lines.items():
        for number, name in enumerate(("constant", "per year", "per cm", "per kg")):
            what = f"energy of a {sex} adult, {level}, {name}"
            rows.append(
                Printed("nasem-2023", what, printed[number], _part(sex, level, number), 0.005)
            )
    return rows


def _part(sex: str, level: str, number: int) -> Callable[[], float]:
    """The constant of a line, or what a year, a centimetre or a kilogram changes."""

    def change(years: float = 30, cm: float = 170, kg: float = 70) -> float:
        return _requirement(sex, level, years, cm, kg) - _requirement(sex, level)

    def got() -> float:
        slopes = (change(years=31), change(cm=171), change(kg=71))
        if number:
            return slopes[number - 1]
        return _requirement(sex, level) - (30 * slopes[0] + 170 * slopes[1] + 70 * slopes[2])

    return got


def _older_requirements() -> list[Printed]:
    """The older table by height, index, sex and level; the newer equations keep within their own error.

    That is 246 (women) and 339 kcal a day (men), from memory. The weights of the table are those at an
    index of 18.5 and 24.99. Four of its values stand in test_energy.py.
    """
    table = {
        (150, 41.6): ((1625, 1803, 2025, 2291), (1848, 2009, 2215, 2554)),
        (150, 56.2): ((1762, 1956, 2198, 2489), (2080, 2267, 2506, 2898)),
        (165, 50.4): ((), (2068, 2254, 2490, 2880)),
        (165, 68.0): ((1982, 2202, 2477, 2807), (2349, 2566, 2842, 3296)),
        (180, 59.9): ((2015, 2239, 2519, 2855), (2301, 2513, 2782, 3225)),
        (180, 81.0): ((2211, 2459, 2769, 3141), (2635, 2884, 3200, 3720)),
    }
    rows = []
    for (cm, kg), by_sex in table.items():
        index = 18.5 if kg in {41.6, 50.4, 59.9} else 24.99
        weight = f"weight of {cm} cm at an index of {index}"
        rows.append(
            Printed("dri-2005", weight, kg, lambda h=cm, i=index: body.weight_at_bmi(h, i), 0.05)
        )
        for sex, error, printed in zip(SEXES, (246, 339), by_sex, strict=True):
            for level, kcal in zip(energy.ACTIVITY_CATEGORIES, printed, strict=False):
                rows.append(
                    Printed(
                        "dri-2005",
                        f"{sex}, 30 years, {cm} cm, {kg} kg, {level}",
                        kcal,
                        lambda s=sex, c=level, h=cm, w=kg: _requirement(s, c, cm=h, kg=w),
                        error,
                    )
                )
    for metres, inches in ((1.50, 59), (1.65, 65), (1.80, 71)):
        what = f"{metres} m in inches"
        rows.append(
            Printed("dri-2005", what, inches, lambda m=metres: units.inches_from_cm(100 * m), 0.5)
        )
    for kg, pounds in ((41.6, 92), (56.2, 124), (50.4, 111), (68.0, 150), (59.9, 132)):
        what = f"{kg} kg in pounds"
        rows.append(Printed("dri-2005", what, pounds, lambda k=kg: units.lb_from_kg(k), 0.5))
    return rows


def _resting() -> list[Printed]:
    rest = resting.mifflin_st_jeor

    def row(what: str, printed: float, a: tuple[float, ...], b: tuple[float, ...]) -> Printed:
        return Printed(
            "mifflin-1990", what, printed, lambda: rest("male", *a) - rest("male", *b), 0.001
        )

    return [
        row("kcal per kg", 10, (40, 170, 71), (40, 170, 70)),
        row("kcal per cm", 6.25, (40, 171, 70), (40, 170, 70)),
        row("kcal per year", -5, (41, 170, 70), (40, 170, 70)),
        Printed("mifflin-1990", "men above women", 166,
                lambda: rest("male", 40, 170, 70) - rest("female", 40, 170, 70), 0.001),
        Printed("mifflin-1990", "constant of women", -161,
                lambda: rest("female", 40, 170, 70) - 700 - 1062.5 + 200, 0.001),
        Printed("cunningham-1991", "kcal per kg of fat-free mass", 21.6,
                lambda: resting.cunningham_1991(51) - resting.cunningham_1991(50), 0.001),
        Printed("cunningham-1991", "constant", 370,
                lambda: resting.cunningham_1991(50) - 50 * 21.6, 0.001),
    ]  # fmt: skip


def _tape() -> list[Printed]:
    """Slopes over the logarithm, from two densities each; the printed ones are rounded to 0.001."""
    text = "hodgdon-beckett-1984"
    men, women = body.density_tape_men, body.density_tape_women
    taller = math.log10(190 / 170)
    return [
        Printed(text, "men, log of navel less neck", -0.191,
                lambda: (men(90, 40, 180) - men(80, 40, 180)) / math.log10(50 / 40), 0.0005),
        Printed(text, "men, log of height", 0.155,
                lambda: (men(90, 40, 190) - men(90, 40, 170)) / taller, 0.0005),
        Printed(text, "men, constant", 1.032,
                lambda: men(90, 40, 180) + 0.19077 * math.log10(50) - 0.15456 * math.log10(180), 0.0005),
        Printed(text, "women, log of waist and hip less neck", -0.350,
                lambda: (women(80, 100, 32, 165) - women(70, 95, 32, 165)) / math.log10(148 / 133), 0.0005),
        Printed(text, "women, log of height", 0.221,
                lambda: (women(70, 95, 32, 190) - women(70, 95, 32, 170)) / taller, 0.0005),
        Printed(text, "women, constant", 1.296,
                lambda: women(70, 95, 32, 165) + 0.35004 * math.log10(133) - 0.221 * math.log10(165), 0.0005),
        Printed("siri-1961", "slope over the inverse of density", 495,
                lambda: (body.siri(1 / 0.95) - body.siri(1 / 0.94)) / 0.01, 0.01),
        Printed("siri-1961", "constant", -450, lambda: body.siri(1.0) - 495, 0.01),
    ]  # fmt: skip


def _strength() -> list[Printed]:
    brzycki = dict(
        zip(range(2, 11), (97.2, 94.4, 91.7, 88.9, 86.1, 83.3, 80.6, 77.8, 75.0), strict=True)
    )
    epley = {2: 94, 3: 91, 4: 88, 5: 86, 6: 83, 7: 81, 8: 79, 9: 77, 10: 75}
    rows = [
        Printed("brzycki-1993", f"{reps} repetitions in % of one", percent,
                lambda n=reps: 100 / strength.brzycki(n), 0.06)
        for reps, percent in brzycki.items()
    ]  # fmt: skip
    rows += [
        Printed("epley-1985", f"{reps} repetitions in % of one", percent,
                lambda n=reps: 100 / strength.epley(n), 0.51)
        for reps, percent in epley.items()
    ]  # fmt: skip
    rows += [
        Printed("load-table", f"{reps} repetitions in % of one", percent,
                lambda n=reps: strength.percent_of_1rm(n, 0), 4)
        for reps, percent in {11: 70, 12: 67, 15: 65}.items()
    ]  # fmt: skip
    return rows


def _conversions() -> list[Printed]:
    rows = [
        Printed("fao-2004", "1 302 kcal in MJ", 1302, lambda: units.kcal_from_kj(5450), 1),
        Printed("fao-2004", "183 kJ per kg in kcal", 44, lambda: units.kcal_from_kj(183), 0.5),
        Printed("hall-2008", "32.2 MJ in kcal, the rule of thumb", 7700,
                lambda: units.kcal_from_kj(32_200), 10),
        Printed("yard-pound-1959", "a foot in cm", 30.48, lambda: units.cm_from_feet_and_inches(1, 0), 1e-9),
        Printed("who-bmi", "58 kg at 1.70 m", 20.1, lambda: body.bmi(58, 170), 0.05),
        Printed("who-bmi", "70 kg at 1.75 m", 22.9, lambda: body.bmi(70, 175), 0.05),
        Printed("morton-2018", "0.73 g per pound in g per kg", 1.6,
                lambda: nutrition.g_per_kg_from_g_per_lb(0.73), 0.05),
    ]  # fmt: skip
    plates = {2.5: 1.13, 5: 2.27, 10: 4.54, 25: 11.34, 35: 15.88, 45: 20.41, 55: 24.95, 100: 45.36}
    rows += [
        Printed("gym-plates", f"{lb:g} lb in kg", kg, lambda p=lb: units.kg_from_lb(p), 0.005)
        for lb, kg in plates.items()
    ]
    return rows


ROWS = [
    *_coefficients(),
    *_older_requirements(),
    *_resting(),
    *_tape(),
    *_strength(),
    *_conversions(),
]
