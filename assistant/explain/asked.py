"""What somebody means by the words they type: a line of the plan, a fact, in the order they fit."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.explain.gap_words import label_of
from assistant.model.errors import unknown
from assistant.model.plan import Line, Plan
from assistant.model.values import FactKey, split_key
from assistant.plan.sentences import Narrator

# Lists that are facts of their own only in the JSON plan, and the facts they are made of.
COMPOSITE = {"screen.referrals": "screen.referral_urgency", "week.structure": "week.day_type"}
_MOST_CANDIDATES = 5
_WORD = re.compile(r"[a-zäöüß0-9]+")


@dataclass(frozen=True)
class Meant:
    """What was found. name: of the line or fact. keys: the facts behind it. others: what fits as well, best first.

    line: the line of the plan that is meant; None for a fact.
    """

    name: str
    keys: tuple[FactKey, ...]
    others: tuple[str, ...] = ()
    line: Line | None = None


def meant(plan: Plan, narrator: Narrator, asked: str) -> Meant:
    """Return what is meant by a name or by words such as `protein` or `glutes sessions`.

    Raises InputProblems with the nearest names where nothing fits.
    """
    line, keys = _line(plan, asked), _by_name(plan, asked)
    if line is not None or keys:
        return Meant(asked if line is None else line.id, keys, line=line)
    typed_for = narrator.kb.wording.typed_for
    typed = " ".join(typed_for.get(word, word) for word in _WORD.findall(asked.casefold()))
    wanted = typed.split()
    scored = sorted(
        (-score, place, name)
        for place, (name, words) in enumerate(_called(plan, narrator))
        if (score := _fits(wanted, words))
    )
    if not scored:
        known = [*(line.id for line in plan.lines), *plan.facts]
        raise unknown(asked, known, "unknown-line", "this plan has no such line or fact")
    names = list(dict.fromkeys(name for _, _, name in scored))
    others = tuple(names[1 : _MOST_CANDIDATES + 1])
    return Meant(names[0], _by_name(plan, names[0]), others, _line(plan, names[0]))


def conclusion_meant(plan: Plan, narrator: Narrator, asked: str) -> FactKey:
    """Return the first conclusion behind what is meant by words. Raises InputProblems where there is none."""
    keys = meant(plan, narrator, asked).keys
    facts = narrator.kb.facts
    found = next((key for key in keys if facts[split_key(key)[0]].origin == "derived"), None)
    if found is None:
        known = [*(line.id for line in plan.lines if line.facts), *plan.facts]
        raise unknown(asked, known, "unknown-name", "no rule concludes this")
    return found


def _line(plan: Plan, asked: str) -> Line | None:
    """Return the line of that id, written out or as it stands in the margin of the text."""
    return next((line for line in plan.lines if asked in {line.id, line.typed}), None)


def _by_name(plan: Plan, asked: str) -> tuple[FactKey, ...]:
    line = _line(plan, asked)
    if line is not None:
        return line.facts
    if asked in plan.facts:
        return (asked,)
    family = COMPOSITE.get(asked, asked)
    return tuple(key for key in plan.facts if split_key(key)[0] == family)


def _called(plan: Plan, narrator: Narrator) -> Iterator[tuple[str, Sequence[str]]]:
    """Yield each line and visible fact with the texts that call it something, the telling ones first."""
    for section in plan.sections:
        for line in section.lines:
            if line.facts:
                yield line.id, (line.id, line.text, section.title)
    for key in plan.facts:
        yield key, (label_of(narrator, key), key)


def _fits(wanted: Sequence[str], texts: Sequence[str]) -> float:
    """Return how well words fit: every one must begin a word of the texts; earlier texts count more."""
    score = 0.0
    for word in wanted:
        found = [
            3.0 / (place + 1) + (0.5 if word == said else 0.0)
            for place, text in enumerate(texts)
            for said in _WORD.findall(text.casefold())
            if said.startswith(word) or word.rstrip("s") == said
        ]
        if not found:
            return 0.0
        score += max(found)
    # Of two that have all the words, the one with fewer others says it more nearly.
    return score + 1.0 / (1 + len(_WORD.findall(texts[0].casefold())))
