"""The numbers a rule used, and what is said of those that this house set in the place of the book's."""

from collections.abc import Iterable
from dataclasses import dataclass

from assistant.model.derivation import Derivation
from assistant.model.marks import placeholders
from assistant.plan.sentences import Narrator


@dataclass(frozen=True)
class ParameterUse:
    """A number a rule used: value in force, its unit, the day it is from, and its sources.

    house: what is said of a number that this house set; no source of the book stands behind that.
    """

    id: str
    value: str
    unit: str
    since: str
    sources: tuple[str, ...]
    house: str = ""

    @property
    def said(self) -> str:
        """The number by name, e.g. `block.shortest = 3 weeks`."""
        return f"{self.id} = {self.value} {self.unit}".rstrip()

    @property
    def origin(self) -> str:
        """Where the value comes from, in words."""
        return self.house or f"since {self.since}"


def numbers_of(narrator: Narrator, record: Derivation) -> tuple[str, ...]:
    """Return the parameters a derivation used, and those its sentence names."""
    rule = narrator.kb.rules[record.rule_id]
    named = [
        name.removeprefix("param:")
        for name in placeholders(f"{rule.because} {rule.client_because or ''}")
        if name.startswith("param:")
    ]
    used = {name.partition("@")[0] for name in record.parameters}
    dated = [
        f"{name}@{narrator.kb.parameter_value(name, narrator.on).since.isoformat()}"
        for name in dict.fromkeys(named)
        if name not in used
    ]
    return (*record.parameters, *dated)


def parameter_use(narrator: Narrator, used: str) -> ParameterUse:
    """Return a parameter as a rule used it, from its `name@date`."""
    parameter_id, _, since = used.partition("@")
    parameter = narrator.kb.parameters[parameter_id]
    value = narrator.kb.parameter_value(parameter_id, narrator.on).value
    house = house_words(narrator, parameter_id)
    return ParameterUse(
        parameter_id,
        f"{value:g}",
        narrator.phrases.unit_words(parameter.unit, value),
        since,
        () if house else tuple(use.ref for use in parameter.source),
        house,
    )


def own_numbers(narrator: Narrator, used: Iterable[str]) -> list[str]:
    """Return what is said of those numbers (`name@date`) that this house set, each once, by name."""
    uses = [parameter_use(narrator, each) for each in sorted(set(used))]
    return [f"{use.said}: {use.house}" for use in uses if use.house]


def house_words(narrator: Narrator, parameter_id: str) -> str:
    """Return what is said of a number that this house set, for a coach with who, when and why; else nothing."""
    said = narrator.kb.book_says(parameter_id, narrator.on)
    if said is None:
        return ""
    change = narrator.kb.signed.get(parameter_id)
    if narrator.audience != "coach":
        return "set by this house"
    who = "nobody wrote who set it, or why"
    if change is not None:
        who = f"{change.by}, {change.day}: {change.reason}"
    return f"set by this house, the book says {said:g}; {who}"
