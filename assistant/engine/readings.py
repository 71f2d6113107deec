"""How one clause reads the facts of a case: three-valued, with the distance to its line.

unknown and declined answers make a clause unknown; "there is none" and "does not apply" make it
false. A conclusion that nobody drew is unknown in `when` and does not hold in a brake or excuse.
"""

from collections.abc import Callable
from typing import NamedTuple

from assistant.engine.bound import BoundClause
from assistant.engine.terms import CaseFacts, FactRef, Known, Literal, evaluate, number
from assistant.model.derivation import Holds, Reading
from assistant.model.errors import EngineFault
from assistant.model.facts import FactType
from assistant.model.values import Status, Value

# Every comparison becomes a sign (have against want) and a test of that sign against nought.
SIGN_TESTS: dict[str, tuple[str, Callable[[int], bool]]] = {
    "at_least": (">=", lambda sign: sign >= 0),
    "at_most": ("<=", lambda sign: sign <= 0),
    "more_than": (">", lambda sign: sign > 0),
    "less_than": ("<", lambda sign: sign < 0),
    "equals": ("==", lambda sign: sign == 0),
    "is_not": ("!=", lambda sign: sign != 0),
    "one_of": ("==", lambda sign: sign == 0),
    "has": ("==", lambda sign: sign == 0),
    "lacks": ("==", lambda sign: sign == 0),
    "not_empty": (">", lambda sign: sign > 0),
}
UNORDERED = frozenset({"equals", "is_not"})


class Weighed(NamedTuple):
    """What a clause wants and has, and whether it holds; `margin` is have minus want, of numbers.

    sign: how the two compare, where both have values. about: the fact it is about, where that is
    one of several.
    """

    want: Value | None
    have: Value | None
    holds: Holds
    margin: float | None = None
    sign: int | None = None
    about: str = ""


def read_clause(clause: BoundClause, facts: CaseFacts) -> Reading:
    """Return how a clause reads the facts, with its place in the rule."""
    found = weigh(clause, facts)
    return Reading(
        clause.role,
        clause.address,
        found.about or clause.label,
        clause.operator,
        found.want,
        found.have,
        found.holds,
        found.margin,
        clause.against,
    )


def weigh(clause: BoundClause, facts: CaseFacts) -> Weighed:
    """Work out both sides of a clause, and whether it holds."""
    if clause.operator == "status":
        return _weigh_status(clause, facts)
    if clause.counting == "true":
        return _weigh_count(clause, facts)
    if len(clause.subjects) > 1:
        return _weigh_lists(clause, facts)
    subject = clause.subjects[0]
    have, known = facts.look(subject)
    operand = clause.operand
    want: Value | None
    if operand is None:
        want = True if clause.counting == "items" else clause.options
    elif isinstance(operand, Literal):
        want = operand.value
    else:
        known, want = _operand(clause, facts, known)
    if clause.counting == "items" and isinstance(have, tuple):
        have = have if operand is None else float(len(have))
    if known is not Known.VALUE or have is None or want is None:
        return Weighed(want, have, _without_value(clause, known))
    margin = None
    if clause.operator == "not_empty":
        sign = len(have) if isinstance(have, tuple) else 0
    elif isinstance(have, float) and isinstance(want, float):
        margin = have - want
        sign = (margin > 0) - (margin < 0)
    else:
        sign = _sign(clause.operator, have, want, subject)
    holds = Holds.TRUE if SIGN_TESTS[clause.operator][1](sign) else Holds.FALSE
    return Weighed(want, have, holds, margin, sign)


def _without_value(clause: BoundClause, known: Known) -> Holds:
    """Return whether a clause holds of which a side has no value."""
    if known is Known.NO_VALUE or (known is Known.ABSENT and clause.role != "when"):
        return Holds.FALSE
    return Holds.UNKNOWN


def _weigh_lists(clause: BoundClause, facts: CaseFacts) -> Weighed:
    """Weigh a brake over several lists: it holds if one has the item, and is about that one."""
    assert isinstance(clause.operand, Literal)  # an output's id
    want = clause.operand.value
    looked = [(subject.key, facts.read(subject)) for subject in clause.subjects]
    having = [each for each in looked if isinstance(each[1], tuple) and want in each[1]]
    key, have = (having or looked)[0]
    return Weighed(want, have, Holds.TRUE if having else Holds.FALSE, about=key)


def _operand(clause: BoundClause, facts: CaseFacts, known: Known) -> tuple[Known, Value | None]:
    """Return the state of both sides together and the operand's value, if it has one.

    "There is none" outweighs an open question: no comparison with nothing can hold.
    """
    assert clause.operand is not None  # the caller checked
    states = [facts.look(ref)[1] for ref in clause.operand_reads]
    if all(state is Known.VALUE for state in states):
        return known, evaluate(clause.operand, facts).value
    states.append(known)
    for state in (Known.NO_VALUE, Known.UNANSWERED):
        if state in states:
            return state, None
    return Known.ABSENT, None


def _weigh_count(clause: BoundClause, facts: CaseFacts) -> Weighed:
    """Count the facts known to be true; unanswered ones only matter if they could tip it."""
    looked = [facts.look(ref) for ref in clause.subjects]
    count = sum(1 for value, _ in looked if value is True)
    unanswered = sum(1 for _, known in looked if known is Known.UNANSWERED)
    known, want = _operand(clause, facts, Known.VALUE)
    if known is not Known.VALUE or want is None:
        return Weighed(want, float(count), _without_value(clause, known))
    line, test = number(want), SIGN_TESTS[clause.operator][1]
    sign = _compare(count, line)
    holds = Holds.TRUE if test(sign) else Holds.FALSE
    if holds is Holds.FALSE and unanswered and test(_compare(count + unanswered, line)):
        holds = Holds.UNKNOWN
    return Weighed(want, float(count), holds, count - line, sign)


def _weigh_status(clause: BoundClause, facts: CaseFacts) -> Weighed:
    """Weigh a `status` clause, or the demand that a fact used in a conclusion has a value."""
    (subject,) = clause.subjects
    (want,) = clause.options
    have, known = facts.look(subject)
    if want in status_names(known, have):
        return Weighed(want, have, Holds.TRUE)
    is_open = clause.required and known is not Known.NO_VALUE
    return Weighed(want, have, Holds.UNKNOWN if is_open else Holds.FALSE)


def status_names(known: Known, value: Value | None) -> tuple[str, ...]:
    """Return the words a `status` clause may use for what is known of a fact."""
    if known is Known.VALUE:
        return ("known",)
    if known is Known.NO_VALUE:
        return (str(value),)
    name = value.value if isinstance(value, Status) else Status.UNKNOWN.value
    return (name, "unanswered")


def _sign(operator: str, have: Value, want: Value, subject: FactRef) -> int:
    """Return the sign that the operator's test is applied to."""
    if operator == "one_of":
        return 0 if isinstance(want, tuple) and have in want else 1
    if operator in {"has", "lacks"}:
        inside = isinstance(have, tuple) and want in have
        return 0 if inside == (operator == "has") else 1
    if operator in UNORDERED:
        return 0 if have == want else 1
    if subject.type is FactType.CHOICE:
        return _compare(_rank(subject, have), _rank(subject, want))
    if subject.type is FactType.DATE:
        return (str(have) > str(want)) - (str(have) < str(want))
    raise EngineFault(f"`{subject.key}` cannot be compared by `{operator}`: {have!r}, {want!r}")


def _rank(subject: FactRef, value: Value) -> int:
    """Return the place of a choice in its declared order."""
    if value not in subject.order:
        raise EngineFault(f"`{subject.key}` has no choice {value!r}")
    return subject.order.index(str(value))


def _compare(have: float, want: float) -> int:
    return (have > want) - (have < want)
