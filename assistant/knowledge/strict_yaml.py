"""YAML without surprises: JSON's values, one meaning for each text, a line number for every part.

YAML guesses (`no` is false, `1:30` is 90, a date becomes an object) and can expand a small file to
gigabytes. Here every guess is an error that says what to write instead. Parsing works on the
event stream with a stack of its own, so no nesting can exhaust Python's or C's stack.
"""

import re
from pathlib import Path
from typing import Any

import yaml

from assistant.knowledge.files import MAX_BYTES
from assistant.knowledge.parsed import Parsed, RawPath
from assistant.knowledge.plain_scalars import plain_value
from assistant.model.errors import InputProblems, Problem, Refused

MAX_DEPTH = 40

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
# Controls, halves of pairs, line breaks that editors ignore, and marks that turn text round, so
# that a reviewer reads something else than the program does.
_INVISIBLE_SET = (
    r"\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069"
    r"\ud800-\udfff\ufeff\ufffe\uffff"
)
_INVISIBLE = re.compile(f"[{_INVISIBLE_SET}]")
_INVISIBLE_OR_TAB = re.compile(f"[\t{_INVISIBLE_SET}]")


def parse_file(path: Path, shown_as: str, *, plain_dates: bool = False) -> Parsed:
    """Read one file.

    shown_as: the name used in messages. plain_dates: an unquoted ISO date is its own text (for
    case files that people type). Raises InputProblems.
    """
    if not path.exists():
        raise InputProblems([Problem(shown_as, "missing-file", "there is no such file")])
    if not path.is_file():
        raise InputProblems([Problem(shown_as, "not-a-file", "expected a file, not a folder")])
    try:
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except OSError as error:
        text = f"the file cannot be read ({error.strerror})"
        raise InputProblems([Problem(shown_as, "unreadable-file", text)]) from None
    return parse_bytes(raw, shown_as, plain_dates=plain_dates)


def parse_bytes(raw: bytes, shown_as: str, *, plain_dates: bool = False) -> Parsed:
    """Parse the bytes of a file; see parse_file."""
    if len(raw) > MAX_BYTES:
        text = f"the file is larger than {MAX_BYTES} bytes; split it"
        raise InputProblems([Problem(shown_as, "too-big", text)])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        problem = Problem(f"{shown_as}:{line}", "bad-encoding", "save the file as UTF-8 text")
        raise InputProblems([problem]) from None
    return parse_text(text, shown_as, plain_dates=plain_dates)


def parse_text(text: str, shown_as: str, *, plain_dates: bool = False) -> Parsed:
    """Parse text; see parse_file."""
    _refuse_invisible_characters(text, shown_as)
    builder = _Builder(shown_as, plain_dates)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            builder.take(event)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        last = text.rstrip().count("\n") + 1
        line = min(mark.line + 1, last) if mark is not None else 1
        wrong = " ".join(str(error.problem or error.context or "not YAML").split())
        message = f"the file is not well-formed: {wrong}; check indentation, quotes and brackets"
        raise InputProblems([Problem(f"{shown_as}:{line}", "bad-yaml", message)]) from None
    except (yaml.YAMLError, ValueError) as error:
        wrong = " ".join(str(error).split())
        message = f"the file is not well-formed: {wrong}"
        raise InputProblems([Problem(f"{shown_as}:1", "bad-yaml", message)]) from None
    if builder.problems:
        raise InputProblems(builder.problems)
    if not builder.has_document:
        raise InputProblems([Problem(f"{shown_as}:1", "empty-file", "the file says nothing")])
    return Parsed(shown_as, builder.root, builder.lines)


def _refuse_invisible_characters(text: str, shown_as: str) -> None:
    """Refuse what an editor would not show, and tabs, which YAML and people count differently."""
    text = text.replace("\r\n", "\n")
    found = _INVISIBLE_OR_TAB.search(text)
    if found is None:
        return
    place = f"{shown_as}:{text.count(chr(10), 0, found.start()) + 1}"
    if found[0] == "\t":
        raise InputProblems([Problem(place, "tab", "a tab; indent and separate with spaces")])
    problem = f"the invisible character U+{ord(found[0]):04X}; delete it"
    raise InputProblems([Problem(place, "bad-character", problem)])


def invisible_character(text: str) -> str | None:
    """Return the first character of a text that an editor would not show, as `U+202E`, or None."""
    found = _INVISIBLE.search(text)
    return None if found is None else f"U+{ord(found[0]):04X}"


class _Open:
    """A mapping or list that is still being read."""

    __slots__ = ("container", "key", "path")

    def __init__(self, container: dict[str, Any] | list[Any], path: RawPath) -> None:
        self.container = container
        self.path = path
        self.key: str | None = None


class _Builder:
    """Turns the event stream into plain data; collects problems and goes on where it can."""

    def __init__(self, shown_as: str, plain_dates: bool) -> None:
        self.shown_as = shown_as
        self.plain_dates = plain_dates
        self.problems: list[Problem] = []
        self.lines: dict[RawPath, int] = {}
        self.root: Any = None
        self.documents = 0
        self._stack: list[_Open] = []
        self._skipped_key_number = 0

    @property
    def has_document(self) -> bool:
        return self.documents > 0

    def take(self, event: Any) -> None:
        line = event.start_mark.line + 1
        if isinstance(event, yaml.ScalarEvent):
            self._scalar(event, line)
        elif isinstance(event, yaml.MappingStartEvent):
            self._open({}, event, line)
        elif isinstance(event, yaml.SequenceStartEvent):
            self._open([], event, line)
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            self._stack.pop()
        elif isinstance(event, yaml.AliasEvent):
            self._problem(line, "alias", f"`*{event.anchor}` repeats another part; write it out")
            if self._expects_key():
                self._take_key(self._spare_key(), line)
            else:
                self._place("", line)
        elif isinstance(event, yaml.DocumentStartEvent):
            self._document(event, line)

    def _document(self, event: Any, line: int) -> None:
        self.documents += 1
        if self.documents > 1:
            problem = Problem(
                f"{self.shown_as}:{line}",
                "several-documents",
                "a file holds one document; remove the `---` line or split the file",
            )
            raise InputProblems([*self.problems, problem])
        if event.version or event.tags:
            self._problem(line, "directive", "remove the `%` line at the top")

    def _problem(self, line: int, code: str, text: str) -> None:
        self.problems.append(Problem(f"{self.shown_as}:{line}", code, text))

    def _refuse_decoration(self, event: Any, line: int) -> None:
        if event.anchor is not None:
            self._problem(line, "anchor", f"`&{event.anchor}`: write repeated parts out in full")
        if event.tag is not None:
            self._problem(line, "tag", f"`{event.tag}`: remove the tag; values are plain")

    def _open(self, container: dict[str, Any] | list[Any], event: Any, line: int) -> None:
        self._refuse_decoration(event, line)
        if len(self._stack) >= MAX_DEPTH:
            text = f"nested deeper than {MAX_DEPTH} levels"
            raise InputProblems(
                [*self.problems, Problem(f"{self.shown_as}:{line}", "too-deep", text)]
            )
        if self._expects_key():
            self._problem(line, "bad-key", "a field name is plain text, not a list or mapping")
            self._take_key(self._spare_key(), line)
            self._stack.append(_Open(container, ("",)))
            # The container stands in the place of a name; its value follows as usual.
            return
        path = self._place(container, line)
        self._stack.append(_Open(container, path))

    def _expects_key(self) -> bool:
        return (
            bool(self._stack)
            and isinstance(self._stack[-1].container, dict)
            and self._stack[-1].key is None
        )

    def _spare_key(self) -> str:
        self._skipped_key_number += 1
        return f"\0{self._skipped_key_number}"

    def _take_key(self, key: str, line: int) -> None:
        top = self._stack[-1]
        assert isinstance(top.container, dict)
        if key in top.container:
            first = self.lines[(*top.path, key)]
            self._problem(line, "repeated-field", f"`{key}` stands already on line {first}")
            key = self._spare_key()
        top.key = key
        self.lines[(*top.path, key)] = line

    def _place(self, value: Any, line: int) -> RawPath:
        """Put a finished or opened value where it belongs and return its path."""
        if not self._stack:
            self.root = value
            self.lines[()] = line
            return ()
        top = self._stack[-1]
        path: RawPath
        if isinstance(top.container, list):
            path = (*top.path, len(top.container))
            self.lines[path] = line
            top.container.append(value)
        else:
            assert top.key is not None  # a name always comes before its value
            path = (*top.path, top.key)
            top.container[top.key] = value
            top.key = None
        return path

    def _scalar(self, event: Any, line: int) -> None:
        self._refuse_decoration(event, line)
        is_plain = not event.style
        if self._expects_key():
            if is_plain and not isinstance(self._plain(event.value, line), str):
                self._problem(line, "bad-key", f"put quotes around the field name `{event.value}`")
            self._take_key(self._checked_text(event.value, line), line)
            return
        if is_plain:
            self._place(self._plain(event.value, line), line)
        else:
            self._place(self._checked_text(event.value, line), line)

    def _checked_text(self, text: str, line: int) -> str:
        """Escapes in quoted text can smuggle in what the file itself may not contain."""
        character = invisible_character(text)
        if character is not None:
            self._problem(line, "bad-character", f"the text contains {character}; delete it")
        return text

    def _plain(self, text: str, line: int) -> Any:
        """The value of unquoted text; after a complaint the text stands for itself."""
        try:
            return plain_value(text, dates_are_text=self.plain_dates)
        except Refused as error:
            self._problem(line, error.code, error.text)
            return text
