"""A short message to the client, made of what a review decided and what its reader may see."""

from collections.abc import Iterator

from assistant.model.away import AwayKind
from assistant.model.derivation import items_in, word_in
from assistant.model.documents.message import MessageLine, MessageStep
from assistant.model.documents.page import LinePart
from assistant.model.values import split_key
from assistant.plan.lines import compose_lines
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped, withheld_outputs

_LOOK_AGAIN = "review.next_date"
_URGENCY = "screen.referral_urgency"


def client_message(
    name: str, narrator: Narrator, away: AwayKind | None = None
) -> tuple[str, str, str]:
    """Return greeting, sentences and closing of the message after a review, days as YYYY-MM-DD.

    narrator: words the review's run for the client, in their language. away: what the day is spent on.
    """
    words = narrator.kb.message
    most = int(narrator.kb.parameter_value(words.most_words, narrator.on).value)
    step = _step(narrator, away)
    greeting = narrator.phrases.render(words.greeting, {"name": name}.get)
    closing = narrator.phrases.render(words.closing_undated, {"next": step.next}.get)
    day = narrator.words_for(_LOOK_AGAIN)
    if day is not None and not narrator.hides(_LOOK_AGAIN) and not is_stopped(narrator.run):
        closing = narrator.phrases.render(words.closing, {"next": step.next, "date": day}.get)
    said = [step.say]
    # A day is written as three words.
    left = most - sum(len(text.split()) for text in (greeting, step.say, closing)) - 2
    waits = is_stopped(narrator.run) or _urgency(narrator) in words.urgent
    for sentence in () if waits else _sentences(narrator):
        left -= len(sentence.split())
        if left < 0:
            break
        said.append(sentence)
    return greeting, " ".join(said), closing


def _step(narrator: Narrator, away: AwayKind | None) -> MessageStep:
    words = narrator.kb.message
    urgency = _urgency(narrator)
    if urgency in words.urgent:
        return words.urgent[urgency]
    if is_stopped(narrator.run):
        return words.stopped
    decision = word_in(narrator.run.facts, "review.decision")
    step = words.decisions.get(decision, words.undecided)
    # Nobody who is ill is told to train; to see somebody comes first all the same.
    if away in words.away and decision != "refer":
        return step.model_copy(update={"next": words.away[away]})
    return step


def _urgency(narrator: Narrator) -> str:
    """Return how soon somebody should be seen, the soonest of all; empty where nobody should."""
    order = narrator.kb.facts[_URGENCY].choices
    told = [
        str(fact.value)
        for key, fact in narrator.run.facts.items()
        if split_key(key)[0] == _URGENCY and fact.value in order
    ]
    return max(told, key=order.index, default="")


def _sentences(narrator: Narrator) -> Iterator[str]:
    withheld, limits = (
        withheld_outputs(narrator.run),
        items_in(narrator.run.facts, "training.limits"),
    )
    silent = narrator.kb.plan.silenced(withheld, limits, "client")
    said: set[str] = set()
    for line in narrator.kb.message.lines:
        if said & set(line.unless_said) or line.as_line in silent or not _holds(line, narrator):
            continue
        part = LinePart(line=line.line, about=(line.about,), coach=line.say)
        for composed in compose_lines(part, narrator):
            said.add(line.line)
            yield composed.text


def _holds(line: MessageLine, narrator: Narrator) -> bool:
    fact = narrator.run.facts.get(line.about)
    if fact is None:
        return False
    if line.value is not None:
        return fact.value == line.value
    return fact.value is not False and fact.value != ()
