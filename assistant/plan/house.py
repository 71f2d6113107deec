"""What of a plan comes from the gym's own folder: who answers for it, and what of the folder is not in force."""

from collections.abc import Iterator

from assistant.model.derivation import items_in
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import HOUSE, Line
from assistant.model.programme import Programme
from assistant.plan.lines import compose_notes_of
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator


def compose_house(narrator: Narrator, programme: Programme | None) -> list[Line]:
    """Return the notes that a house's own rules say; for a coach also all else of the house that acts here."""
    notes = compose_notes_of(
        narrator, [key for key in narrator.yes if f"fact:{key}" in narrator.kb.house]
    )
    words = narrator.kb.plan.house
    if narrator.audience == "client" or words is None:
        return notes
    told = {key for line in notes for key in line.facts}
    lines = [*notes, *_acting(narrator, programme, told)]
    for name, sign in narrator.kb.asleep.items():
        slots = {"what": name, "dates": sign.dates, "told": sign.told}
        text = narrator.phrases.render(words.asleep, slots.get)
        lines.append(Line(f"{HOUSE}.asleep[{name}]", text, "", ()))
    return lines


def own_words(kb: KnowledgeBase, typed: str) -> str:
    """Return who answers for a thing of the house's own, by its name in the margin of a plan; else nothing."""
    kind, _, item = typed.strip().removeprefix(f"{HOUSE}.").partition(" ")
    name = item if kind == "rule" else f"{kind}:{item}"
    sign = kb.house.get(name) if typed.startswith(f"{HOUSE}.") else None
    return "" if sign is None else f"{item}: this house's own ({kb.places[name]}). {sign.told}."


def _acting(narrator: Narrator, programme: Programme | None, told: set[str]) -> Iterator[Line]:
    words = narrator.kb.plan.house
    assert words is not None  # the caller saw to it
    for name, what in _named(narrator, programme, told):
        slots = {"what": sentence_case(what), "told": narrator.kb.house[name].told}
        text = narrator.phrases.render(words.acts, slots.get)
        kind, _, item = name.partition(":")
        yield Line(f"{HOUSE}.{kind}[{item}]" if item else f"{HOUSE}.rule[{name}]", text, "", ())


def _named(
    narrator: Narrator, programme: Programme | None, told: set[str]
) -> Iterator[tuple[str, str]]:
    """Yield the house's own things that have a say in this plan, and what each is called."""
    kb, sessions = narrator.kb, () if programme is None else programme.sessions
    trained = {line.exercise for session in sessions for line in session.lines}
    flags = items_in(narrator.run.facts, "screen.flags")
    fired = {
        record.rule_id
        for record in narrator.run.records.fired()
        if not told & {item.fact for item in record.conclusions}
    }
    for name in kb.laid_over:
        kind, _, item = name.partition(":")
        if kind == "flag" and item in flags:
            yield name, f"flag {narrator.phrases.label(item)}"
        elif kind == "exercise" and item in trained:
            yield name, kb.exercises.by_id[item].name
        elif name in fired:
            yield name, f"rule {name}, {kb.rules[name].title}"
        elif kind == "wording":
            yield name, f"wording {item}"
