"""What every document model has in common: frozen, strict about unknown fields."""

from pydantic import BaseModel, ConfigDict


class Document(BaseModel):
    """A piece of the knowledge base. Unknown fields are errors, values never change after load."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)
