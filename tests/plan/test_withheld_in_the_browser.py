"""The search for withheld figures over every page of a client in a browser.

What somebody takes along is their own record, and is searched for what the rules would have worked out.
"""

import dataclasses
import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from test_withheld_everywhere import _bare, _near, record_of, secrets
from test_withheld_figures import FLAGGED, _body_figures, _figures
from web.web_support import House

from assistant.cli.main import main
from assistant.clients.adding import added
from assistant.model.case import Case
from assistant.model.knowledge import KnowledgeBase
from assistant.plan import Planner
from assistant.records.store import open_records
from assistant.web.client.pages import PAGES
from assistant.web.sessions import Role

LATER = dt.date(2026, 3, 8)
OWN = {"/me/data/notes.json", "/me/data/notes-case.json"}
# How long a rest is, for the script that counts it down.
SECONDS = re.compile(r' data-seconds="[^"]*"')
# What a lift is loaded with is no figure of a body.
LOADS = re.compile(r'<(span|p|b) class="(?:load|next)">.*?</\1>|name="load_\d+"[^>]*>', re.DOTALL)
RESTS = re.compile(r'(<p class="quiet rest"[^>]*>).*?</p>', re.DOTALL)
QUICK = {("two eating items", "en")}


def pages_of(visitor: TestClient) -> Iterator[tuple[str, str]]:
    """Yield each page a client can look at, and each that a line or a button leads to."""
    whys: set[str] = set()
    for page in PAGES:
        if page.posts:
            continue
        shown = visitor.get(page.path)
        whys |= set(re.findall(r"/me/why\?line=\w+", shown.text))
        yield page.path, shown.text
    for path in sorted(whys):
        yield path, visitor.get(path).text
    yield "a pain", visitor.post("/me/hurts").text
    form = {"fact": "checkin.pain", "answer": "knee 4"}
    yield "after a pain", visitor.post("/me/round", data=form).text
    yield "what changes", visitor.get("/me/changed").text
    for mark in re.findall(r'name="answer_mark" value="(\w+)"', visitor.get("/me/data").text):
        # The question itself is the same for everybody; what stands in its field is not.
        shown = visitor.post("/me/data", data={"answer_mark": mark})
        field = re.search(r'<input id="answer"[^>]*>', shown.text)
        yield "an answer", field[0] if field else ""
    yield "a check-in", visitor.post("/me/checkin").text


def told(
    case: Case, record: Path, folder: Path, language: str, *, imperial: bool
) -> list[tuple[str, str]]:
    place = House(folder / "house", alone=True, language=language)
    place.clock.today = case.as_of
    with open_records(str(place.record), case.as_of) as records:
        added(place.serving.desk(), records, "Invented Person", case)
    main(["checkin", "Invented Person", "--from", str(record), "--db", str(place.record),
          "--as-of", LATER.isoformat(), *(["--imperial"] if imperial else [])])  # fmt: skip
    place.clock.today = LATER
    with place.visitor(Role.CLIENT) as visitor:
        return [
            (path, _bare(SECONDS.sub("", RESTS.sub("", LOADS.sub("", text)))))
            for path, text in pages_of(visitor)
        ]


@pytest.mark.parametrize(
    ("name", "language"),
    [
        pytest.param(n, lang, marks=[] if (n, lang) in QUICK else [pytest.mark.slow])
        for n in FLAGGED
        for lang in ("en", "de")
    ],
)
def test_no_page_of_a_client_tells_a_withheld_figure(
    kb: KnowledgeBase, clear: Case, planner: Planner, name: str, language: str, tmp_path: Path
) -> None:
    flagged = dataclasses.replace(clear, answers={**clear.answers, **FLAGGED[name]})
    record = record_of(flagged, clear, tmp_path)
    hidden, every, worked_out = secrets(kb, clear, flagged, planner, record)
    read = _figures if "energy_number" in hidden else _body_figures
    leaks = [
        f"{path}: {_near(text, figure)}"
        for path, text in told(flagged, record, tmp_path, language, imperial=False)
        for figure in sorted(read(text) & (worked_out if path in OWN else every))
    ]
    assert not leaks, "\n".join(leaks)


@pytest.mark.slow
def test_the_search_finds_the_figures_of_somebody_without_flags(
    kb: KnowledgeBase, clear: Case, planner: Planner, tmp_path: Path
) -> None:
    flagged = dataclasses.replace(clear, answers={**clear.answers, **FLAGGED["two eating items"]})
    record = record_of(clear, clear, tmp_path)
    _, every, _ = secrets(kb, clear, flagged, planner, record)
    pages = told(clear, record, tmp_path, "en", imperial=False)
    finding = {path for path, text in pages if _figures(text) & every}
    assert {"/me/plan", "/me/food", "/me/data"} <= finding
