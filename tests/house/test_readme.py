"""The README keeps its word: its commands are run as printed (without their `.venv/bin/`)."""

import re
import shlex
from pathlib import Path

import pytest

from assistant.cli.main import main

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
COMMANDS = [
    shlex.split(line.partition("#")[0])[1:]
    for line in re.findall(
        r"^\.venv/bin/whyplan .*$|(?<=&& )\.venv/bin/whyplan .*$", README, re.MULTILINE
    )
]


def test_it_opens_with_the_job_and_two_commands() -> None:
    opening = README.split("\n\n")[1]
    assert "screens first" in opening
    for name in ("plan", "test"):
        block = README.partition(f"<!-- command: {name} -->")[2].partition("```sh\n")[2]
        (command,) = block.partition("```")[0].strip().splitlines()
        assert command.startswith("python3 -m venv .venv && .venv/bin/pip install")


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_its_commands_run_as_printed(
    command: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    code = main(command)
    printed = capsys.readouterr()
    if command[0] == "intake":
        # No terminal here: one clear line, and the exit code of bad input.
        assert code == 2
        assert len(printed.err.strip().splitlines()) == 1
        return
    assert code == 0
    assert len(printed.out.splitlines()) > 5
    assert printed.err == ""


def test_there_are_commands_to_check() -> None:
    assert len(COMMANDS) >= 6
