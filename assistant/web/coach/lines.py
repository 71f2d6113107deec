"""Lines of a plan that a coach may change by hand, as a form offers them; and changing one."""

import math
from collections.abc import Mapping

from starlette.responses import Response

from assistant.clients import by_hand
from assistant.clients.by_hand import Overrides, open_lines, with_one_more, with_overrides
from assistant.clients.person import Person
from assistant.model.values import split_key
from assistant.plan.by_hand import Room
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator
from assistant.web.coach.forms import by_of, day_of, mark_of, marked
from assistant.web.visit import Visit


def line_choices(rooms: Mapping[str, Room], narrator: Narrator) -> list[tuple[str, str]]:
    """Return the lines that may be changed with what they say now and how far they may go, in words."""
    return [(line, _words(room, narrator)) for line, room in rooms.items()]


def _words(room: Room, narrator: Narrator) -> str:
    fact_id, element = split_key(room.fact)
    phrases = narrator.phrases
    name = sentence_case(narrator.kb.facts[fact_id].label)
    if element is not None:
        name = f"{name}, {phrases.label(element)}"
    unit = phrases.unit_of(fact_id)
    low, high = room.span
    span = f"; {_inside(low, up=True)} to {_inside(high, up=False)} {unit}".rstrip()
    return f"{name}: now {_plain(room.value)}{'' if low is None or high is None else span}"


def _inside(bound: float | str | None, *, up: bool) -> str:
    """Return a bound with at most one decimal that is still allowed itself."""
    if not isinstance(bound, float | int):
        return _plain(bound)
    return _plain((math.ceil if up else math.floor)(bound * 10 + (-1e-9 if up else 1e-9)) / 10)


def _plain(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float | int) else str(value).replace("_", " ")


def change(visit: Visit) -> Response:
    """Show what a change moves, or keep it with who and why."""
    line, to, by, reason = visit.sent("line"), visit.sent("to"), by_of(visit), visit.sent("reason")
    until = day_of(visit, "until")

    def changed(now: Person) -> Overrides:
        return with_one_more(now, line, to, by=by, reason=reason, until=until)

    if visit.sent("do") != "keep":
        after = with_overrides(visit.person, changed(visit.person))
        return show(visit, by_hand.moves(visit.person, after))
    version = by_hand.keep(visit.desk, visit.records, visit.client.handle, changed, by, reason)
    return _kept(visit, version.number)


def withdraw(visit: Visit) -> Response:
    """Take a change back, with who and why."""
    change = marked(visit, [each.change for each in by_hand.listed(visit.person)])
    version = by_hand.keep(
        visit.desk,
        visit.records,
        visit.client.handle,
        lambda now: by_hand.without(now, change),
        by_of(visit),
        visit.sent("reason"),
    )
    return _kept(visit, version.number)


def _kept(visit: Visit, number: int) -> Response:
    here = f"/desk/c/{visit.client.token}/override"
    return visit.go(here, f"Kept: version {number} of the plan.")


def show(visit: Visit, moves: list[str] | None = None) -> Response:
    """Show which lines may be changed, and which are. moves: what a change would move, in words."""
    person = visit.person
    narrator = person.narrator("coach", imperial=visit.is_imperial)
    return visit.show(
        "coach/lines.html",
        lines=line_choices(open_lines(person), narrator),
        listed=[(mark_of(each.change), each) for each in by_hand.listed(person)],
        moves=moves,
    )
