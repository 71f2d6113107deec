"""Every marked text of a document with its path, and whether what it names is there."""

import types
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.knowledge.parsed import RawPath
from assistant.knowledge.units import is_known
from assistant.knowledge.walk import WITHHELD
from assistant.model.base import Document, Fault, RuleFile
from assistant.model.marks import FACT_BEGINNING, Names, Slots, placeholder_fact, placeholders
from assistant.model.values import Status, split_key

_MOST_LISTED = 16
_LABEL_FAMILIES = {"site": "girth", "short": "muscle"}


@dataclass(frozen=True)
class Marked:
    """A text of a document, where it stands, and what it is."""

    path: RawPath
    text: str
    mark: Names | Slots


def marked(document: Document, path: RawPath = ()) -> Iterator[Marked]:
    """Yield every marked text of a document, in the order of its fields."""
    for name, field in type(document).model_fields.items():
        value = getattr(document, name)
        if value is not None:
            annotation, marks = field.annotation, tuple(field.metadata)
            yield from _inside(value, annotation, marks, (*path, field.alias or name))


def _inside(value: Any, annotation: Any, marks: tuple[Any, ...], path: RawPath) -> Iterator[Marked]:
    if isinstance(value, BaseModel):
        yield from marked(value, path)  # type: ignore[arg-type]  # every model here is a Document
        return
    annotation, more = _branch(value, annotation)
    if annotation is Any:  # what the models leave to others, such as the examples of a rule
        return
    if isinstance(value, str):
        for mark in (*marks, *more):
            if isinstance(mark, Names | Slots):
                yield Marked(path, value, mark)
    elif isinstance(value, tuple):
        inner = get_args(annotation)
        for number, item in enumerate(value):
            kind = inner[0] if inner[-1] is Ellipsis else inner[number]
            yield from _inside(item, kind, (), (*path, number))
    elif isinstance(value, Mapping):
        of_key, of_value = get_args(annotation)
        for key, item in value.items():
            yield from _inside(key, of_key, (), (*path, key))
            yield from _inside(item, of_value, (), (*path, key))


def _branch(value: Any, annotation: Any) -> tuple[Any, tuple[Any, ...]]:
    """Return the branch of a union that a value belongs to, without its marks, and the marks."""
    if get_origin(annotation) is Annotated:
        inner, *here = get_args(annotation)
        found, more = _branch(value, inner)
        return found, (*here, *more)
    if get_origin(annotation) in {Union, types.UnionType}:
        for each in get_args(annotation):
            found, more = _branch(value, each)
            kind = get_origin(found) or found
            if isinstance(kind, type) and isinstance(value, kind):
                return found, more
    return annotation, ()


def names_in(files: Iterable[RuleFile], kind: str) -> set[str]:
    """Return the names of a kind that documents use; facts without their index, also in sentences."""
    found: set[str] = set()
    for each in (each for file in files for each in marked(file)):
        if isinstance(each.mark, Names):
            if each.mark.kind == kind:
                found.add(split_key(each.text)[0])
        elif kind == "fact":
            found.update(filter(None, map(placeholder_fact, placeholders(each.text))))
    return found


class Vocabulary:
    """All names of a draft, by kind; None where the book does not hold what would declare them."""

    def __init__(self, draft: Draft) -> None:
        self._draft = draft
        self._known: dict[str, Collection[str]] = {
            **draft.book.domains,
            "fact": draft.facts,
            "parameter": draft.parameters,
            "source": draft.sources,
            "domain": draft.book.domains,
            "question": [question.fact for question in draft.questions],
        }
        groups = draft.facts[WITHHELD].groups if WITHHELD in draft.facts else {}
        self._known["output or group"] = [*draft.book.domains.get("output", ()), *groups]
        for fact in draft.facts.values():
            self._known[f"choice of {fact.id}"] = draft.book.choices_of(fact)
        for document in draft.files.values():
            self._known |= {kind: list(names) for kind, names in document.declares().items()}

    def known(self, kind: str) -> Collection[str] | None:
        """Return the names of a kind."""
        return self._known.get(kind)

    def faults(self, document: RuleFile) -> Iterator[Fault]:
        """Yield every name of a document that nobody declares."""
        for field, kind, there in document.completes():
            for name in sorted({*(self.known(kind) or ())} - {*there}):
                text = f"the {kind} `{name}` is not here; add it under `{field}`"
                yield Fault((field,), "missing-entry", text)
        for each in marked(document):
            if isinstance(each.mark, Slots):
                yield from self._template(each, each.mark)
            elif each.mark.kind in _SPECIAL:
                yield from _SPECIAL[each.mark.kind](self, each)
            else:
                known = self.known(each.mark.kind)
                if known is not None and each.text not in known:
                    yield _unknown(each, each.mark.kind, each.text, known)

    def _fact(self, each: Marked) -> Iterator[Fault]:
        name, index = split_key(each.text)
        yield from self._fact_named(each, name, index, must_index=False)

    def _fact_named(
        self, each: Marked, name: str, index: str | None, *, must_index: bool
    ) -> Iterator[Fault]:
        declared = self._draft.facts.get(name)
        if declared is None:
            yield _unknown(each, "fact", name, self._draft.facts)
        elif index is not None and declared.index is None:
            text = f"`{name}` has a single value; remove `[{index}]`"
            yield Fault(each.path, "bad-index", text)
        elif index is not None and index not in ("element", *self._ids(declared.index)):
            yield _unknown(each, declared.index or "", index, self._ids(declared.index))
        elif must_index and index is None and declared.index is not None:
            text = f"`{name}` has one value per {declared.index}; write {{{name}[element]}}"
            yield Fault(each.path, "bad-index", text)

    def _ids(self, domain: str | None) -> tuple[str, ...]:
        return self._draft.book.domains.get(domain or "", ())

    def _fact_beginning(self, each: Marked) -> Iterator[Fault]:
        if not any(fact.startswith(each.text) for fact in self._draft.facts):
            yield _unknown(each, FACT_BEGINNING, each.text, self._draft.facts)

    def _unit(self, each: Marked) -> Iterator[Fault]:
        # Weights and girths are also shown in units of other countries.
        if not is_known(each.text) and each.text != "lb/wk":
            text = f"`{each.text}` is not a unit used here; e.g. kg, kcal/d, {{sets}}/wk"
            yield Fault(each.path, "unknown-unit", text)

    def _label(self, each: Marked) -> Iterator[Fault]:
        head, _, word = each.text.rpartition(".")
        if not head:
            if word not in self._labelled:
                yield _unknown(
                    each, "choice, id or word that the page labels", word, self._labelled
                )
        elif head in _LABEL_FAMILIES:
            ids = self._ids(_LABEL_FAMILIES[head])
            if word not in ids:
                yield _unknown(each, _LABEL_FAMILIES[head], word, ids)
        elif head not in self._draft.facts:
            yield _unknown(each, "fact", head, [*self._draft.facts, *_LABEL_FAMILIES])
        else:
            choices = self._known[f"choice of {head}"]
            if word not in choices:
                yield _unknown(each, f"choice of {head}", word, choices)

    @cached_property
    def _labelled(self) -> set[str]:
        """Everything that is said by a label: choices, ids of domains, statuses, day types."""
        ids = {each for domain in self._draft.book.domains.values() for each in domain}
        for fact in self._draft.facts.values():
            ids |= {*fact.choices, *fact.groups}
        return ids | {*Status} | {*(self.known("day type") or ())}

    def _template(self, each: Marked, slots: Slots) -> Iterator[Fault]:
        names = placeholders(each.text)
        for name in names:
            if name in slots.names:
                continue
            fact = placeholder_fact(name) if slots.facts else None
            if fact is not None:
                _, index = split_key(name.removesuffix(":range").removesuffix(":unit"))
                yield from self._fact_named(
                    each, fact, index, must_index=not name.endswith(":unit")
                )
                continue
            known = [*slots.names, *(self._draft.facts if slots.facts else ())]
            hint = did_you_mean(name, known, _listed(slots.names))
            yield Fault(each.path, "bad-placeholder", f"`{{{name}}}` is not known here{hint}")
        if each.text.count("{") != len(names) or each.text.count("}") != len(names):
            yield Fault(each.path, "bad-placeholder", "a brace without its partner")


_SPECIAL = {
    "fact": Vocabulary._fact,  # noqa: SLF001
    FACT_BEGINNING: Vocabulary._fact_beginning,  # noqa: SLF001
    "unit": Vocabulary._unit,  # noqa: SLF001
    "label": Vocabulary._label,  # noqa: SLF001
}


def _unknown(each: Marked, kind: str, name: str, known: Collection[str]) -> Fault:
    hint = did_you_mean(name, known, _listed(known))
    code = f"unknown-{kind}" if kind.isalpha() else "unknown-name"
    article = "an" if kind[:1] in "aeio" else "a"
    return Fault(each.path, code, f"`{name}` is not {article} {kind}{hint}")


def _listed(known: Collection[str]) -> str:
    if len(known) > _MOST_LISTED:
        return ""
    return f"; allowed: {', '.join(sorted(known)) or 'nothing'}"
