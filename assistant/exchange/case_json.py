"""A case as JSON, with everything a case file holds that may travel."""

from assistant.exchange.portable import Portable
from assistant.exchange.terms import Json, plain_number
from assistant.model.case import Case
from assistant.model.values import Value

NO_NAME = "Unnamed client"


def case_json(case: Case, sent: Portable) -> Json:
    """Return a case that the commands read like any case file."""
    made: Json = {
        "name": sent.name or NO_NAME,
        "as_of": sent.as_of.isoformat(),
        "answers": {fact: _plain(value) for fact, value in sent.answers.items()},
    }
    if wishes := case.week.as_written():
        made["week"] = wishes
    if case.decisions:
        made["decisions"] = [decision.as_written() for decision in case.decisions]
    return made


def _plain(value: Value) -> object:
    if isinstance(value, bool):
        return value
    if isinstance(value, tuple):
        return list(value)
    return str(value) if isinstance(value, str) else plain_number(value)
