"""reviews.yaml: which claims of the book a professional went through, and what they said to each."""

import datetime as dt
from typing import Annotated

from pydantic import Field

from assistant.model.base import Document, RuleFile
from assistant.model.marks import Text


class Review(Document):
    """What one professional said to one rule. statement: fingerprint of what the rule said then, with its numbers."""

    rule: Text
    statement: Annotated[str, Field(pattern=r"^[0-9a-f]{12}$")]
    agrees: bool
    by: Text
    profession: Text
    day: dt.date
    note: str = ""

    def __str__(self) -> str:
        """Who signed what, in words."""
        said = "signed by" if self.agrees else "not agreed to by"
        note = f": {self.note}" if self.note else ""
        return f"{said} {self.by}, {self.profession}, {self.day.isoformat()}{note}"


class Reviews(RuleFile):
    """The whole file; without it nothing has been gone through."""

    reviews: tuple[Review, ...] = ()
