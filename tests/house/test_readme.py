"""The README keeps its word: its commands are run as printed (without their `.venv/bin/`)."""

import os
import re
import shlex
import subprocess
import sys
import time
import urllib.error
import urllib.request
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


SERVERS = [command for command in COMMANDS if command[0] == "serve"]


@pytest.mark.parametrize("command", [c for c in COMMANDS if c not in SERVERS], ids=" ".join)
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


@pytest.mark.xdist_group("the usual port")
@pytest.mark.parametrize("command", SERVERS, ids=" ".join)
def test_its_servers_open_their_first_page(command: list[str], tmp_path: Path) -> None:
    own = {**os.environ, "XDG_DATA_HOME": str(tmp_path), "HOME": str(tmp_path), "BROWSER": "true"}
    start = "import sys; from assistant.cli.main import main; sys.exit(main())"
    with subprocess.Popen(
        [sys.executable, "-u", "-c", start, *command], stdout=subprocess.PIPE, text=True, env=own
    ) as server:
        try:
            assert server.stdout is not None
            lines = (server.stdout.readline() for _ in range(2))
            link = next(line.strip() for line in lines if line.startswith("http://127.0.0.1:"))
            page = _first_page(link)
            assert 'action="/start"' in page
        finally:
            server.terminate()


def _first_page(link: str) -> str:
    end = time.monotonic() + 60
    while True:
        try:
            with urllib.request.urlopen(link, timeout=60) as answer:
                return str(answer.read().decode())
        except urllib.error.URLError:
            assert time.monotonic() < end, "the server does not answer"
            time.sleep(0.1)


def test_there_are_commands_to_check() -> None:
    assert len(COMMANDS) >= 6
