"""A number of the rule book: what it is, who reads it, and how this house sets it within its range."""

from dataclasses import dataclass
from functools import lru_cache

from starlette.responses import Response

from assistant.casefiles.house import change_of, checked_change
from assistant.clients.compare import moved_by
from assistant.clients.settings import changes_of, keep_settings, settings_with
from assistant.knowledge.walk import parameters_read
from assistant.model.errors import InputProblems
from assistant.model.parameters import Change, Parameter
from assistant.quality.card import source_lines
from assistant.quality.words import Words
from assistant.web.visit import NotHere, Visit

_HELD = "number"
_FIELDS = {"VALUE": "value", "--by": "by", "--reason": "reason"}


@dataclass
class _Proposed:
    """A change that is looked at before it is kept. book: the logic of the book it was shown with."""

    change: Change
    book: str = ""


def number(visit: Visit) -> Response:
    """Show a number. Raises NotHere."""
    return _shown(visit, _parameter(visit, visit.path["id"]))


def propose(visit: Visit) -> Response:
    """Take a change in hand and go to what it moves; the same form where it is not allowed."""
    parameter = _parameter(visit, visit.path["id"])
    kb, on = visit.desk.kb, visit.desk.on
    if visit.serving.house is None:
        raise NotHere
    typed = {name: visit.sent(name) for name in _FIELDS.values()}
    by = visit.here.name or typed["by"]
    try:
        value = float(typed["value"].replace(",", "."))
    except ValueError:
        text = f"“{typed['value']}” is not a number; write it like {parameter.values[-1].value:g}"
        return _shown(visit, parameter, typed, {"value": text})
    try:
        change = change_of(kb, parameter.id, value, on, by=by, reason=typed["reason"])
        checked_change(kb, change)
    except InputProblems as problems:
        told = {_FIELDS.get(each.place, "value"): each.text for each in problems.problems}
        return _shown(visit, parameter, typed, told)
    visit.here.held[_HELD] = _Proposed(change)
    return visit.go("/book/moves")


def moves(visit: Visit) -> Response:
    """Show whose plans a proposed change moves, before it may be kept."""
    proposed = _in_hand(visit)
    if proposed is None:
        return visit.go("/book", "There is no change in hand.")
    change = proposed.change
    handles = {client.token: client for client in visit.records.clients()}
    people = ((client.token, person) for client, person in visit.desk.everybody(visit.records))
    now = visit.desk.planner
    then = lru_cache(lambda _: now.with_numbers({change.parameter: change.now}))
    found = list(moved_by(people, lambda planner: then(planner.on)))
    broken = any(each.is_broken for each in found)
    proposed.book = "" if broken else visit.desk.kb.logic_hash
    return visit.show(
        "trainer/moves.html",
        change=change,
        parameter=_parameter(visit, change.parameter),
        unit=Words(visit.desk.kb).unit(visit.desk.kb.parameters[change.parameter].unit),
        moves=found,
        clients=handles,
        broken=broken,
    )


def keep(visit: Visit) -> Response:
    """Keep the change in the house's file, once it was shown whose plans it moves."""
    proposed, house = _in_hand(visit), visit.serving.house
    if proposed is None or house is None:
        return visit.go("/book", "There is no change in hand.")
    change = proposed.change
    page = f"/book/number/{change.parameter}"
    if visit.sent("do") == "drop":
        del visit.here.held[_HELD]
        return visit.go(page, "Nothing was changed.")
    if proposed.book != visit.desk.kb.logic_hash:
        # The book moved on, or what was shown let nobody keep it: it is looked at again first.
        return visit.go("/book/moves")
    keep_settings(house, settings_with(visit.serving.rules, house, change))
    del visit.here.held[_HELD]
    return visit.go(page, f"Kept: {change.was:g} → {change.now:g}, with who and why.")


def _in_hand(visit: Visit) -> _Proposed | None:
    held = visit.here.held.get(_HELD)
    return held if isinstance(held, _Proposed) else None


def _parameter(visit: Visit, name: str) -> Parameter:
    found = visit.desk.kb.parameters.get(name)
    if found is None:
        raise NotHere
    return found


def _shown(
    visit: Visit,
    parameter: Parameter,
    typed: dict[str, str] | None = None,
    problems: dict[str, str] | None = None,
) -> Response:
    kb, house = visit.desk.kb, visit.serving.house
    dated = parameter.in_force(visit.desk.on)
    return visit.show(
        "trainer/number.html",
        400 if problems else 200,
        parameter=parameter,
        unit=Words(kb).unit(parameter.unit),
        own=kb.overlay.get(parameter.id),
        dated=dated,
        sources=source_lines(parameter.source, kb),
        source_of=kb.sources,
        readers=[rule for rule in kb.rules.values() if parameter.id in parameters_read(rule)],
        changes=[each for each in changes_of(house) if each.parameter == parameter.id],
        may_change=house is not None,
        typed=typed or {"value": "", "by": visit.here.name, "reason": ""},
        problems=problems or {},
    )
