"""muscles.yaml: muscles as coaches group them."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from assistant.model.base import Document, Fault, RuleFile, repeated
from assistant.model.facts import Identifier
from assistant.model.marks import Plain

Region = Literal["lower", "upper", "trunk"]


class Muscle(Document):
    """A muscle group that is counted. `volume_target` false: logged, never given sets of its own."""

    id: Identifier
    name: Plain
    plain_name: Plain
    region: Region
    volume_target: bool
    action: Plain
    anatomy: Annotated[tuple[Plain, ...], Field(min_length=1)]


class MuscleBook(RuleFile):
    """The whole file."""

    schema_version: Literal[1]
    muscles: tuple[Muscle, ...]

    def declares(self) -> Mapping[str, Iterable[str]]:
        """Return the muscles an exercise may train."""
        return {"counted muscle": [muscle.id for muscle in self.muscles]}

    def completes(self) -> Iterable[tuple[str, str, Iterable[str]]]:
        """Return the muscles that have weekly sets of their own."""
        return [("muscles", "muscle", [m.id for m in self.muscles if m.volume_target])]

    def faults(self) -> Iterator[Fault]:
        """Yield ids that stand twice."""
        return repeated((("muscles", n, "id"), muscle.id) for n, muscle in enumerate(self.muscles))
