"""Flags: no decision and no stronger flag makes a flag say less, and something raises each of them.

That what a flag's document names exists is checked with all other documents.
"""

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.flag_rules import FOUND, WITHHELD
from assistant.model.documents.flags import SEVERITIES, Decided, Flag
from assistant.model.errors import Problem
from assistant.model.laws import STOPS


def check_flags(draft: Draft) -> list[Problem]:
    """Return what is wrong with the flags of a book; a book without flags has nothing to say."""
    if not draft.flags:
        return []
    if "flags" not in draft.files:
        place = draft.place("flag", min(draft.flags))
        text = "flags need `flags.yaml` with what all of them share"
        return [Problem(place, "missing-file", text)]
    raised = {c.item for rule in draft.rules.values() for c in rule.then if c.add == FOUND}
    problems: list[Problem] = []
    for flag in draft.flags.values():
        scope = Scope(draft, "flag", flag.id)
        if flag.id in STOPS and flag.severity != "stop":
            text = f"`{flag.id}` stops everything in every book; write `severity: stop`"
            scope.problem(("severity",), "weakened-stop", text)
        _covers(flag, scope)
        for kind in ("cleared", "set_aside"):
            _decided(flag, kind, scope)
        if flag.id not in raised:
            text = f"no rule raises `{flag.id}`; write what does under `raised_by`"
            scope.problem(("raised_by",), "never-raised", text)
        problems.extend(scope.problems)
    return problems


def spread(names: tuple[str, ...], draft: Draft) -> set[str]:
    """Return the outputs behind names of outputs and of groups of them."""
    groups = draft.facts[WITHHELD].groups
    return {each for name in names for each in groups.get(name, (name,))}


def _covers(flag: Flag, scope: Scope) -> None:
    """A flag may only hide one that is no stronger and takes nothing out that it leaves in."""
    draft = scope.draft
    for number, name in enumerate(flag.covers):
        path = ("covers", number)
        other = draft.flags.get(name)
        if other is None:
            continue
        if flag.id in other.covers or flag.id == name:
            scope.problem(path, "circle", f"`{name}` covers `{flag.id}`, which covers it")
        if SEVERITIES.index(other.severity) < SEVERITIES.index(flag.severity):
            text = f"`{name}` is a {other.severity}, stronger than this flag, so nothing hides it"
            scope.problem(path, "weaker-cover", text)
        lost = spread(other.withheld, draft) - spread(flag.withheld, draft)
        if lost:
            text = (
                f"`{name}` also takes out {', '.join(sorted(lost))}; a flag that hides it must too"
            )
            scope.problem(path, "weaker-cover", text)


def _decided(flag: Flag, kind: str, scope: Scope) -> None:
    decided: Decided | None = getattr(flag, kind)
    if decided is None:
        return
    more = spread(decided.withheld, scope.draft) - spread(flag.withheld, scope.draft)
    if more:
        listed = ", ".join(sorted(more))
        text = f"a decision leaves less, yet takes out {listed}, which the flag does not"
        scope.problem((kind, "withheld"), "stronger-decision", text)
