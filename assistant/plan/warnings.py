"""Warnings that are open: since when, and what closes each. Accepting a review closes none."""

import datetime as dt
from collections.abc import Iterator, Mapping

from assistant.model.documents.flags import Flag
from assistant.model.documents.page_words import WarningWords
from assistant.model.values import split_key
from assistant.plan.digest import answers_behind
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator
from assistant.plan.special import shown_flags

_RECORD = "record"


def open_warnings(narrator: Narrator, since: Mapping[str, dt.date]) -> tuple[str, ...]:
    """Return one line for each warning in force, the most severe first; none for a client.

    since: by flag, the first day it is known to stand without a break. What merely informs is no
    warning, and under a stop the stop alone is named.
    """
    words = narrator.kb.plan.warnings
    if words is None or narrator.audience != "coach":
        return ()
    lines = []
    for record in shown_flags(narrator):
        flag = narrator.kb.flags[record["id"]]
        if record["severity"] == "inform":
            continue
        day = since.get(flag.id)
        slots = {
            "area": flag.area,
            "since": "" if day is None else day.isoformat(),
            "ways": words.joined.join(_ways(flag, narrator, words)) or words.otherwise,
        }
        text = narrator.phrases.render(words.now if day is None else words.since, slots.get)
        lines.append(sentence_case(text))
    return tuple(lines)


def _ways(flag: Flag, narrator: Narrator, words: WarningWords) -> Iterator[str]:
    """Yield what closes a warning: data, answers, or a decision that names its reason."""
    facts = narrator.kb.facts
    behind = {split_key(key)[0] for key in answers_behind(narrator.run, flag.id)}
    if flag.closes is not None and any(facts[fact].origin == _RECORD for fact in behind):
        yield narrator.phrases.render(words.by_record, {"closes": flag.closes}.get)
    asked = sorted(facts[fact].label for fact in behind if facts[fact].is_safety)
    if asked:
        yield narrator.phrases.render(words.by_answers, {"answers": "; ".join(asked)}.get)
    roles = list(flag.cleared.by) if flag.cleared is not None else []
    if flag.set_aside is not None:
        roles += narrator.kb.screen_words.deciding.coach_roles
    if roles:
        named = [narrator.phrases.label(role) for role in dict.fromkeys(roles)]
        yield narrator.phrases.render(words.by_decision, {"roles": ", ".join(named)}.get)
