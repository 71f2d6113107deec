"""The parser is built of plain words; what it names must be there: functions, and the lists of the rooms it repeats."""

import argparse
from collections.abc import Collection, Iterator
from importlib import import_module

import pytest

from assistant.cli import batch, exchange, rules_new, schema
from assistant.cli.registry import build_parser
from assistant.model.away import AWAY_KINDS
from assistant.model.documents.flags import SEVERITIES
from assistant.model.facts import FactType
from assistant.model.wishes import EDIT_KINDS
from assistant.quality.checks import CHECKS
from assistant.records.team import ROLES


def commands(
    parser: argparse.ArgumentParser, name: str = ""
) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Give every command that runs, by the words that name it."""
    kinds = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
    if not kinds:
        yield name.strip(), parser
    for action in kinds:
        for word, each in action.choices.items():
            yield from commands(each, f"{name} {word}")


COMMANDS = dict(commands(build_parser()))


@pytest.mark.parametrize("name", COMMANDS)
def test_what_a_command_runs_is_there(name: str) -> None:
    module, _, function = COMMANDS[name].get_default("run").partition(":")
    assert callable(getattr(import_module(f"assistant.cli.{module}"), function))


def test_there_is_no_other_module_with_a_command() -> None:
    assert len(COMMANDS) > 60


LISTS: dict[tuple[str, str], Collection[str]] = {
    ("batch", "--each"): batch.SUFFIXES,
    ("client away", "kind"): AWAY_KINDS,
    ("exchange export", "--to"): exchange.FORMS,
    ("exchange export", "--what"): {word for words in exchange.FORMS.values() for word in words},
    ("exchange import", "--from"): exchange._READERS,
    ("rules new", "kind"): rules_new._KINDS,
    ("rules new", "--severity"): SEVERITIES,
    ("rules new", "--type"): [str(kind) for kind in FactType],
    ("schema", "name"): schema.NAMES,
    ("team add", "--role"): ROLES,
}


@pytest.mark.parametrize(("name", "flag"), LISTS)
def test_choices_are_those_of_the_room(name: str, flag: str) -> None:
    (action,) = [a for a in COMMANDS[name]._actions if flag in (a.dest, *a.option_strings)]
    assert action.choices is not None
    assert sorted(action.choices) == sorted(LISTS[name, flag])


def test_every_check_and_every_change_of_the_week_is_named() -> None:
    assert f"only these checks: {', '.join(CHECKS)}" in " ".join(
        COMMANDS["check"].format_help().split()
    )
    edits = {name.removeprefix("edit ") for name in COMMANDS if name.startswith("edit ")}
    assert edits - {"list", "withdraw"} == set(EDIT_KINDS)


def test_every_command_that_runs_the_rules_can_be_quiet() -> None:
    runs = {name for name, each in COMMANDS.items() if "--engine" in each.format_help()}
    able = {name for name, each in COMMANDS.items() if "--quiet" in each.format_help()}
    assert runs | {"check", "rules try", "intake"} == able
