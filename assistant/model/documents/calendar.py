"""calendar.yaml: what stands in a calendar file."""

from typing import Annotated, Literal

from assistant.model.base import Document, RuleFile
from assistant.model.documents.flags import Said
from assistant.model.marks import Number, Plain, Slots, Text
from assistant.model.rules import Audience

_Titled = Annotated[Text, Slots(("client",))]
_Set = Annotated[Text, Slots(("order", "name", "sets", "reps", "rir", "rest"))]


class CalendarNumbers(Document):
    """The parameters a calendar reads."""

    session_hour: Number
    session_alarm_minutes: Number
    day_alarm_hour: Number
    check_in_weeks: Number
    whole_minutes: Number
    longest_weeks: Number


class Title(Document):
    """The title of an entry in both voices."""

    coach: _Titled
    client: _Titled

    def to(self, audience: Audience) -> str:
        """Return the words for a reader."""
        return self.coach if audience == "coach" else self.client


class SessionTitle(Title):
    """The title of a session, which also says its type."""

    coach: Annotated[Text, Slots(("client", "type"))]
    client: Annotated[Text, Slots(("client", "type"))]


class Titles(Document):
    """Titles by kind of entry."""

    session: SessionTitle
    check_in: Title
    block: Title
    review: Title
    screen: Title


class EntryTexts(Document):
    """Texts of whole-day entries by kind."""

    check_in: Said
    block: Said
    review: Said
    screen: Said


class SessionLines(Document):
    """Lines of a session's text."""

    repetitions: _Set
    seconds: _Set
    load: Annotated[Text, Slots(("load",))]
    until: Annotated[Text, Slots(("until",))]
    usual: Plain
    travel: Plain
    later: Plain
    version: Annotated[Text, Slots(("number", "day"))]


class CalendarWords(RuleFile):
    """The whole file."""

    name: Title
    check_in_day: Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    parameters: CalendarNumbers
    titles: Titles
    texts: EntryTexts
    lines: SessionLines
