"""What plan.yaml says of what was found, agreed or changed by hand: sentences with places to fill."""

from typing import Annotated

from assistant.model.base import Document
from assistant.model.documents.flags import Said
from assistant.model.marks import Plain, Slots, Text

_WHO_AND_WHEN = Slots(("by", "until", "area", "reason"))
_REFERRAL = Slots(("who", "urgency"))
_STEP = Slots(("change", "most"))


class Phrases(Document):
    """Sentences that are filled from what the screen found; see special.py in the plan's room."""

    gap: Annotated[Text, Slots(("what", "needs"))]
    left_out: Annotated[Text, Slots(("outputs",))]
    left_out_client: Plain
    unanswered: Annotated[Text, Slots(("answers",))]
    unanswered_client: Annotated[Text, Slots(("count",))]
    assumed: Annotated[Text, Slots(("what", "value", "because"))]
    referral: Annotated[Text, _REFERRAL]
    referral_client: Annotated[Text, _REFERRAL]
    flag: Annotated[Text, Slots(("sentence", "severity"))]
    flag_client: Annotated[Text, Slots(("sentence",))]
    all_clear: Plain
    all_clear_client: Plain
    stopped: Plain
    meanwhile: Annotated[Text, Slots(("training",))]
    reask: Annotated[Text, Slots(("date",))]
    set_aside: Annotated[Text, _WHO_AND_WHEN]
    cleared: Annotated[Text, _WHO_AND_WHEN]
    cleared_void: Annotated[Text, Slots(("by", "area", "new"))]
    cleared_void_client: Annotated[Text, Slots(("area",))]
    # Without words of their own a coach's void decision is told like a professional's.
    set_aside_void: Annotated[Text, Slots(("by", "area", "new"))] | None = None
    set_aside_void_client: Annotated[Text, Slots(("area",))] | None = None
    flag_cleared: Annotated[Text, Slots(("area", "severity"))]
    flag_cleared_client: Annotated[Text, Slots(("area",))]
    flag_set_aside: Annotated[Text, Slots(("area", "severity"))]
    flag_set_aside_client: Annotated[Text, Slots(("area",))]

    def __getitem__(self, name: str) -> str:
        """Return a phrase by its name, or what stands in for one that a book does without."""
        return str(
            getattr(self, name) or getattr(self, name.replace("set_aside_void", "cleared_void"))
        )


class StepSaid(Said):
    """What is said of a change of food, in both voices; both may name the change and the usual step."""

    coach: Annotated[Text, _STEP]
    client: Annotated[Text, _STEP]


class AcceptingWords(Document):
    """What accepting a review changes (`assistant/report/accepting_text.py`).

    nothing: no figure moves. step: food moves by no more than one step; by_screen, by_phase, otherwise:
    why it moves by more.
    """

    title: Said
    nothing: Said
    block: Said
    lighter: Said
    step: StepSaid
    by_screen: StepSaid
    by_phase: StepSaid
    otherwise: StepSaid

    def __getitem__(self, name: str) -> Said:
        """Return a text by its name."""
        said: Said = getattr(self, name)
        return said


class ByHandSaid(Said):
    """What is said of a figure that was set by hand; the client hears no name and no reason."""

    coach: Annotated[Text, Slots(("to", "by", "since", "reason", "ruled"))]
    client: Annotated[Text, Slots(("to", "ruled"))]


class ByHandWords(Document):
    """What is said of changes by hand (`assistant/plan/by_hand.py`).

    set: beside a line that was changed. set_aside: of a change that does not hold today, for the coach;
    it names no figure.
    """

    set: ByHandSaid
    set_aside: Annotated[Text, Slots(("what", "by", "since", "why"))]


class HouseSaid(Said):
    """What is said of a rule of the house's own; the client hears no names."""

    coach: Annotated[Text, Slots(("sentence", "told"))]
    client: Annotated[Text, Slots(("sentence",))]


class HouseWords(Document):
    """What is said of what a gym's own folder lays over the book (`assistant/plan/house.py`).

    rule: around the sentence of a rule. acts, asleep: for the coach, of what has a say in a plan and of what is
    not in force on its day.
    """

    title: Said
    rule: HouseSaid
    acts: Annotated[Text, Slots(("what", "told"))]
    asleep: Annotated[Text, Slots(("what", "dates", "told"))]


class WarningWords(Document):
    """What is said of a warning that is open, to the coach (`assistant/plan/warnings.py`).

    since, now: the line with and without a day. by_record, by_answers, by_decision: what closes it.
    """

    title: Plain
    since: Annotated[Text, Slots(("area", "since", "ways"))]
    now: Annotated[Text, Slots(("area", "ways"))]
    by_record: Annotated[Text, Slots(("closes",))]
    by_answers: Annotated[Text, Slots(("answers",))]
    by_decision: Annotated[Text, Slots(("roles",))]
    otherwise: Plain
    joined: Plain
