"""The findings of the checks of the rule book: those that are quick at once, the others by a button."""

from starlette.responses import Response

from assistant.calculate.registry import CALCULATORS
from assistant.clients.cases import cases_of
from assistant.quality.checks import run_checks
from assistant.quality.suite import Checked, Options, Subject, subject_of
from assistant.web.visit import NotHere, Visit

# Each takes less than a second beside reading the book; the others are for the command line.
AT_ONCE = ("schema", "lint")
BY_BUTTON = ("conflicts", "laws", "tests", "evidence")
_HELD = "checked"


def findings(visit: Visit) -> Response:
    """Show what the quick checks find now, and what was run by a button in this session."""
    subject = _subject(visit)
    checked = run_checks(subject, Options(), AT_ONCE)
    book = subject.kb.content_hash if subject.kb is not None else ""
    known: dict[str, tuple[str, Checked]] = visit.here.held.get(_HELD, {})
    checked += [done for of, done in known.values() if of == book]
    return visit.show(
        "trainer/check.html",
        checked=checked,
        names=BY_BUTTON if subject.kb is not None else (),
        is_sound=subject.kb is not None and not any(each.findings for each in checked),
    )


def run(visit: Visit) -> Response:
    """Run one more check. Raises NotHere for one that is not offered."""
    name = visit.sent("check")
    if name not in BY_BUTTON:
        raise NotHere
    subject = _subject(visit)
    if subject.kb is None:
        return visit.go("/book/check")
    options = Options(cases_of(None, visit.serving.rules, subject.kb))
    (done,) = (each for each in run_checks(subject, options, [name]) if each.name == name)
    visit.here.held.setdefault(_HELD, {})[name] = (subject.kb.content_hash, done)
    return visit.go("/book/check")


def _subject(visit: Visit) -> Subject:
    return subject_of(visit.serving.rules, visit.desk.house, CALCULATORS)
