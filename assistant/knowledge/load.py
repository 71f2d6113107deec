"""Load a knowledge base: read, give every part its shape, cross-check, fingerprint.

Problems are collected as far as they can be told apart: broken files first; if only rules are
broken, the sound rest is cross-checked too.
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.knowledge import cache
from assistant.knowledge.build import LISTS, Builder
from assistant.knowledge.checks import cross_check
from assistant.knowledge.draft import Draft
from assistant.knowledge.files import SourceFile, folder_problems, laid_over, source_files
from assistant.knowledge.gaps import BEGINNING, unwritten
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
    files, contents, own, problems = _read(directory, overlay)
    copy = cache.Copy.of(contents, own, calculators, cache_directory) if use_cache else None
    kept = None if copy is None or problems else copy.read()
    if kept is not None:
        return kept
    draft, wrong = _draft(files, contents, problems, own, calculators)
    if wrong:
        raise InputProblems(wrong)
    kb = knowledge_of(draft).without_lines()
    if copy is not None:
        copy.write(kb)
    return kb


def read_draft(
    directory: Path | None = None,
    overlay: Path | None = None,
    *,
    calculators: Mapping[str, Any] | None = None,
    over: Path | None = None,
) -> tuple[Draft | None, list[Problem]]:
    """Return a folder as a draft that knows the line of every part, and all that is wrong with it.

    over: a file of rules laid over it.

    Unlike load_knowledge, nothing is raised for problems of the book itself, and no compiled copy
    is used: a checker wants the lines. The draft is None where the book has no sound front page.
    Raises InputProblems if the folder cannot be listed at all.
    """
    files, contents, own, problems = _read(directory, overlay)
    if over is not None:
        files = _with_one_over(files, contents, over)
    try:
        return _draft(files, contents, problems, own, calculators)
    except InputProblems as error:
        return None, list(error.problems)


def knowledge_of(draft: Draft) -> Draft:
    """Return a draft in which nothing is wrong as a knowledge base, with its two hashes."""
    return replace(draft, logic_hash=logic_hash(draft), content_hash=content_hash(draft))


def _read(
    directory: Path | None, overlay: Path | None
) -> tuple[list[SourceFile], dict[str, bytes], tuple[str, bytes] | None, list[Problem]]:
    """The files of a folder, what is in them, the own settings, and what could not be read."""
    files, problems = source_files(rules_directory() if directory is None else directory)
    wanted = [(file.shown, file.path, "the file") for file in files]
    if overlay is not None:
        wanted.append((str(overlay), overlay, "the file of own settings"))
    contents: dict[str, bytes] = {}
    for shown, path, told in wanted:
        try:
            with path.open("rb") as stream:
                contents[shown] = stream.read(MAX_BYTES + 1)
        except OSError as error:
            text = f"{told} cannot be read ({error.strerror})"
            problems.append(Problem(shown, "unreadable-file", text))
    own = contents.pop(str(overlay), None)
    return files, contents, None if own is None else (str(overlay), own), problems


def _with_one_over(
    files: list[SourceFile], contents: dict[str, bytes], over: Path
) -> list[SourceFile]:
    """The files with one laid over them, whose content is added. Raises InputProblems."""
    try:
        raw = over.read_bytes()
    except OSError as error:
        text = f"the file cannot be read ({error.strerror}); check the name"
        raise InputProblems([Problem(str(over), "unreadable-file", text)]) from error
    contents[str(over)] = raw
    return laid_over(files, over, parse_bytes(raw, str(over)).data)


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
        elif file.kind == "flag":
            builder.unsound_flags.append(file.path.stem)
        elif file.kind in LISTS:
            builder.has_all_definitions = False
    draft = builder.draft()
    problems.extend(builder.problems)
    problems.extend(folder_problems(files, draft.book.stages))
    if own is not None and builder.has_all_definitions:
        try:
            overlay, signed = read_overlay(own[1], own[0], draft.parameters)
            draft = replace(draft, overlay=overlay, signed=signed)
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
            file = parse_bytes(raw, shown)
        except InputProblems as error:
            problems.extend(error.problems)
            continue
        gaps = list(unwritten(file)) if BEGINNING.encode() in raw else []
        problems.extend(gaps)
        if not gaps:
            parsed[shown] = file
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
