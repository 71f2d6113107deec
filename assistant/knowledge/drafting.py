"""Make a draft of a rule book: give every part its shape, cross-check, fingerprint.

Problems are collected as far as they can be told apart: broken files first; if only rules are
broken, the sound rest is cross-checked too.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.knowledge.build import LISTS, Builder
from assistant.knowledge.checks import cross_check
from assistant.knowledge.checks.house import misplaced_in_house
from assistant.knowledge.contents import Contents, read_contents
from assistant.knowledge.draft import Draft
from assistant.knowledge.files import BOOK, HOUSE, SourceFile, folder_problems, laid_over
from assistant.knowledge.gaps import BEGINNING, unwritten
from assistant.knowledge.hashes import content_hash, logic_hash
from assistant.knowledge.house import House
from assistant.knowledge.overlay import read_overlay
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.shapes import shape
from assistant.knowledge.strict_yaml import parse_bytes
from assistant.model.book import Book
from assistant.model.errors import InputProblems, Problem


def read_draft(
    directory: Path | None = None,
    house: Path | None = None,
    *,
    calculators: Mapping[str, Any] | None = None,
    over: Path | None = None,
) -> tuple[Draft | None, list[Problem]]:
    """Return a folder as a draft that knows the line of every part, and all that is wrong with it.

    house: laid over it, whatever the days it is in force. over: a file of rules laid over both.

    Unlike load_knowledge, nothing is raised for problems of the book itself, and no compiled copy
    is used: a checker wants the lines. The draft is None where the book has no sound front page.
    Raises InputProblems if the folder cannot be listed at all.
    """
    read = read_contents(directory, house)
    if over is not None:
        read.files = _with_one_over(read.files, read.contents, over)
    try:
        return draft_of(read, None, calculators)
    except InputProblems as error:
        return None, list(error.problems)


def knowledge_of(draft: Draft) -> Draft:
    """Return a draft in which nothing is wrong as a knowledge base, with its two hashes."""
    return replace(draft, logic_hash=logic_hash(draft), content_hash=content_hash(draft))


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


def draft_of(
    read: Contents, on: dt.date | None, calculators: Mapping[str, Any] | None
) -> tuple[Draft, list[Problem]]:
    """The draft, and everything that is wrong; raises where there is no sound front page."""
    files, problems = read.files, read.problems
    parsed = _parsed(read.contents, problems)
    builder = _builder([file for file in files if file.layer == BOOK], parsed, problems)
    house = House(on)
    files = house.over(files, parsed)
    for file in files:
        if file.shown in parsed and file.kind != "book":
            builder.add(file, parsed[file.shown])
        elif file.kind == "flag":
            builder.unsound_flags.append(file.path.stem)
        elif file.kind in LISTS:
            builder.has_all_definitions = False
    draft = house.signing(builder.draft())
    problems.extend([*builder.problems, *house.problems])
    problems.extend(folder_problems(files, draft.book.stages))
    problems.extend(misplaced_in_house(read.files))
    if read.numbers is not None and builder.has_all_definitions:
        shown, raw = read.numbers
        try:
            overlay, signed = read_overlay(raw, shown, draft.parameters)
            draft = replace(draft, overlay=overlay, signed=signed)
        except InputProblems as error:
            problems.extend(error.problems)
    if builder.has_all_definitions:
        is_whole = not problems
        problems.extend(cross_check(draft, calculators, is_whole=is_whole))
    # What a fault of the house's folder upsets in the book is no fault of the book.
    laid = tuple(f"{file.shown}:" for file in read.files if file.layer == HOUSE)
    blamed = [each for each in problems if f"{each.place}:".startswith(laid)] if laid else []
    return draft, _in_order(blamed or problems)


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
