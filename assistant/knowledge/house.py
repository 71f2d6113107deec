"""A gym's own folder, laid over the book: what in it counts on a day, and who answers for each thing.

The folder has the shape of `rules/`. What stands in it adds to the book or takes the place of what bears the
same name there, always as a whole. Files that the book reads as one are joined entry by entry. Everything is
`signed`: at the head of its file, or in the entry itself.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.knowledge.draft import Draft, by_id
from assistant.knowledge.files import BOOK, HOUSE, SourceFile, house_files
from assistant.knowledge.parsed import Parsed, RawPath
from assistant.knowledge.shapes import shape
from assistant.knowledge.strict_yaml import parse_file
from assistant.model.errors import InputProblems, Problem
from assistant.model.house import Signed
from assistant.model.knowledge import Place

SIGNED = "signed"
# Kinds of files that are joined with the book's own, and what an entry of each is called.
JOINED = {"document": "", "language": "", "how_to": "how_to", "how_to_said": "how_to", "pose": "pose"}  # fmt: skip
# Files that are one thing: lists in them are parts of it, and nobody signs these.
_ONE_THING = {"rule", "flag"}
_NAMES = ("id", "fact", "en")
_WANTED = "write `signed: {by: …, day: …, reason: …, reviewed_by: …}` at the head of the file or in the entry"


class House:
    """What a folder lays over the book.

    signed, places: by name, as in KnowledgeBase.places. asleep: what is not in force on the day.
    """

    def __init__(self, on: dt.date | None) -> None:
        self.on = on
        self.signed: dict[str, Signed] = {}
        self.places: dict[str, Place] = {}
        self.asleep: dict[str, Signed] = {}
        self.problems: list[Problem] = []
        self.replaced: dict[tuple[str, str], Any] = {}
        # By file: who signed what of it; the empty path is all that has no name of its own.
        self._of: dict[str, dict[RawPath, Signed]] = {}

    def over(self, files: list[SourceFile], parsed: dict[str, Parsed]) -> list[SourceFile]:
        """Return the files that are taken in by themselves; of the others the entries stand in `parsed` then."""
        book = {(f.kind, f.folder, f.path.stem): f for f in files if f.layer == BOOK}
        alone: list[SourceFile] = []
        for file in files:
            if file.layer != HOUSE or file.shown not in parsed:
                alone.append(file)
                continue
            own = self.taken(file, parsed[file.shown])
            under = book.get((file.kind, file.folder, file.path.stem))
            if own is None:
                continue
            parsed[file.shown] = own
            if file.kind in JOINED and under is not None and under.shown in parsed:
                parsed[under.shown] = self.joined(file, own, parsed[under.shown])
            else:
                alone.append(file)
        return alone

    def signing(self, draft: Draft) -> Draft:
        """Return a draft with who answers for what of it."""
        signed, places = dict(self.signed), {**draft.places, **self.places}
        for (kind, name), origin in draft.origins.items():
            sign = self._of and self.of(origin.parsed.file, origin.at)
            if sign:
                signed[name if kind == "rule" else f"{kind}:{name}"] = sign
        return replace(
            draft,
            house=by_id(signed),
            places=by_id(places),
            asleep=by_id(self.asleep),
            replaced={**draft.replaced, **self.replaced},
        )

    def taken(self, file: SourceFile, parsed: Parsed) -> Parsed | None:
        """Return what counts of a file on the day, without the signatures; None where nothing does."""
        if not isinstance(parsed.data, dict):
            return parsed
        of = self._of[parsed.file] = dict(self._signatures(file, parsed))
        head = of.get(())
        data, lines = {}, dict(parsed.lines)
        for field, value in parsed.data.items():
            if field == SIGNED:
                continue
            if _is_signed_by_entry(file, value):
                kept = [n for n in range(len(value)) if self._counts(of.get((field, n), head))]
                data[field] = [_unsigned(value[n]) for n in kept]
                lines = _with_places(lines, (field,), kept)
                of |= {(field, new): of[field, n] for new, n in enumerate(kept) if (field, n) in of}
                self._sleeping(
                    value, kept, {n: of.get((field, n), head) for n in range(len(value))}
                )
            elif self._counts(head) or field == "schema_version":
                data[field] = value
        if head is not None and not self._counts(head) and file.kind in _ONE_THING:
            self.asleep[str(parsed.data.get("id", file.path.stem))] = head
        is_empty = all(value == [] for field, value in data.items() if field != "schema_version")
        return None if is_empty else Parsed(parsed.file, data, lines)

    def joined(self, file: SourceFile, own: Parsed, book: Parsed) -> Parsed:
        """Return a file of the book with the house's own entries in it."""
        join = _Join(own, book)
        join.lay(join.data, own.data, ())
        for path, from_path in join.laid.items():
            sign = self.of(own.file, from_path)
            name = _part_name(file, join.data, path)
            before = _part(book.data, path)
            if before is not None:
                self.replaced["part", name] = before
            if sign is not None:
                self.signed[name] = sign
                self.places[name] = Place(own.file, own.line(from_path))
        return join.parsed

    def of(self, file: str, path: RawPath) -> Signed | None:
        """Return who signed a part of a file of the folder; None for files of the book."""
        signatures = self._of.get(file, {})
        return signatures.get(path[:2], signatures.get(()))

    def _counts(self, sign: Signed | None) -> bool:
        return sign is None or sign.in_force(self.on)

    def _sleeping(
        self, entries: list[Any], kept: list[int], of: Mapping[int, Signed | None]
    ) -> None:
        for number, entry in enumerate(entries):
            sign = of[number]
            if number not in kept and sign is not None:
                self.asleep[_entry_name(entry) or f"entry {number + 1}"] = sign

    def _signatures(self, file: SourceFile, parsed: Parsed) -> Iterator[tuple[RawPath, Signed]]:
        head = parsed.data.get(SIGNED)
        if head is not None:
            yield from self._one(parsed, (), head)
        for field, value in parsed.data.items():
            if not _is_signed_by_entry(file, value):
                if head is None and field not in {SIGNED, "schema_version", "language"}:
                    self._unsigned(
                        parsed.place(field) if file.kind not in _ONE_THING else parsed.place()
                    )
                    if file.kind in _ONE_THING:
                        return
                continue
            for number, entry in enumerate(value):
                if SIGNED in entry:
                    yield from self._one(parsed, (field, number), entry[SIGNED])
                elif head is None:
                    self._unsigned(parsed.place(field, number))

    def _one(self, parsed: Parsed, path: RawPath, raw: Any) -> Iterator[tuple[RawPath, Signed]]:
        made = shape(Signed, raw, parsed, (*path, SIGNED))
        if isinstance(made, list):
            self.problems.extend(made)
        else:
            yield path, made

    def _unsigned(self, place: str) -> None:
        self.problems.append(Problem(place, "unsigned", f"nobody answers for this; {_WANTED}"))


def boundaries(folder: Path) -> list[dt.date]:
    """Return the days on which something of a folder begins or ceases to be in force, in order."""
    days: set[dt.date] = set()
    for file in house_files(folder)[0]:
        try:
            parsed = parse_file(file.path, file.shown)
        except InputProblems:
            continue  # it is told when the book is read
        house = House(None)
        if isinstance(parsed.data, dict):
            for _, sign in house._signatures(file, parsed):  # noqa: SLF001 - the same module
                days |= {sign.since} if sign.since else set()
                days |= {sign.until + dt.timedelta(days=1)} if sign.until else set()
    return sorted(days)


def _is_signed_by_entry(file: SourceFile, value: Any) -> bool:
    is_list = isinstance(value, list) and value and all(isinstance(each, dict) for each in value)
    return bool(is_list) and file.kind not in _ONE_THING


def _unsigned(entry: dict[str, Any]) -> dict[str, Any]:
    return {field: value for field, value in entry.items() if field != SIGNED}


def _entry_name(entry: Any) -> str:
    named = (entry.get(each) for each in _NAMES) if isinstance(entry, dict) else ()
    return next((" ".join(name.split()) for name in named if isinstance(name, str)), "")


def _part_name(file: SourceFile, data: Any, path: RawPath) -> str:
    """The name under which a part of a joined file stands among what is the house's own."""
    kind = JOINED[file.kind]
    if not kind:
        kind = "exercise" if path[0] == "exercises" and file.kind == "document" else file.path.stem
    return f"{kind}:{_entry_name(_part(data, path)) or '.'.join(map(str, path))}"


def _part(data: Any, path: RawPath) -> Any:
    """What stands at a path, or None."""
    for step in path:
        try:
            data = data[step]
        except (KeyError, IndexError):
            return None
    return data


def _with_places(lines: dict[RawPath, int], at: RawPath, kept: list[int]) -> dict[RawPath, int]:
    """The lines of a file of whose list at a path only some entries stay."""
    new, deep = {old: number for number, old in enumerate(kept)}, len(at)
    found: dict[RawPath, int] = {}
    for path, line in lines.items():
        if len(path) <= deep or path[:deep] != at:
            found[path] = line
        elif path[deep] in new:
            found[(*at, new[path[deep]], *path[deep + 1 :])] = line  # type: ignore[index]
    return found


class _Join:
    """One file laid over another, with the line of every part."""

    def __init__(self, own: Parsed, book: Parsed) -> None:
        self.own = own
        self.lines = dict(book.lines)
        self.elsewhere = dict(book.elsewhere)
        self.data: dict[str, Any] = dict(book.data)
        # Where each part of the house's stands now, and where it stood in its own file.
        self.laid: dict[RawPath, RawPath] = {}
        self.file = book.file

    @property
    def parsed(self) -> Parsed:
        """The joined file."""
        return Parsed(self.file, self.data, self.lines, self.elsewhere)

    def lay(self, into: dict[str, Any], own: dict[str, Any], at: RawPath) -> None:
        """Lay a mapping over another, which is changed."""
        for field, value in own.items():
            path, before = (*at, field), into.get(field)
            if isinstance(value, dict) and isinstance(before, dict):
                into[field] = inner = dict(before)
                self.lay(inner, value, path)
            elif (
                isinstance(before, list)
                and isinstance(value, list)
                and _entry_name(value[:1] and value[0])
            ):
                into[field] = self._entries(list(before), value, path)
            elif value != before:
                into[field] = value
                self._put(path, path)

    def _entries(self, before: list[Any], own: list[Any], at: RawPath) -> list[Any]:
        numbers = {_entry_name(entry): number for number, entry in enumerate(before)}
        seen: set[str] = set()
        for number, entry in enumerate(own):
            name = _entry_name(entry)
            new = len(before) if name in seen else numbers.get(name, len(before))
            before[new : new + 1] = [entry]
            seen.add(name)
            self._put((*at, new), (*at, number))
        return before

    def _put(self, at: RawPath, from_path: RawPath) -> None:
        deep, length = len(at), len(from_path)
        if at in self.lines:
            self.lines = {p: line for p, line in self.lines.items() if p[:deep] != at}
        self.lines |= {
            (*at, *path[length:]): line
            for path, line in self.own.lines.items()
            if path[:length] == from_path
        }
        self.elsewhere[at] = self.own.file
        self.laid[at] = from_path
