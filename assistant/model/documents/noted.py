"""Settings that each carry their grounds: how they are written, and the bare values behind them."""

from typing import Any

from pydantic import create_model

from assistant.model.base import Document
from assistant.model.marks import SourceName
from assistant.model.sources import Certainty


class Noted(Document):
    """A setting of a coach with its grounds; `value` is of the setting's own kind."""

    unit: str = "1"
    source: SourceName
    grade: Certainty
    why: str | None = None


def numbers_of(section: type[Document]) -> tuple[str, ...]:
    """Return the fields that are single numbers: they are parameters and not in the file."""
    return tuple(
        name for name, field in section.model_fields.items() if field.annotation in {int, float}
    )


def noted(section: type[Document]) -> type[Document]:
    """Return the model of a section as it is written: every other field with its grounds."""
    fields: dict[str, Any] = {
        name: (_named(name, Noted, section, value=(field.rebuild_annotation(), ...)), ...)
        for name, field in section.model_fields.items()
        if name not in numbers_of(section)
    }
    return _named("", Document, section, **fields)


def _named(
    name: str, base: type[Document], section: type[Document], **fields: Any
) -> type[Document]:
    """Return a model that can be found by name in this module, as those that are written out can."""
    made = create_model(
        section.__name__ + name.title().replace("_", ""),
        __base__=base,
        __module__=__name__,
        __doc__=base.__doc__ if name else section.__doc__,
        **fields,
    )
    globals()[made.__name__] = made
    return made
