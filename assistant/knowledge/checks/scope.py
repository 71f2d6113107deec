"""What a check of one item needs at hand: the draft, the calculators, and a place for problems."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.model.errors import Problem
from assistant.model.facts import FactDeclaration, FactType


@dataclass(frozen=True)
class Loop:
    """A rule's `for_each` variable and the ids it runs over."""

    variable: str
    ids: tuple[str, ...]


@dataclass
class Scope:
    """The item under check. `loop` is set where the item is a rule with `for_each`."""

    draft: Draft
    kind: str
    item: str
    calculators: Mapping[str, Any] | None = None
    loop: Loop | None = None
    problems: list[Problem] = field(default_factory=list)

    def problem(self, path: RawPath, code: str, text: str) -> None:
        """Note a problem at a path inside the item."""
        self.problems.append(Problem(self.draft.place(self.kind, self.item, *path), code, text))

    def fact(self, fact_id: str, path: RawPath) -> FactDeclaration | None:
        """The declaration of a fact, or None with a problem noted."""
        declaration = self.draft.facts.get(fact_id)
        if declaration is None:
            hint = did_you_mean(fact_id, self.draft.facts)
            self.problem(path, "unknown-fact", f"`{fact_id}` is not declared{hint}")
        elif declaration.personal:
            text = f"`{fact_id}` is personal: shown on the page, read by no rule"
            self.problem(path, "personal-fact", text)
        return declaration

    def index(self, declaration: FactDeclaration, of: str | None, path: RawPath) -> None:
        """Check that a fact with one value per id is read or concluded `of` one of them."""
        if declaration.index is None:
            if of is not None:
                text = f"`{declaration.id}` has a single value; remove `of`"
                self.problem(path, "bad-index", text)
            return
        ids = self.draft.book.domains.get(declaration.index, ())
        if of is None:
            text = f"`{declaration.id}` has one value per {declaration.index}; say `of` which"
            self.problem(path, "bad-index", text)
        elif self.loop is not None and of == self.loop.variable:
            strange = [each for each in self.loop.ids if each not in ids]
            if strange:
                text = f"`{of}` runs over `{strange[0]}`, which is not a {declaration.index}"
                self.problem(path, "bad-index", text)
        elif of not in ids:
            known = [*ids, *([self.loop.variable] if self.loop else [])]
            text = f"`{of}` is not a {declaration.index}{did_you_mean(of, known)}"
            self.problem(path, "bad-index", text)

    def choices(self, declaration: FactDeclaration) -> tuple[str, ...]:
        """The ids a choice fact may take."""
        return self.draft.book.choices_of(declaration)


def is_number(declaration: FactDeclaration) -> bool:
    """Whether a fact's value is a number."""
    return declaration.type in {FactType.NUMBER, FactType.INTEGER}
