"""A review: what the weeks say, figures before and after; then accept, change and accept, or refuse."""

import contextlib
import dataclasses
from collections.abc import Callable

from starlette.responses import Response

from assistant.clients.by_hand import Overrides, open_lines, with_one_more, with_overrides
from assistant.clients.person import Person
from assistant.clients.place import open_since
from assistant.clients.reviewing import Review, accept, accepted_today, refuse, refused, review_of
from assistant.model.derivation import word_in
from assistant.model.errors import InputProblems
from assistant.plan.agreeing import accepting
from assistant.plan.signed import checked_words
from assistant.plan.warnings import open_warnings
from assistant.report.accepting_text import accepting_rows
from assistant.report.page.build import page_parts
from assistant.report.page.trends import trend_pictures
from assistant.report.review_text import SECTIONS, measured_rows
from assistant.web.coach.forms import by_of, why_of
from assistant.web.coach.lines import line_choices
from assistant.web.visit import Visit

_NOTHING = "The record holds nothing to review yet; a check-in comes first."


def change(visit: Visit) -> Response:
    """Show what a change of one line would make of it; nothing is kept yet."""
    return show(visit, is_changed=True)


def decide(visit: Visit) -> Response:
    """Keep what is decided about the review: accepted, accepted with a change, or refused."""
    here, desk, client = f"/desk/c/{visit.client.token}", visit.desk, visit.client
    if visit.sent("do") == "refuse":
        refuse(desk, visit.records, client, by_of(visit), visit.sent("reason"))
        return visit.go(
            here, "The review is not accepted; that is noted, and the plan stays as it is."
        )
    why = why_of(visit, "review")
    changed = _one_more(visit) if visit.sent("line") else None
    # Accepting as it is says enough; a change by hand needs its reason.
    said = why.reason if changed or why.reason else "as it is"
    checked_words(why.by, said, desk.kb.overrides.reasons)
    version = accept(desk, visit.records, client.handle, why, changed)
    return visit.go(here, f"Kept as agreed: version {version.number} of the plan.")


def _one_more(visit: Visit) -> Callable[[Person], Overrides]:
    line, to, reason = (visit.sent(name) for name in ("line", "to", "reason"))
    by = by_of(visit)

    def changed(now: Person) -> Overrides:
        return with_one_more(now, line, to, by=by, reason=reason)

    return changed


def show_again(visit: Visit) -> Response:
    """Show the form again, with the change that was asked for where it can be shown."""
    with contextlib.suppress(InputProblems):
        return show(visit, is_changed=bool(visit.sent("line")))
    return show(visit)


def show(visit: Visit, *, is_changed: bool = False) -> Response:
    """Show the review of the day. is_changed: with the change of a line that was typed."""
    review = review_of(visit.person, imperial=visit.is_imperial)
    if review is None:
        return visit.show("coach/no_review.html", why=_NOTHING)
    narrator, person = review.narrator, review.person
    words = dataclasses.replace(visit.words, phrases=narrator.phrases)
    plan = person.planner.plan(person.case, narrator)
    assert person.history is not None  # there would be no review
    pictures = trend_pictures(person.history, review.found, narrator, words)
    parts = page_parts(plan, narrator, words)
    current = person.versions[-1].digest if person.versions else None
    since = open_since(person.versions, narrator) if person.versions else {}
    return visit.show(
        "coach/review.html",
        on=visit.desk.on.isoformat(),
        sections=[section for section in plan.sections if section.id in SECTIONS],
        said=parts["said"],
        alert=parts["alert"],
        measured=measured_rows(narrator, review.found),
        warnings=open_warnings(narrator, since),
        trends=pictures,
        moves=accepting_rows(review.done, narrator, current),
        changed=_moves_with_change(visit, review) if is_changed else None,
        lines=line_choices(open_lines(person), narrator),
        accepted=accepted_today(person),
        refers=word_in(narrator.run.facts, "review.decision") == "refer",
        refused=refused(visit.records, visit.client, visit.desk),
    )


def _moves_with_change(visit: Visit, review: Review) -> list[str]:
    """Return the figures before and after, with the change that was typed. Raises InputProblems."""
    person = with_overrides(review.person, _one_more(visit)(review.person))
    narrator = person.narrator("coach", imperial=visit.is_imperial)
    assert person.history is not None
    done = accepting(person.planner, person.case, person.history, narrator.run)
    current = person.versions[-1].digest if person.versions else None
    return accepting_rows(done, narrator, current)
