"""programme.yaml as it is written, and the settings of a week made of it and of its parameters."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Literal

from pydantic import create_model

from assistant.model.base import Document, Fault, Graded, RuleFile
from assistant.model.documents.noted import noted, numbers_of
from assistant.model.documents.week_settings import PhaseSettings, Settings

# The parameters of the planner's single numbers, by the names of the fields of its settings.
FAMILY = "programme."
# What each phase of the search weighs.
_WEIGHTS: Mapping[str, frozenset[str]] = {
    "whole_body": frozenset(
        {"missing_family", "floor_quarter_set", "empty_day", "thin_day", "day_part"}
    ),
    "priorities": frozenset({"low_quarter_set", "half_low_quarter_set", "session", "angle"}),
    "targets": frozenset(
        {"day_wish", "public_day", "line_moved_in_block", "priority_short_quarter_set"}
        | {
            "other_short_quarter_set",
            "other_low_quarter_set",
            "excess_quarter_set",
            "over_soft_cap_quarter_set",
            "same_lift_next_day",
        }
        | {"pull_behind_push_set", "other_session", "lead_quarter_set"}
    ),
    "quality": frozenset(
        {"score_ceiling", "placed_exercise", "two_set_fragment", "new_exercise"}
        | {"dropped_exercise", "moved_line", "over_comfortable_exercises", "distinct_exercise"}
    ),
}


class ProgrammeBook(RuleFile):
    """The whole file; each section of Settings, with grounds for all that is not a parameter."""

    schema_version: Literal[1]

    def settings(self, number: Callable[[str], float]) -> Settings:
        """Return what is set, without the grounds. number: gives a parameter by its id."""
        sections: dict[str, Any] = {
            section: kind.model_construct(**self._values(section, kind, number))
            for section, kind in SECTIONS.items()
        }
        return Settings.model_construct(**sections)

    def _values(
        self, section: str, kind: type[Document], number: Callable[[str], float]
    ) -> dict[str, Any]:
        written = getattr(self, section, None)
        values: dict[str, Any] = {
            name: field.annotation(number(FAMILY + name))
            for name, field in kind.model_fields.items()
            if field.annotation in {int, float}
        }
        names = [] if written is None else type(written).model_fields
        return values | {name: getattr(written, name).value for name in names}

    def needs(self) -> Iterator[str]:
        """Yield the parameters that the week's planner reads."""
        for kind in SECTIONS.values():
            yield from (FAMILY + name for name in numbers_of(kind))

    def graded(self) -> Iterator[Graded]:
        """Yield every setting with its source."""
        for section in SECTIONS.keys() & type(self).model_fields.keys():
            written = getattr(self, section)
            for name in type(written).model_fields:
                entry = getattr(written, name)
                yield Graded((section, name, "grade"), entry.grade, (entry.source,))

    def whole_numbers(self) -> Iterator[str]:
        """Yield those of the parameters that are counts."""
        for kind in SECTIONS.values():
            for name in numbers_of(kind):
                if kind.model_fields[name].annotation is int:
                    yield FAMILY + name

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return the repetition zones and the types of a day."""
        return {
            "zone": self._value("zones", "repetitions"),
            "day type": self._value("week", "day_regions"),
        }

    def _value(self, section: str, name: str) -> Any:
        return getattr(getattr(self, section), name).value

    def faults(self) -> Iterator[Fault]:
        """Yield ranges that are none, and weights that no phase reads."""
        zones = self._value("zones", "repetitions")
        for place, (low, high) in [
            (("hold_s", "value"), self._value("zones", "hold_s")),
            *((("repetitions", "value", zone), ends) for zone, ends in zones.items()),
        ]:
            if not 0 < low <= high:
                yield Fault(("zones", *place), "bad-range", f"{low} to {high} is not a range")
        phases: tuple[PhaseSettings, ...] = self._value("week", "phases")
        for number, phase in enumerate(phases):
            wanted = _WEIGHTS[phase.id]
            for name in sorted(phase.weights.keys() ^ wanted):
                word = "is not weighed in" if name in phase.weights else "is missing in"
                text = (
                    f"`{name}` {word} the phase `{phase.id}`; allowed: {', '.join(sorted(wanted))}"
                )
                path = ("week", "phases", "value", number, "weights", name)
                yield Fault(path, "unknown-weight", text)
        if [phase.id for phase in phases] != list(_WEIGHTS):
            text = f"the phases are {', '.join(_WEIGHTS)}, each once, in this order"
            yield Fault(("week", "phases", "value"), "bad-value", text)


SECTIONS: Mapping[str, type[Document]] = {
    name: field.annotation  # type: ignore[misc]  # every section is a Document
    for name, field in Settings.model_fields.items()
}
_sections: dict[str, Any] = {
    name: (noted(kind), ...)
    for name, kind in SECTIONS.items()
    if len(numbers_of(kind)) < len(kind.model_fields)
}
# The file as it is written.
WRITTEN: type[ProgrammeBook] = create_model(
    "WRITTEN",
    __base__=ProgrammeBook,
    __module__=__name__,
    __doc__=ProgrammeBook.__doc__,
    **_sections,
)
