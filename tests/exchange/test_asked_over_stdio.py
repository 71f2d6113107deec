"""`whyplan mcp` asked by the protocol's own client, in a process of its own."""

import os
import sys
from collections.abc import Awaitable, Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from assistant.cli import mcp as served
from assistant.cli.main import main
from assistant.cli.schema import NAMES, schema_text
from assistant.model.knowledge import KnowledgeBase
from assistant.quality.card import rule_card

ROOT = Path(__file__).parents[2]
CASE = "cases/four_days.yaml"
needs_the_kit = pytest.mark.skipif(
    find_spec("mcp") is None, reason="the package mcp is not installed"
)


def _ask(who: list[str], questions: Callable[[Any], Awaitable[None]], log: Path) -> None:
    """Start the server with these people and ask; what it says on the error stream goes to a file."""
    kit, anyio = import_module("mcp"), import_module("anyio")
    stdio = import_module("mcp.client.stdio")
    start = "import sys; from assistant.cli.main import main; sys.exit(main())"
    given = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}
    server = kit.StdioServerParameters(
        command=sys.executable, args=["-c", start, "mcp", *who], env=given, cwd=ROOT
    )

    async def go() -> None:
        with log.open("w", encoding="utf-8") as errors:
            async with kit.Client(stdio.stdio_client(server, errlog=errors)) as client:
                await questions(client)

    anyio.run(go)
    assert "Traceback" not in log.read_text("utf-8")


async def _answer(client: Any, tool: str, **given: str) -> tuple[bool, str]:
    found = await client.call_tool(tool, given)
    return bool(found.is_error), str(found.content[0].text)


@needs_the_kit
def test_the_book_is_told_and_nobody_in_it(kb: KnowledgeBase, tmp_path: Path) -> None:
    async def questions(client: Any) -> None:
        assert [tool.name for tool in (await client.list_tools()).tools] == [
            "rules",
            "rule",
            "schema",
        ]
        wrong, listed = await _answer(client, "rules", text="FRQ-*", stage="dose")
        assert not wrong
        ids = [row.split()[0] for row in listed.splitlines()[:-1]]
        assert ids == [
            name
            for name, rule in kb.rules.items()
            if name.startswith("FRQ-") and rule.stage == "dose"
        ]
        assert await _answer(client, "rule", rule_id="FRQ-020") == (
            False,
            rule_card(kb.rules["FRQ-020"], kb),
        )
        for name in ("plan", NAMES[-1]):
            assert await _answer(client, "schema", name=name) == (False, schema_text(name, None))
        found = await client.read_resource("whyplan://rules/FRQ-020")
        assert found.contents[0].text == rule_card(kb.rules["FRQ-020"], kb)
        wrong, text = await _answer(client, "why", who=CASE, words="calories")
        assert (wrong, text) == (True, "Unknown tool: why")

    _ask([], questions, tmp_path / "log")


@needs_the_kit
def test_those_who_are_named_can_be_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    assert main(["why", CASE, "calories"]) == 0
    printed = capsys.readouterr().out

    async def questions(client: Any) -> None:
        assert await _answer(client, "why", who=CASE, words="calories") == (False, printed)
        for who, words, says in (
            ("cases/refer_first.yaml", "calories", "unknown-name"),
            ("../../etc/passwd", "calories", "`../../etc/passwd` is not known"),
            (CASE, "", "name a line of the plan"),
            (CASE, "no such line at all", "no such line"),
            (CASE, "x" * 1_000_000, "is 1000000 letters long; allowed: 200"),
        ):
            wrong, text = await _answer(client, "why", who=who, words=words)
            assert wrong
            assert says in text
            assert len(text.splitlines()) == 1
            assert len(text) < 600

    _ask([CASE], questions, tmp_path / "log")


@needs_the_kit
def test_what_nobody_knows_is_one_line(tmp_path: Path) -> None:
    async def questions(client: Any) -> None:
        for tool, given in (
            ("rule", {"rule_id": "FRQ-02"}), ("rule", {"rule_id": "../../etc/passwd"}),
            ("rule", {"rule_id": "y" * 1_000_000}), ("schema", {"name": "plan/../../x"}),
            ("rules", {"stage": "dosee"}),
        ):  # fmt: skip
            wrong, text = await _answer(client, tool, **given)
            assert wrong
            assert len(text.splitlines()) == 1
        for place in (
            "whyplan://rules/FRQ-02",
            "whyplan://rules/..%2F..%2Fetc",
            "file:///etc/passwd",
        ):
            with pytest.raises(import_module("mcp.shared.exceptions").MCPError):
                await client.read_resource(place)

    _ask([], questions, tmp_path / "log")


def test_an_unknown_person_is_told_at_the_start(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["mcp", str(tmp_path / "nobody.yaml")]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_without_the_package_one_line_says_what_to_install(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(name: str) -> object:
        raise ImportError(name)

    monkeypatch.setattr(served, "import_module", missing)
    assert main(["mcp"]) == 2
    assert capsys.readouterr().err == (
        "mcp: not-installed: the protocol needs the package mcp: pip install 'whyplan[mcp]'\n"
    )
