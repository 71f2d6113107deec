"""A gym's own folder: everything in it is signed, and nothing in it lets more through than the book does."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from assistant.knowledge.checks.flags import spread
from assistant.knowledge.draft import Draft
from assistant.knowledge.files import HOUSE, SourceFile
from assistant.model.base import Document
from assistant.model.documents.flags import SEVERITIES, URGENCIES, Decided, Flag, Referral
from assistant.model.errors import Problem
from assistant.model.laws import HOUSE_DOCUMENTS, HOUSE_KINDS, LOCKED
from assistant.model.questions import Question
from assistant.model.rules import Rule

_ADDED_ONLY = {
    "fact": "answers and conclusions of the book keep their meaning; add one under another id",
    "source": "what the book says of a source stays; add yours under another id",
}
# Of a replaced question only the words may differ: who is asked decides what silence costs.
_WHO_IS_ASKED = (
    "section",
    "ask_if",
    "otherwise",
    "suggestion",
    "no_means",
    "self_yes_means",
    "needs_one",
)
_NO_WEAKER = "a house may be more careful than the book, never less"


def misplaced_in_house(files: Collection[SourceFile]) -> Iterator[Problem]:
    """Yield the files of a folder that no house lays over the book."""
    for file in files:
        if file.layer != HOUSE or file.kind in HOUSE_KINDS or file.path.stem in HOUSE_DOCUMENTS:
            continue
        text = (
            f"`{file.path.name}` stays as it is in the book; a house lays over rules, tables/, flags/, facts/, "
            "parameters/, sources/, questions/, how_to/, poses/, languages/, exercises.yaml, wording.yaml"
        )
        yield Problem(file.shown, "not-for-a-house", text)


def check_house(draft: Draft) -> Iterator[Problem]:
    """Yield what is wrong with what a folder lays over the book; nothing where there is none."""
    tells = draft.overrides.reasons
    for name, sign in draft.house.items():
        if not tells.tells(sign.reason):
            text = f"`{sign.reason}` tells nobody why; {tells.wanted}"
            yield Problem(str(draft.places[name]), "empty-reason", text)
    for (kind, name), before in draft.replaced.items():
        yield from _replaced(draft, kind, name, before)
    for name in draft.house:
        rule = draft.rules.get(name)
        if rule is not None:
            yield from _rule(draft, rule)


def _replaced(draft: Draft, kind: str, name: str, before: Any) -> Iterator[Problem]:
    label = name if kind == "rule" else f"{kind}:{name}"
    if kind != "part" and label not in draft.house:
        return  # laid over by a file that is only tried
    text = None
    if kind in _ADDED_ONLY:
        text = f"`{name}` is the book's: {_ADDED_ONLY[kind]}"
    elif kind == "parameter":
        text = f"`{name}` is the book's: set it under `parameters:` in house.yaml, within its range"
    elif kind in {"section", "tick_list", "typed_word"}:
        text = f"`{name}` is the book's; add one under another id"
    elif isinstance(before, Question):
        now = next(each for each in draft.questions if each.fact == name)
        field = next((f for f in _WHO_IS_ASKED if getattr(now, f) != getattr(before, f)), None)
        text = (
            field
            and f"`{field}` of the question `{name}` differs from the book's; change its words alone"
        )
    if text:
        yield Problem(draft.place(kind, name), "not-for-a-house", text)
    if isinstance(before, Flag):
        yield from _flag(draft, draft.flags[name], before)
    elif isinstance(before, Rule):
        yield from _brakes(draft, draft.rules[name], before)
    elif kind == "part" and name.startswith("exercise:"):
        yield from _exercise(draft, name, before)


def _rule(draft: Draft, rule: Rule) -> Iterator[Problem]:
    """A rule of a house: outside of the screen, and behind the brakes of what it takes the place of."""
    if draft.places[rule.id].file in {draft.places[f"flag:{flag}"].file for flag in draft.flags}:
        return  # made from a flag, which is held to the book's by itself
    if rule.stage == "screen":
        text = f"`{rule.id}` is a rule of the screen; a house screens with a flag of its own (flags/NAME.yaml)"
        yield Problem(draft.place("rule", rule.id, "stage"), "weakened-screen", text)
    for number, conclusion in enumerate(rule.then):
        if _is_locked(conclusion.fact):
            text = f"no house rule says what `{conclusion.fact}` is; {_NO_WEAKER}"
            yield Problem(draft.place("rule", rule.id, "then", number), "locked-fact", text)
    for number, name in enumerate(rule.overrides):
        other = draft.rules.get(name)
        if other is not None and name not in draft.house:
            at = draft.place("rule", rule.id, "overrides", number)
            yield from _brakes(draft, rule, other, at)


def _brakes(draft: Draft, rule: Rule, before: Rule, at: str | None = None) -> Iterator[Problem]:
    """Every brake of a rule of the book stays on what stands in its place."""
    place = at or draft.place("rule", rule.id, "unless")
    locked = next((each.fact for each in before.then if _is_locked(each.fact)), None)
    if locked is not None:
        text = f"`{before.id}` says what `{locked}` is, and stays as it is; {_NO_WEAKER}"
        yield Problem(place, "locked-fact", text)
        return
    kept = [_plain(each) for each in rule.unless]
    for brake in before.unless:
        if _plain(brake) not in kept:
            text = f"`{before.id}` waits where {_clause(brake)}; keep this under `unless`"
            yield Problem(place, "lost-brake", text)


def _flag(draft: Draft, flag: Flag, before: Flag) -> Iterator[Problem]:
    """A flag in the place of the book's finds as much, takes out as much, and sends to the same people as soon."""
    for field, text in (*_lesser(draft, flag, before), *_unsaid(flag, before)):
        place = draft.place("flag", flag.id, field)
        yield Problem(place, "weakened-flag", f"{text}; {_NO_WEAKER}")


def _lesser(draft: Draft, flag: Flag, before: Flag) -> Iterator[tuple[str, str]]:
    if SEVERITIES.index(flag.severity) > SEVERITIES.index(before.severity):
        said = f"`{flag.id}` is a {flag.severity} here and a {before.severity} in the book"
        yield "severity", said
    lost = spread(before.withheld, draft) - spread(flag.withheld, draft)
    if lost:
        yield "withheld", f"`{flag.id}` no longer takes out {', '.join(sorted(lost))}"
    if {*flag.covers} - {*before.covers}:
        yield "covers", f"`{flag.id}` hides more than in the book"
    for kind in ("cleared", "set_aside"):
        if _frees_more(draft, getattr(flag, kind), getattr(before, kind)):
            yield kind, f"a decision on `{flag.id}` frees more here than in the book"


def _unsaid(flag: Flag, before: Flag) -> Iterator[tuple[str, str]]:
    reasons = {each.id: _reads(each) for each in flag.raised_by}
    for reason in before.raised_by:
        if reasons.get(reason.id) != _reads(reason):
            yield "raised_by", f"`{reason.id}` no longer raises `{flag.id}` as the book does"
    for who in before.refer:
        if not any(_as_soon(each, who) for each in flag.refer):
            yield "refer", f"`{flag.id}` no longer sends to the {who.to} ({who.urgency})"
    if before.first_steps and flag.first_steps != before.first_steps:
        yield "first_steps", f"what to do first under `{flag.id}` stays word for word"


def _frees_more(draft: Draft, now: Decided | None, before: Decided | None) -> bool:
    """Tell whether a decision leaves less than in the book, or is somebody else's, too."""
    if now is None:
        return False
    wider = {*getattr(now, "by", ())} - {*getattr(before, "by", ())}
    return before is None or bool(
        wider or spread(before.withheld, draft) - spread(now.withheld, draft)
    )


def _exercise(draft: Draft, name: str, before: Mapping[str, Any]) -> Iterator[Problem]:
    """An exercise keeps what a limit or a sore joint looks at."""
    row = draft.exercises.by_id.get(name.partition(":")[2])
    if row is None:
        return
    loads = draft.exercises.axial_loads
    lost = [
        *({*before["flags"]} - {*row.flags}),
        *({*before["joint_stress"]} - {*row.joint_stress}),
    ]
    if row.axial_load in loads and loads.index(row.axial_load) < loads.index(before["axial_load"]):
        lost.append(f"axial_load {before['axial_load']}")
    if lost:
        text = f"`{row.id}` no longer says {', '.join(sorted(lost))}, so a limit would miss it; {_NO_WEAKER}"
        yield Problem(str(draft.places[name]), "weakened-exercise", text)


def _is_locked(fact: str) -> bool:
    return any(fact == each or (each.endswith(".") and fact.startswith(each)) for each in LOCKED)


def _plain(document: Document) -> Any:
    return document.model_dump(mode="json", by_alias=True, exclude_none=True)


def _reads(reason: Any) -> Any:
    fields = {"for_each", "when", "unless", "excused_by"}
    return reason.model_dump(mode="json", by_alias=True, exclude_none=True, include=fields)


def _as_soon(now: Referral, before: Referral) -> bool:
    return (
        now.to == before.to
        and URGENCIES.index(now.urgency) <= URGENCIES.index(before.urgency)
        and [_plain(each) for each in (*now.when, *now.excused_by)]
        == [_plain(each) for each in (*before.when, *before.excused_by)]
    )


def _clause(clause: Document) -> str:
    return " ".join(f"{field} {value}" for field, value in _plain(clause).items())
