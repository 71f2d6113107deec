"""Settings that each carry their grounds: how they are written, and the bare values behind them."""

from typing import Any, Generic, TypeVar

from pydantic import create_model

from assistant.model.base import Document
from assistant.model.marks import SourceName
from assistant.model.sources import Certainty

Value = TypeVar("Value")


class Noted(Document, Generic[Value]):
    """A setting of a coach with its grounds."""

    value: Value
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
        name: (Noted.__class_getitem__(field.rebuild_annotation()), ...)
        for name, field in section.model_fields.items()
        if name not in numbers_of(section)
    }
    return create_model(section.__name__, __base__=Document, __doc__=section.__doc__, **fields)
