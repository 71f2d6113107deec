"""A found flip in words: what to change, what comes of it, and how far the search went."""

from collections.abc import Iterator, Sequence

from assistant.explain.audited import Headline
from assistant.explain.flip import Flip, Move, Search
from assistant.explain.gap_words import TEST_WORDS, label_of, may_name, value_words
from assistant.explain.goals import Goal
from assistant.explain.numbers import own_numbers
from assistant.model.errors import EngineFault
from assistant.model.values import FactKey, Status, Value, spelled, split_key
from assistant.plan.phrases import sentence_case, wrapped
from assistant.plan.sentences import Narrator

_TESTS = {"=": "equals", "!=": "is_not", ">=": "at_least", "<=": "at_most", ">": "more_than", "<": "less_than"}  # fmt: skip
_MOST_NAMED = 3
# Levers are what may be changed from one week to the next; `what-if` takes any answer.
_NO_LEVERS = " What they wish, what they are and their health are not tried here; what-if shows any other answer."


def numbers_of_house(narrator: Narrator, search: Search) -> list[str]:
    """Return what is said of the numbers that this house set, on the way to the goal of a search."""
    heard = (each for each in search.rules if may_name(narrator, each.rule.id))
    return own_numbers(narrator, (name for each in heard for name in each.parameters))


def flip_text(
    narrator: Narrator,
    goal: Goal,
    search: Search,
    after: Sequence[Narrator],
    command: str,
    unset: Narrator | None = None,
) -> str:
    """Return what to change and what comes of it; `command` begins the one that shows it all.

    after: for each flip, the narrator of a whole run with its answers. unset: of one with the book's
    numbers in the place of those that the house set, where there are any on the way.
    Raises EngineFault if a whole run does not bear out what the search found.
    """
    rows = wrapped(f"{sentence_case(_question(narrator, goal))}.")
    if search.flips and not search.flips[0].moves:
        return "\n".join([*rows, "", "That is so already; nothing needs to change."]) + "\n"
    for number, flip in enumerate(search.flips):
        size = "Smallest change" if number == 0 else "Just as small"
        rows += ["", f"{size} (effort {flip.cost:g}):"]
        rows += (row for text in _moves(narrator, flip) for row in wrapped(text, "- "))
        *said, typed = _way(narrator, goal, flip, after[number], command)
        rows += (row for text in said for row in wrapped(text, "  ", "    "))
        rows.append(f"  {typed}")
    rows += ["", *wrapped(_proof(search))]
    tried = [key for key in search.levers if key not in search.fixed]
    is_whole = search.complete and not search.flips
    for title, keys in (
        (
            f"Of what a client can change, these can have a say{', all tried' if is_whole else ''}",
            tried,
        ),
        ("Not tried, since there is no other value to ask for", search.fixed),
    ):
        if keys:
            rows += wrapped(f"{title}: {', '.join(label_of(narrator, key) for key in keys)}.")
    if search.closed:
        rows += wrapped("Answers that this page leaves out can have a say, too; none was tried.")
    if unset is not None:
        rows += _with_the_books_numbers(narrator, goal, search, unset)
    return "\n".join(rows) + "\n"


def _with_the_books_numbers(
    narrator: Narrator, goal: Goal, search: Search, unset: Narrator
) -> list[str]:
    """Say which numbers of the house have a say, and what the book's own would make of the goal."""
    rows = ["", "Numbers of this house that have a say:"]
    rows += (row for said in numbers_of_house(narrator, search) for row in wrapped(said, "- "))
    fact = unset.run.facts.get(goal.key)
    value = None if fact is None else fact.value
    alone = "; that alone does it" if goal.is_met(value) else ""
    said = "left out" if unset.hides(goal.key) else _value(unset, goal.key, value)
    label = label_of(narrator, goal.key)
    return [*rows, *wrapped(f"With the book's numbers in their place: {label} {said}{alone}.")]


def _question(narrator: Narrator, goal: Goal) -> str:
    label = label_of(narrator, goal.key)
    now = _value(narrator, goal.key, goal.now)
    if not goal.sign:
        return f"{label}: now {now}; asked for: any other conclusion"
    wanted = goal.wanted
    if goal.sign in {"has", "lacks"}:
        wanted = (str(wanted),)
    words = TEST_WORDS[_TESTS.get(goal.sign, goal.sign)].format(
        want=_value(narrator, goal.key, wanted)
    )
    return f"{label}: now {now}; asked for: {words}"


def _value(narrator: Narrator, key: FactKey, value: Value | None) -> str:
    return "not concluded" if value is None else value_words(narrator, split_key(key)[0], value)


def _way(narrator: Narrator, goal: Goal, flip: Flip, after: Narrator, command: str) -> list[str]:
    """Return what then holds after a change and why, and the command that shows it all.

    Raises EngineFault if a whole run does not bear the change out.
    """
    fact = after.run.facts.get(goal.key)
    value = None if fact is None else fact.value
    if value != flip.value or not goal.is_met(value):
        raise EngineFault(f"the engine does not bear out the change found for `{goal.key}`")
    reason = after.reason(goal.key)
    typed = " ".join(f"{move.key}={spelled(move.after)}" for move in flip.moves)
    return [
        f"then: {label_of(narrator, goal.key)}: {_value(after, goal.key, value)}",
        *([f"because: {sentence_case(reason)}"] if reason else []),
        f"all of it: {command} {typed}",
    ]


def headline_rows(narrator: Narrator, found: Headline, command: str, further: str) -> list[str]:
    """Return what would flip a headline: what it is now, each move, what then holds, and the command for all of it.

    command: begins the one that shows a change whole. further: begins the one that searches on.
    """
    goal, search = found.goal, found.search
    rows = [
        f"{sentence_case(label_of(narrator, goal.key))}: now {_value(narrator, goal.key, goal.now)}"
    ]
    if found.after is None:
        again = "" if search.complete else f" Search on: {further} {goal.key}"
        return [*rows, f"{_proof(search)}{again}"]
    flip = search.flips[0]
    way = _way(narrator, goal, flip, found.after, command)
    return [*rows, *_moves(narrator, flip), *way]


def _moves(narrator: Narrator, flip: Flip) -> Iterator[str]:
    for move in flip.moves:
        words = [_value(narrator, move.key, each) for each in (move.before, move.after)]
        text = f"{label_of(narrator, move.key)}: {words[0]} -> {words[1]}"
        text += _alike(narrator, move)
        if isinstance(move.before, Status):
            text += " (not answered yet: this is what the answer would have to be)"
        yield text


def _alike(narrator: Narrator, move: Move) -> str:
    """Return the other values that do the same at the same effort; many figures as their span."""
    others = [_value(narrator, move.key, each) for each in move.alike]
    if not others:
        return ""
    if len(others) > _MOST_NAMED and not isinstance(move.alike[0], tuple | str):
        return f" (or, just as well: {len(others)} more steps from {others[0]} to {others[-1]})"
    return f" (or, just as well: {'; or '.join(others)})"


def _proof(search: Search) -> str:
    count = f"{search.tried} of {search.total} combinations of the declared steps were tried"
    note = ""
    if search.refused:
        note = (
            f" {search.refused} of them were passed over, because the screen would then take more "
            "out of the plan or no plan could be made."
        )
    if search.flips:
        return f"Nothing smaller does it: {count}, the cheapest first.{note}"
    if not search.levers:
        whose = "may be tried here" if search.closed else "a client can change"
        return f"Nothing that {whose} has a say in this.{_NO_LEVERS}"
    if search.complete and search.total == 1:
        return f"Nothing that a client can change leads to this, with the numbers in force.{_NO_LEVERS}"
    if search.complete:
        tried = f"all {search.tried} combinations of the declared steps were tried"
        return (
            f"There is no such change of these answers, with the numbers in force: {tried}.{note}"
        )
    return (
        f"None found up to effort {search.up_to:g}: {count}; dearer ones were not looked at.{note}"
    )
