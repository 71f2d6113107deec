"""`whyplan flip CASE FACT [TARGET]`: the smallest change of answers that changes a conclusion."""

import argparse
import dataclasses

from assistant.calculate.registry import CALCULATORS
from assistant.cli.person import Asked, asked_about, command_again, print_by_hand, what_is_meant
from assistant.explain.flip import Search, find_flip
from assistant.explain.flip_text import flip_text, numbers_of_house
from assistant.explain.goals import read_goal
from assistant.explain.levers import levers_of
from assistant.model.errors import InputProblems, Problem
from assistant.model.values import FactKey
from assistant.plan.sentences import Narrator


def run(args: argparse.Namespace) -> int:
    """Print the change; 1 if none was found."""
    one = asked_about(args)
    key = _key(args, one)
    run_ = one.narrator.run
    now = run_.facts.get(key)
    goal = read_goal(one.person.planner.kb, key, None if now is None else now.value, args.target)
    closed = frozenset(k for k in levers_of(one.person.planner.kb) if one.narrator.hides(k))
    search = find_flip(
        one.person.planner.compiled, run_, CALCULATORS, goal, closed, max(args.most, 1)
    )
    after = [one.beside(one.person.answering(flip.answers)) for flip in search.flips]
    command = command_again(args, "what-if")
    print_by_hand(one.narrator, (key,))
    unset = _unset(one, search)
    print(flip_text(one.narrator, goal, search, after, command, unset), end="")
    return 0 if search.flips else 1


def _key(args: argparse.Namespace, one: Asked) -> FactKey:
    """Return the one conclusion asked about. Raises InputProblems."""
    asked = what_is_meant(one, args.fact)
    if asked.rule_id or len(asked.keys) != 1 or asked.value:
        text = "name one conclusion, e.g. dose.sessions_per_week[lats]; a target stands behind it"
        raise InputProblems([Problem(args.fact, "not-a-conclusion", text)])
    (key,) = asked.keys
    if one.narrator.hides(key):
        text = "this page leaves that out, so nothing is searched for it"
        raise InputProblems([Problem(args.fact, "left-out", text)])
    return key


def _unset(one: Asked, search: Search) -> Narrator | None:
    """Return the narrator of a whole run with the book's numbers; None where the house set none on the way."""
    if not numbers_of_house(one.narrator, search):
        return None
    planner = one.person.planner
    said = {name: planner.kb.book_says(name, planner.on) for name in planner.kb.overlay}
    books = planner.with_numbers({name: each for name, each in said.items() if each is not None})
    return one.beside(dataclasses.replace(one.person, planner=books))
