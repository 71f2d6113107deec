"""A server killed in the middle of posts loses no answer that was confirmed.

Outside source: POSIX `kill -9` cannot be caught; what is on the disk then is what counts.
"""

import contextlib
import json
import os
import random
import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import httpx2 as httpx
import pytest
from client_walks import fact_on, fields_for
from lengths import at_length
from web_support import MONDAY

from assistant.casefiles import read_case
from assistant.clients.book import knowledge
from assistant.model.values import Value

ROOT = Path(__file__).parents[2]


class Killed:
    """One server process on a folder, and a browser that keeps its own cookie."""

    def __init__(self, folder: Path) -> None:
        self._command = [
            sys.executable, "-c", "import sys; from assistant.cli.main import main; sys.exit(main())",
            "serve", "--self", "--no-browser", "--port", "0", "--folder", str(folder),
            "--as-of", MONDAY.isoformat(),
        ]  # fmt: skip

    def start(self) -> httpx.Client:
        self.process = subprocess.Popen(self._command, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        link = ""
        while "start?key=" not in link:
            link = self.process.stdout.readline()
            assert link, "the server did not start"
        base, _, key = link.strip().partition("/start?key=")
        visitor = httpx.Client(base_url=base, follow_redirects=True, timeout=60)
        visitor.headers["sec-fetch-site"] = "same-origin"
        end = time.monotonic() + 60
        while True:
            try:
                opened = visitor.post("/start", data={"key": key})
            except httpx.TransportError:
                assert time.monotonic() < end, "the server does not answer"
                time.sleep(0.05)
            else:
                assert opened.status_code == 200
                return visitor

    def kill(self) -> None:
        os.kill(self.process.pid, signal.SIGKILL)
        self.process.wait()
        if self.process.stdout is not None:
            self.process.stdout.close()


def kept(folder: Path) -> dict[str, object]:
    """Return the answers that are in the draft, by fact, read without any code of the house."""
    found: dict[str, object] = {}
    draft = folder / "intake.jsonl"
    for line in draft.read_bytes().split(b"\n") if draft.exists() else []:
        try:
            said = json.loads(line)
        except ValueError:
            continue  # the last line may be torn; it was not confirmed then
        if said.get("kind") == "answer":
            found[said["fact"]] = said["value"]
    return found


def walk_and_die(
    server: Killed, answers: dict[str, Value], chance: random.Random
) -> dict[str, object]:
    """Answer questions until the server is killed under a post; return what was confirmed by then."""
    confirmed: dict[str, object] = {}
    with contextlib.closing(server.start()) as visitor:
        page = visitor.get("/me")
        if 'action="/me/begin"' in page.text and not re.search(r'href="/me/ask"', page.text):
            visitor.post("/me/begin", data={"name": "Invented Person"})
        page = visitor.get("/me/ask")
        for step in range(chance.randrange(2, 9)):
            if page.url.path != "/me/ask":
                break
            if 'value="read"' in page.text:
                page = visitor.post("/me/ask", data={"do": "read"})
                continue
            fact = fact_on(page.text)
            sent = {"fact": fact, **fields_for(fact, answers.get(fact), MONDAY)}
            if step and chance.random() < 0.3:
                # The kill comes while this post is under way: without an answer it was not confirmed.
                killing = threading.Timer(chance.random() * 0.03, server.kill)
                killing.start()
                with contextlib.suppress(httpx.TransportError):
                    if (
                        visitor.post("/me/ask", data=sent, follow_redirects=False).status_code
                        == 303
                    ):
                        confirmed[fact] = sent
                killing.join()
                return confirmed
            page = visitor.post("/me/ask", data=sent)
            if page.status_code == 400:
                page = visitor.post("/me/ask", data=sent)
            assert page.status_code == 200
            confirmed[fact] = sent
        server.kill()
    return confirmed


@pytest.mark.slow
def test_nothing_confirmed_is_lost_when_the_server_is_killed(tmp_path: Path) -> None:
    answers = dict(read_case(ROOT / "cases" / "four_days.yaml", knowledge(None, None)).answers)
    chance = random.Random(5)
    folder = tmp_path / "self"
    server = Killed(folder)
    confirmed: dict[str, object] = {}
    for _ in range(at_length(40, 6)):
        confirmed |= walk_and_die(server, answers, chance)
        assert confirmed.keys() <= kept(folder).keys()
    assert len(confirmed) > 8
