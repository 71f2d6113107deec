"""figures.yaml: the body that pictures of exercises are drawn on, how far its joints go, and the words."""

from collections.abc import Iterator
from typing import Annotated, Literal, get_args

from pydantic import Field

from assistant.model.base import Document, Fault, Graded, RuleFile
from assistant.model.marks import Plain, Slots, SourceName, Text
from assistant.model.sources import Certainty

Share = Annotated[float, Field(gt=0, lt=1)]
Degrees = Annotated[float, Field(ge=-180, le=180)]
# Joints of the drawn body, from the floor up; each is explained at the head of figures.yaml.
JointName = Literal[
    "hip", "hip_out", "hip_turn", "knee", "ankle", "spine", "spine_side", "neck",
    "shoulder", "shoulder_out", "shoulder_turn", "elbow", "wrist",
]  # fmt: skip
JOINTS: tuple[str, ...] = get_args(JointName)
View = Literal["side", "front", "back", "angle", "angle_back"]


class Measures(Document):
    """Lengths and widths as shares of stature, and whose table they are."""

    source: SourceName
    grade: Certainty
    foot_height: Share
    foot_length: Share
    shank: Share
    thigh: Share
    trunk: Share
    head_centre: Share
    head: Share
    upper_arm: Share
    forearm: Share
    hand: Share
    shoulder_width: Share
    hip_width: Share


class Thickness(Document):
    """Radii in cm that limbs are drawn with; where a part lies on something, its skin is this far off."""

    hip: float
    waist: float
    chest: float
    thigh: float
    knee: float
    ankle: float
    foot: float
    shoulder: float
    elbow: float
    wrist: float
    hand: float


class JointRange(Document):
    """How far a joint goes, in degrees, with the sources of both ends."""

    low: Degrees
    high: Degrees
    source: Annotated[tuple[SourceName, ...], Field(min_length=1)]
    grade: Certainty


class FigureWords(Document):
    """What is written under and behind a picture."""

    start: Plain
    end: Plain
    hold: Plain
    title: Annotated[Text, Slots(("exercise",))]
    title_hold: Annotated[Text, Slots(("exercise",))]
    seen: dict[View, Plain]
    bends: Annotated[Text, Slots(("joint", "first", "last"))]
    held: Annotated[Text, Slots(("joint", "first"))]
    joints: dict[JointName, Plain]

    def templates(self) -> tuple[str, ...]:
        """Return everything a reader may meet, to be said in other languages."""
        own = (self.start, self.end, self.hold, self.title, self.title_hold, self.bends, self.held)
        return (*own, *self.seen.values(), *self.joints.values())


class Figures(RuleFile):
    """The whole file. stature_cm: the height of the drawn body, in which poses give their places."""

    schema_version: Literal[1]
    stature_cm: Annotated[float, Field(gt=0)]
    measures: Measures
    thickness: Thickness
    joints: dict[JointName, JointRange]
    words: FigureWords

    def graded(self) -> Iterator[Graded]:
        """Yield the table of lengths and each joint's range."""
        yield Graded(("measures", "grade"), self.measures.grade, (self.measures.source,))
        for name, joint in self.joints.items():
            yield Graded(("joints", name, "grade"), joint.grade, joint.source)

    def faults(self) -> Iterator[Fault]:
        """Yield joints without a range or a name, and ranges that are none."""
        for name in JOINTS:
            for field, shelf in (("joints", self.joints), ("words", self.words.joints)):
                if name not in shelf:
                    path = (field,) if field == "joints" else ("words", "joints")
                    yield Fault(path, "missing-field", f"the joint `{name}` is needed here")
        for name, joint in self.joints.items():
            if joint.low >= joint.high:
                text = f"`{name}` goes from {joint.low:g} to {joint.high:g}; the lower end first"
                yield Fault(("joints", name, "low"), "bad-value", text)
