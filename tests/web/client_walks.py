"""Answers the questions of the pages as a person at home would: by the forms that a page holds."""

import html
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from starlette.testclient import TestClient

from assistant.clients.book import knowledge
from assistant.intake.form import Audience, form_of
from assistant.model.facts import FactType
from assistant.model.values import Status, Value

MOST_PAGES = 250


@dataclass(frozen=True)
class Sent:
    """One form that was sent: for which fact, with what."""

    fact: str
    fields: Mapping[str, Any]


def fact_on(page: str) -> str:
    found = re.search(r'<input type="hidden" name="fact" value="([^"]+)">', page)
    assert found is not None, heading_on(page)
    return found[1]


def heading_on(page: str) -> str:
    found = re.search(r"<h1[^>]*>(.*?)</h1>", page, re.DOTALL)
    assert found is not None, page[:400]
    return html.unescape(re.sub(r"<[^>]+>", "", found[1])).strip()


def fields_for(fact: str, value: Value | None, on: Any, voice: Audience = "self") -> dict[str, Any]:
    """Return what the form of a fact's question is sent with, for one answer."""
    form = form_of(knowledge(None, None), on)
    slot = form.slots[form.index_of(fact)].asked_of(voice)
    said = Status.UNKNOWN if value is None else value
    by_status = {
        Status.UNKNOWN: "not_sure", Status.DECLINED: "rather_not", Status.NOT_APPLICABLE: "not_applicable"
    }  # fmt: skip
    if isinstance(said, Status) and said in by_status:
        return {"do": by_status[said]}
    if value is Status.NONE:
        return {"answer": "none"} if slot.options else {"do": "none"}
    if slot.yes_item or isinstance(value, bool):
        return {"answer": "yes" if value else "no"}
    if isinstance(value, tuple):
        return {"answer": list(value)} if value else {"do": "none"}
    number = slot.declaration.type in {FactType.NUMBER, FactType.INTEGER}
    return {"answer": f"{value:g}" if number else str(value)}


def begin(visitor: TestClient, name: str = "Invented Person") -> Any:
    return visitor.post("/me/begin", data={"name": name})


def answer_all(
    visitor: TestClient, answers: Mapping[str, Value], on: Any, *, until: str = ""
) -> list[Sent]:
    """Answer the first questions until the list of answers, or until one fact is asked for."""
    sent: list[Sent] = []
    page = visitor.get("/me/ask")
    while page.url.path == "/me/ask":
        assert len(sent) < MOST_PAGES, "the questions do not end"
        visitor.app.state.clock.seconds += 1.0  # type: ignore[attr-defined]
        if 'value="read"' in page.text:
            page = visitor.post("/me/ask", data={"do": "read"})
            continue
        fact = fact_on(page.text)
        if fact == until:
            return sent
        fields = fields_for(fact, answers.get(fact), on)
        page = visitor.post("/me/ask", data={"fact": fact, **fields})
        if page.status_code == 400:  # asked about once; it is right
            page = visitor.post("/me/ask", data={"fact": fact, **fields})
        assert page.status_code == 200, (fact, fields, page.text[-600:])
        sent.append(Sent(fact, fields))
    return sent


def added(visitor: TestClient, answers: Mapping[str, Value], on: Any, name: str = "") -> Any:
    """Go through everything, and return the page after the last question."""
    begin(visitor, name or "Invented Person")
    answer_all(visitor, answers, on)
    return visitor.post("/me/last", data={"answer": "no"})
