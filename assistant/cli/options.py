"""How a command says what it takes: a tuple of options. Those that several commands share stand here."""

import argparse
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

# The group of options of which one alone may be given.
EITHER = "either"
# How a shell completes the name of a file or a folder, as shtab writes it.
FILES = {"bash": "_shtab_compgen_files", "zsh": "_files", "tcsh": "f"}
FOLDERS = {"bash": "_shtab_compgen_dirs", "zsh": "_files -/", "tcsh": "d"}


@dataclass(frozen=True)
class Option:
    """One argument of a command, as argparse takes it. group: its heading in the help, or EITHER."""

    flag: str
    settings: dict[str, Any]
    group: str


Command: TypeAlias = tuple[str, str, tuple[Option, ...]]
"""A command: its line in the help, its function as `module:function` of this room, and what it takes."""


@dataclass(frozen=True)
class Commands:
    """Commands under one name. first: taken before their names; usual: meant where none is named."""

    about: str
    metavar: str
    kinds: Mapping[str, Command]
    first: tuple[Option, ...] = ()
    usual: str | None = None


def option(flag: str, about: str | None = None, group: str = "", **settings: Any) -> Option:
    """Return an option, or an argument where `flag` is a bare name. about: its line in the help."""
    return Option(flag, {"help": about, **settings}, group)


def switch(flag: str, about: str, group: str = "", **settings: Any) -> Option:
    """Return an option that is on or off."""
    return option(flag, about, group, action="store_true", **settings)


def file(
    flag: str, about: str | None = None, metavar: str = "FILE", group: str = "", **settings: Any
) -> Option:
    """Return an option that names a file, or a folder where `metavar` is DIR."""
    return option(flag, about, group, type=Path, metavar=metavar, **settings)


def count(flag: str, about: str, default: int | None = None, group: str = "") -> Option:
    """Return an option with a whole number."""
    return option(flag, about, group, type=int, default=default, metavar="N")


def form(*choices: str) -> Option:
    """Return `--format`; the first of its choices is meant where nothing is said."""
    return option("--format", "form of output", choices=choices, default=choices[0])


def record_file(about: str) -> tuple[Option, ...]:
    """Return `--record FILE`, which puts dated rows beside a case file, and how its dates are written."""
    return (file("--record", about), DATES)


def add_options(parser: argparse.ArgumentParser, options: Iterable[Option]) -> None:
    """Add options to a parser, in their order."""
    groups: dict[str, Any] = {"": parser}
    for each in options:
        if each.group not in groups:
            groups[each.group] = (
                parser.add_mutually_exclusive_group()
                if each.group == EITHER
                else parser.add_argument_group(each.group)
            )
        added = groups[each.group].add_argument(each.flag, **each.settings)
        if added.type is Path or added.metavar == _WHO["metavar"]:
            added.complete = FOLDERS if added.metavar == "DIR" else FILES


# Where a server listens unless told otherwise.
LOOPBACK, USUAL_PORT = "127.0.0.1", 8710
_ENGINES = ("durable", "clips", "both")
CLIENT = option("name", metavar="CLIENT")
DB = option("--db", "another record: a file, or postgresql://user@host/name", metavar="PLACE")
# Without a PLACE the user's own.
WITH_RECORD = option("--db", "a client record, too (default: your own)", nargs="?", const="", metavar="PLACE")  # fmt: skip
_WHO = {"about": "client in the record, or a case file (YAML)", "metavar": "CLIENT-OR-CASE"}
PERSON, PEOPLE = (option("who", **_WHO), DB), (option("who", nargs="+", **_WHO), DB)
DATES = option("--dates", "order of day and month in the file", choices=("dmy", "mdy"))
BY = option("--by", "who does it, kept with the plan", default="", metavar="WHO")
FOR = option(
    "--for",
    "who reads it; me: a client alone",
    dest="audience",
    type=lambda who: "client" if who == "me" else who,
    choices=("coach", "client"),
    default="coach",
)
ALONE = switch("--self", "worded for a client alone", dest="alone")
ENGINE = option("--engine", "rule engine (default: the one installed)", choices=_ENGINES)
RULES = file("--rules", "another rule book", "DIR")
HOUSE = file(
    "--house", "your own numbers within the allowed ranges, or a folder over the book", "PATH"
)
OUT = file("--out", "write there, not to the screen")
QUIET = switch("--quiet", "say nothing of how long it still takes")
NO_WEEK = switch("--no-week", "leave out the sessions, which take seconds to solve")
FULL = switch("--full", "as text: every section, and all reasons with their grades")
SEED = option("--seed", "seed of the search (default: 1)", type=int, default=1)
# Of every command that runs the rules on a case.
RUN = (
    ENGINE,
    option("--as-of", "day to plan for, e.g. 2026-01-12", metavar="DATE"),
    RULES,
    HOUSE,
    switch("--imperial", "show pounds and inches"),
    QUIET,
)
# Of every command that opens the record, and of those of them that run the rules.
RECORD = (DB, option("--as-of", "day that counts as today", metavar="DATE"))
ON_RECORD = (*RECORD, RULES, HOUSE, option("--engine", "rule engine", choices=_ENGINES), QUIET)
