"""Flags: what a flag's document names exists, and no decision or stronger flag makes it say less."""

from collections.abc import Iterable

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.flag_rules import FOUND, WITHHELD
from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import Problem
from assistant.model.flags import SEVERITIES, Cleared, Decided, Flag, FlagShelf
from assistant.model.rules import Rule


def check_flags(draft: Draft) -> list[Problem]:
    """Return what is wrong with the flags of a book; a book without flags has nothing to say."""
    shelf = draft.flag_words
    if not draft.flags:
        return []
    if shelf is None:
        place = draft.place("flag", min(draft.flags))
        text = "flags need `flags.yaml` with what all of them share"
        return [Problem(place, "missing-file", text)]
    problems = _shelf(draft, shelf)
    raised = _raised(draft.rules.values())
    for flag in draft.flags.values():
        scope = Scope(draft, "flag", flag.id)
        _names(flag, shelf, scope)
        _covers(flag, scope)
        for kind in ("cleared", "set_aside"):
            _decided(flag, kind, shelf, scope)
        if flag.id not in raised:
            text = f"no rule raises `{flag.id}`; write what does under `raised_by`"
            scope.problem(("raised_by",), "never-raised", text)
        problems.extend(scope.problems)
    return problems


def _raised(rules: Iterable[Rule]) -> set[object]:
    return {c.item for rule in rules for c in rule.then if c.add == FOUND}


def _shelf(draft: Draft, shelf: FlagShelf) -> list[Problem]:
    """Every role and output has its words; what silence raises and what is watched exists."""
    scope = Scope(draft, "document", "flags")
    for domain, words in (("role", shelf.roles), ("output", shelf.outputs)):
        ids = draft.book.domains.get(domain, ())
        for missing in sorted(set(ids) - set(words)):
            text = f"{domain} `{missing}` has no words here"
            scope.problem((f"{domain}s",), "missing-words", text)
        for name in words:
            _known(name, ids, domain, (f"{domain}s", name), scope)
    for tier, silence in shelf.unanswered.tiers.items():
        _known(silence.flag, draft.flags, "flag", ("unanswered", "tiers", tier, "flag"), scope)
    for number, fact in enumerate(shelf.deciding.watched):
        _known(fact, draft.facts, "fact", ("deciding", "watched", number), scope)
    _known(shelf.deciding.changed, draft.facts, "fact", ("deciding", "changed"), scope)
    return list(scope.problems)


def _known(
    name: str, known: Iterable[str], kind: str, path: tuple[str | int, ...], scope: Scope
) -> None:
    if name not in known:
        text = f"`{name}` is no {kind}{did_you_mean(name, known)}"
        scope.problem(path, f"unknown-{kind}", text)


def _names(flag: Flag, shelf: FlagShelf, scope: Scope) -> None:
    _known(flag.training, shelf.trainings, "training", ("training",), scope)
    _outputs(flag.withheld, ("withheld",), scope)
    for number, refer in enumerate(flag.refer):
        path = ("refer", number)
        _known(refer.to, shelf.roles, "role", (*path, "to"), scope)
        if (refer.when or refer.excused_by) and refer.tests is None:
            text = "a referral with conditions of its own needs `tests`"
            scope.problem(path, "missing-field", text)


def _outputs(names: tuple[str, ...], path: tuple[str, ...], scope: Scope) -> None:
    groups = scope.draft.facts[WITHHELD].groups
    known = (*scope.draft.book.domains.get("output", ()), *groups)
    for number, name in enumerate(names):
        _known(name, known, "output", (*path, number), scope)


def _spread(names: tuple[str, ...], draft: Draft) -> set[str]:
    groups = draft.facts[WITHHELD].groups
    return {each for name in names for each in groups.get(name, (name,))}


def _covers(flag: Flag, scope: Scope) -> None:
    """A flag may only hide one that is no stronger and takes nothing out that it leaves in."""
    draft = scope.draft
    for number, name in enumerate(flag.covers):
        path = ("covers", number)
        _known(name, draft.flags, "flag", path, scope)
        other = draft.flags.get(name)
        if other is None:
            continue
        if flag.id in other.covers or flag.id == name:
            scope.problem(path, "circle", f"`{name}` covers `{flag.id}`, which covers it")
        if SEVERITIES.index(other.severity) < SEVERITIES.index(flag.severity):
            text = f"`{name}` is a {other.severity}, stronger than this flag, so nothing hides it"
            scope.problem(path, "weaker-cover", text)
        lost = _spread(other.withheld, draft) - _spread(flag.withheld, draft)
        if lost:
            text = (
                f"`{name}` also takes out {', '.join(sorted(lost))}; a flag that hides it must too"
            )
            scope.problem(path, "weaker-cover", text)


def _decided(flag: Flag, kind: str, shelf: FlagShelf, scope: Scope) -> None:
    decided: Decided | None = getattr(flag, kind)
    if decided is None:
        return
    _outputs(decided.withheld, (kind, "withheld"), scope)
    _known(decided.training, shelf.trainings, "training", (kind, "training"), scope)
    more = _spread(decided.withheld, scope.draft) - _spread(flag.withheld, scope.draft)
    if more:
        text = f"a decision leaves less, yet takes out {', '.join(sorted(more))}, which the flag does not"
        scope.problem((kind, "withheld"), "stronger-decision", text)
    if isinstance(decided, Cleared):
        for number, role in enumerate(decided.by):
            _known(role, shelf.roles, "role", (kind, "by", number), scope)
