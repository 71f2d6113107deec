"""Every command by name, in the order the help lists them; only the one asked for is imported.

The solver and the database layer take seconds to import, and most commands need neither. A module
of a command has `OPTIONS` and `run`, or `COMMANDS` of its own: name to help, function and options.
"""

import argparse
from collections.abc import Sequence
from importlib import import_module
from types import ModuleType

from assistant.cli.options import add_options

COMMANDS = {
    "intake": "ask the questions and write a case file",
    "plan": "print the plan of clients or case files",
    "why": "explain a line or a fact of a plan",
    "audit": "all that a plan rests on, on one page",
    "evidence": "what a plan, or the whole book, rests on least; what to read next",
    "why-not": "say why a rule or a value is not in the plan",
    "what-if": "say what a change would make of the plan",
    "flip": "find the smallest change of answers that changes a conclusion",
    "picture": "draw how a conclusion came about",
    "week": "print the week as sessions",
    "edit": "change the week by hand: see the price, keep it with a reason",
    "exercise": "how an exercise is done, as a card",
    "review": "what the weeks say, and the one thing to change",
    "phases": "build, hold and fat loss laid back from the date",
    "referral": "print a note for the professional",
    "log": "the decision log: past plans, checked and made again",
    "batch": "make the plans of many cases, resumable",
    "client": "keep clients: add, list, show, export, forget",
    "checkin": "take in weights, sessions, lifts and the rest",
    "today": "who needs the coach first, and why",
    "serve": "the same in a browser, on this machine or for a team",
    "team": "who may sign in to a team's server",
    "check": "check the rule book itself",
    "exchange": "answers and sessions for other programs, and back",
    "rules": "list, show, begin rules; set a number",
    "schema": "print the JSON Schema of plans or of rule files",
}


def add_commands(
    subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]", arguments: Sequence[str]
) -> None:
    """Add every command, and what it takes where `arguments` name it."""
    for name, about in COMMANDS.items():
        parser = subparsers.add_parser(name, help=about)
        if name in arguments:
            _fill(parser, import_module(f"assistant.cli.{name.replace('-', '_')}"))


def _fill(parser: argparse.ArgumentParser, module: ModuleType) -> None:
    if not hasattr(module, "COMMANDS"):
        add_options(parser, module.OPTIONS)
        parser.set_defaults(run=module.run)
        return
    add_options(parser, getattr(module, "FIRST", ()))
    usual = getattr(module, "USUAL", None)
    kinds = parser.add_subparsers(required=usual is None, metavar=module.METAVAR)
    for name, (about, run, options) in module.COMMANDS.items():
        kind = kinds.add_parser(name, help=about)
        add_options(kind, options)
        kind.set_defaults(run=run)
    if usual is not None:
        parser.set_defaults(**vars(kinds.choices[usual].parse_args([])))
