"""What accepting a review changes, figure by figure, as text: said before anybody accepts it."""

from collections.abc import Iterator, Mapping
from typing import Any

from assistant.explain.versions import changes
from assistant.model.documents.page_words import AcceptingWords
from assistant.model.values import Status
from assistant.plan.agreeing import Accepting
from assistant.plan.digest import plan_digest
from assistant.plan.phrases import underlined, wrapped
from assistant.plan.sentences import Narrator
from assistant.plan.visibility import is_stopped

_TARGET, _PHASE = "energy.target_kcal_per_day", "phase.now"
_AGREED = {_TARGET: "record.energy_target_kcal_per_day", _PHASE: "record.phase"}
_STEP, _MEASURED_STEP = "review.energy_step", "review.energy_step_measured"
_MEASURED = "energy.measured_kcal_per_day"


def accepting_text(
    done: Accepting, narrator: Narrator, current: Mapping[str, Any] | None = None
) -> str:
    """Return the figures before and after, and why food moves by more than a step where it does.

    narrator: who words the review. current: what is kept of the plan that runs; None where none is
    kept, and then what the record says was agreed stands for it. Empty under a stop.
    """
    words = narrator.kb.plan.accepting
    rows = accepting_rows(done, narrator, current)
    if words is None or not rows:
        return ""
    listed = [line for row in rows for line in wrapped(row, "- ")]
    return "\n".join([*underlined(words.title.to(narrator.audience)), *listed]) + "\n"


def accepting_rows(
    done: Accepting, narrator: Narrator, current: Mapping[str, Any] | None = None
) -> list[str]:
    """Return what accepting changes, a row each, as `accepting_text`."""
    words = narrator.kb.plan.accepting
    if words is None or is_stopped(narrator.run) or is_stopped(done.after):
        return []
    narrator = narrator.beside(done.after)
    before = _agreed_before(done) if current is None else current
    after = plan_digest(narrator.kb, done.after, narrator.on)
    rows = [each.words for each in changes(before, after, narrator)]
    rows += [*_of_food(before, after, narrator, words), *_of_training(done, narrator, words)]
    return rows or [words.nothing.to(narrator.audience)]


def _agreed_before(done: Accepting) -> dict[str, Any]:
    """Return the plan of the day with what the record says was agreed."""
    agreed = {
        name: done.before.facts[source].value
        for name, source in _AGREED.items()
        if source in done.before.facts
        and name in done.digest["facts"]
        and not isinstance(done.before.facts[source].value, Status)
    }
    return {**done.digest, "facts": {**done.digest["facts"], **agreed}}


def _of_food(
    before: Mapping[str, Any], after: Mapping[str, Any], narrator: Narrator, words: AcceptingWords
) -> Iterator[str]:
    """Say whether food moves by one step at most, and why where it moves by more."""
    old, new = before["facts"], after["facts"]
    if _TARGET not in old or _TARGET not in new or narrator.hides(_TARGET):
        return
    decimals = narrator.kb.facts[_TARGET].decimals
    change = abs(round(new[_TARGET], decimals) - round(old[_TARGET], decimals))
    if not change:
        return
    step = _MEASURED_STEP if _MEASURED in new or _MEASURED in old else _STEP
    most = narrator.kb.parameter_value(step, narrator.on).value
    if change <= most:
        said = words.step
    elif set(after["withheld"]) - set(before["withheld"]):
        said = words.by_screen
    elif old.get(_PHASE) != new.get(_PHASE):
        said = words.by_phase
    else:
        said = words.otherwise
    slots = {"change": f"{change:.0f}", "most": f"{most:.0f}"}
    yield narrator.phrases.render(said.to(narrator.audience), slots.get)


def _of_training(done: Accepting, narrator: Narrator, words: AcceptingWords) -> Iterator[str]:
    """Say what begins, where no figure of the plan tells it."""
    begins = {"rotate_block": words.block, "lighter_week": words.lighter}
    said = begins.get(str(done.digest["facts"].get("review.decision")))
    if said is not None:
        yield said.to(narrator.audience)
