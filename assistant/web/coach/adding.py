"""Adding a client whose answers are there already, as the text of a case file."""

from starlette.responses import Response

from assistant.casefiles.cases import case_of
from assistant.clients.adding import added
from assistant.clients.aside import aside_words
from assistant.knowledge.strict_yaml import parse_text
from assistant.web.coach.forms import by_of, missing
from assistant.web.visit import Visit


def form(visit: Visit) -> Response:
    """Show where name and answers are given."""
    return visit.show("coach/adding.html")


def add(visit: Visit) -> Response:
    """Add a client with a first plan; after a yes to the question on self-harm nothing is written."""
    if not visit.sent("answers"):
        raise missing(
            "Answers", "paste the text of a case file; its fields are name, as_of, answers"
        )
    case = case_of(parse_text(visit.sent("answers"), "Answers", plain_dates=True), visit.desk.kb)
    if case.is_aside:
        return visit.show("coach/aside.html", said=aside_words(visit.desk.kb, "coach"))
    client = added(visit.desk, visit.records, visit.sent("name") or case.name, case, by_of(visit))
    return visit.go(
        f"/desk/c/{client.token}", f"{client.name} is in the record, with a first plan."
    )
