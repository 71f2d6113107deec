"""Load a knowledge base: read, give every part its shape, cross-check, fingerprint.

Problems are collected as far as they can be told apart: broken files first; if only rules are
broken, the sound rest is cross-checked too.
"""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from assistant.knowledge import cache
from assistant.knowledge.build import Builder
from assistant.knowledge.checks import cross_check
from assistant.knowledge.draft import Draft
from assistant.knowledge.files import SourceFile, folder_problems, source_files
from assistant.knowledge.hashes import content_hash, logic_hash
from assistant.knowledge.locate import rules_directory
from assistant.knowledge.overlay import read_overlay
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.shapes import shape
from assistant.knowledge.strict_yaml import MAX_BYTES, parse_bytes
from assistant.model.book import Book
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase


def load_knowledge(
    directory: Path | None = None,
    overlay: Path | None = None,
    *,
    calculators: Mapping[str, Any] | None = None,
    cache_directory: Path | None = None,
    use_cache: bool = True,
) -> KnowledgeBase:
    """Return the checked knowledge base of a folder.

    directory: the folder with book.yaml; None is the shipped one. overlay: a coach's own parameter
    values. calculators: by name, with `inputs` (each with a `unit`) and `unit`; None leaves their
    names unchecked. cache_directory: None is the user's own cache folder; use_cache: whether a
    compiled copy may be read and written. Raises InputProblems with everything that is wrong.
    """
    folder = rules_directory() if directory is None else directory
    files, problems = source_files(folder)
    contents = _contents(files, problems)
    own = _read_overlay_file(overlay, problems)
    copy = cache.Copy.of(contents, own, calculators, cache_directory) if use_cache else None
    if copy is not None and not problems:
        kept = copy.read()
        if kept is not None:
            return _finished(kept.draft, kept.logic_hash, kept.content_hash)
    draft = _compile(files, contents, problems, own, calculators)
    logic, content = logic_hash(draft), content_hash(draft)
    if copy is not None:
        copy.write(draft, logic, content)
    return _finished(draft, logic, content)


def read_draft(
    directory: Path | None = None,
    overlay: Path | None = None,
    *,
    calculators: Mapping[str, Any] | None = None,
) -> tuple[Draft | None, list[Problem]]:
    """Return a folder as a draft that knows the line of every part, and all that is wrong with it.

    Unlike load_knowledge, nothing is raised for problems of the book itself, and no compiled copy
    is used: a checker wants the lines. The draft is None where the book has no sound front page.
    Raises InputProblems if the folder cannot be listed at all.
    """
    folder = rules_directory() if directory is None else directory
    files, problems = source_files(folder)
    contents = _contents(files, problems)
    own = _read_overlay_file(overlay, problems)
    try:
        return _draft(files, contents, problems, own, calculators)
    except InputProblems as error:
        return None, list(error.problems)


def knowledge_of(draft: Draft) -> KnowledgeBase:
    """Return the knowledge base of a draft in which nothing is wrong."""
    return _finished(draft, logic_hash(draft), content_hash(draft))


def _contents(files: list[SourceFile], problems: list[Problem]) -> dict[str, bytes]:
    contents: dict[str, bytes] = {}
    for file in files:
        try:
            with file.path.open("rb") as stream:
                contents[file.shown] = stream.read(MAX_BYTES + 1)
        except OSError as error:
            text = f"the file cannot be read ({error.strerror})"
            problems.append(Problem(file.shown, "unreadable-file", text))
    return contents


def _read_overlay_file(overlay: Path | None, problems: list[Problem]) -> tuple[str, bytes] | None:
    if overlay is None:
        return None
    try:
        with overlay.open("rb") as stream:
            return str(overlay), stream.read(MAX_BYTES + 1)
    except OSError as error:
        text = f"the file of own settings cannot be read ({error.strerror})"
        problems.append(Problem(str(overlay), "unreadable-file", text))
        return None


def _compile(
    files: list[SourceFile],
    contents: Mapping[str, bytes],
    problems: list[Problem],
    own: tuple[str, bytes] | None,
    calculators: Mapping[str, Any] | None,
) -> Draft:
    draft, wrong = _draft(files, contents, problems, own, calculators)
    if wrong:
        raise InputProblems(wrong)
    return draft


def _draft(
    files: list[SourceFile],
    contents: Mapping[str, bytes],
    problems: list[Problem],
    own: tuple[str, bytes] | None,
    calculators: Mapping[str, Any] | None,
) -> tuple[Draft, list[Problem]]:
    """The draft, and everything that is wrong; raises where there is no sound front page."""
    parsed = _parsed(contents, problems)
    builder = _builder(files, parsed, problems)
    for file in files:
        if file.shown in parsed and file.kind != "book":
            builder.add(file, parsed[file.shown])
        elif file.kind not in {"book", "rule", "tables", "language", "flag", "document"}:
            builder.has_all_definitions = False
    builder.finish()
    draft = builder.draft
    problems.extend(builder.problems)
    problems.extend(folder_problems(files, draft.book.stages))
    if own is not None and builder.has_all_definitions:
        try:
            draft.overlay = read_overlay(own[1], own[0], draft.parameters)
        except InputProblems as error:
            problems.extend(error.problems)
    if builder.has_all_definitions:
        is_whole = not problems
        problems.extend(cross_check(draft, calculators, is_whole=is_whole))
    return draft, _in_order(problems)


def _parsed(contents: Mapping[str, bytes], problems: list[Problem]) -> dict[str, Parsed]:
    parsed: dict[str, Parsed] = {}
    for shown, raw in contents.items():
        try:
            parsed[shown] = parse_bytes(raw, shown)
        except InputProblems as error:
            problems.extend(error.problems)
    return parsed


def _builder(
    files: list[SourceFile], parsed: Mapping[str, Parsed], problems: list[Problem]
) -> Builder:
    """The builder with the front page; without a sound front page nothing else can be judged."""
    front = next((parsed[f.shown] for f in files if f.kind == "book" and f.shown in parsed), None)
    if front is None:
        raise InputProblems(_in_order(problems))
    book = shape(Book, front.data, front, ())
    if isinstance(book, list):
        raise InputProblems(_in_order([*problems, *book]))
    return Builder(book, front)


def _in_order(problems: list[Problem]) -> list[Problem]:
    """Each problem once, by file, then line."""

    def key(problem: Problem) -> tuple[str, int, str, str]:
        file, _, line = problem.place.rpartition(":")
        if not line.isdecimal():
            file, line = problem.place, "0"
        return file, int(line), problem.code, problem.text

    return sorted(set(problems), key=key)


def _finished(draft: Draft, logic: str, content: str) -> KnowledgeBase:
    return KnowledgeBase(
        book=draft.book,
        facts=_by_id(draft.facts),
        parameters=_by_id(draft.parameters),
        rules=_by_id(draft.rules),
        sources=_by_id(draft.sources),
        grades=_by_id(draft.grades),
        sections=tuple(draft.sections),
        questions=tuple(draft.questions),
        files=_by_id(draft.files),
        languages=_by_id(draft.languages),
        places=MappingProxyType(draft.places()),
        logic_hash=logic,
        content_hash=content,
        overlay=_by_id(dict(draft.overlay)),
        flags=_by_id(draft.flags),
    )


def _by_id(items: Mapping[str, Any]) -> Mapping[str, Any]:
    return MappingProxyType(dict(sorted(items.items())))
