"""`whyplan mcp [WHO ...]`: the rule book for a program that asks, over the Model Context Protocol on stdio.

It reads and never writes. Of people it knows those alone who are named when it is started: a case file or
a client of the record that is not named cannot be asked about, and no path is ever taken from a question.
"""

import argparse
import functools
from collections.abc import Callable
from importlib import import_module
from typing import Any

from assistant.cli import why
from assistant.cli.common import checked_name
from assistant.cli.person import person_of
from assistant.cli.schema import NAMES, schema_text
from assistant.clients.book import knowledge
from assistant.model.errors import EngineFault, InputProblems, Problem
from assistant.quality.card import rule_card
from assistant.quality.sought import Sought

# No name and no question of ours is longer.
MOST_LETTERS = 200


def run(args: argparse.Namespace) -> int:
    """Serve until the other side closes."""
    try:
        kit: Any = import_module("mcp.server.mcpserver")
        refused: Any = import_module("mcp.server.mcpserver.exceptions")
    except ImportError:
        text = "the protocol needs the package mcp: pip install 'whyplan[mcp]'"
        raise InputProblems([Problem("mcp", "not-installed", text)]) from None
    asked = Asked(args)
    server = kit.MCPServer("whyplan", instructions=asked.about, log_level="ERROR")
    for tool in asked.tools:
        server.tool()(_told(tool, refused.ToolError))
    for place, read in asked.resources.items():
        server.resource(place, mime_type="text/plain")(_told(read, refused.ResourceError))
    server.run("stdio")
    return 0


def _told(answer: Callable[..., str], refusal: type[Exception]) -> Callable[..., Any]:
    """Return an answer in which whatever is wrong with the question is one line of it."""

    # Not in a thread of its own, as the kit would run it: an engine belongs to one thread.
    @functools.wraps(answer)
    async def told(**given: str) -> str:
        try:
            return answer(**_short(given))
        except InputProblems as wrong:
            raise refusal("; ".join(map(str, wrong.problems))) from None
        except EngineFault as fault:
            raise refusal(f"no plan: {fault}") from None

    return told


def _short(given: dict[str, str]) -> dict[str, str]:
    for name, text in given.items():
        if len(text) > MOST_LETTERS:
            long = f"is {len(text)} letters long; allowed: {MOST_LETTERS}"
            raise InputProblems([Problem(name, "too-long", long)])
    return given


class Asked:
    """What may be asked, and the answers. Every answer is text, as the commands print it."""

    def __init__(self, args: argparse.Namespace) -> None:
        self._args = args
        self._kb = knowledge(args.rules, args.house)
        for who in args.who:
            person_of(self._as_typed(who), who)

    @property
    def about(self) -> str:
        """What the server is for, and whom it knows."""
        known = ", ".join(self._args.who) or "nobody"
        return f"The rule book {self._kb.book.name}, read only. People that may be asked about: {known}."

    @property
    def tools(self) -> tuple[Callable[..., str], ...]:
        """The questions; about people only where somebody was named at the start."""
        book = (self.rules, self.rule, self.schema)
        return (*book, self.why) if self._args.who else book

    @property
    def resources(self) -> dict[str, Callable[..., str]]:
        """What can be read by its place."""
        return {
            "whyplan://rules/{rule_id}": self.rule,
            "whyplan://schemas/{name}": self.schema,
        }

    def rules(self, text: str = "", stage: str = "") -> str:
        """List rules whose id, title or sentence holds a text, of one stage or all."""
        checked_name("stage", stage or None, self._kb.book.stages)
        found = Sought(text or None, stage or None).rules(self._kb)
        rows = [f"{r.id}  {r.stage}  {r.grade.certainty.value}  {r.title}" for r in found]
        return "\n".join([*rows, f"{len(rows)} of {len(self._kb.rules)} rules"])

    def rule(self, rule_id: str) -> str:
        """Return the card of a rule: what it asks and says, why, its sources, grade and tests."""
        checked_name("rule_id", rule_id, self._kb.rules)
        return rule_card(self._kb.rules[rule_id], self._kb)

    def schema(self, name: str) -> str:
        """Return the JSON Schema of a plan (`plan`) or of a kind of file in the rule book."""
        checked_name("name", name, NAMES)
        return schema_text(name, self._args.rules)

    def why(self, who: str, words: str) -> str:
        """Say why a line of somebody's plan is as it is: `calories`, `food.protein`, `leg press`, `mon 1`."""
        checked_name("who", who, self._args.who)
        if not words.strip():
            raise InputProblems(
                [Problem("words", "empty", "name a line of the plan, e.g. calories")]
            )
        return why.told(self._as_typed(who, asked=words.split()))

    def _as_typed(self, who: str, **more: Any) -> argparse.Namespace:
        """Return the arguments of a command about a person, as if they were typed."""
        usual = {
            "as_of": None,
            "engine": None,
            "imperial": False,
            "audience": "coach",
            "all": False,
        }
        return argparse.Namespace(**{**vars(self._args), **usual, "who": who, **more})
