"""A number raised never gives less: of every number that says what it raises, over its range and all cases."""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from assistant.model.errors import Problem
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.values import FactKey, split_key
from assistant.quality.finding import from_problems
from assistant.quality.runner import Ran
from assistant.quality.sensitivity import Mover
from assistant.quality.suite import Checked, Options, Subject

# Values tried of a number: the ends of its range, what is in force, and some between.
_BETWEEN = 4
_ROUNDING = 1e-9

Figures = Mapping[tuple[str, FactKey], float]


def check_direction(subject: Subject, options: Options) -> Checked:
    """Tell of each number that lowers, somewhere in its range, what it is there to raise."""
    kb = subject.book
    mover = Mover(kb, options.cases, subject.calculators)
    marked = [parameter for parameter in kb.parameters.values() if parameter.raises]
    found = [problem for parameter in marked for problem in _falls(parameter, kb, mover)]
    said = f"{len(marked)} numbers raised through their ranges over {len(options.cases)} cases"
    return Checked("direction", tuple(from_problems(found, "direction")), said)


def _falls(parameter: Parameter, kb: KnowledgeBase, mover: Mover) -> Iterator[Problem]:
    """Yield the first fall of each fact that the number should raise."""
    now = mover.value(parameter.id)
    if now is None:
        return
    ladder = [(value, _figures(mover, parameter, value)) for value in _values(parameter, now)]
    for number, fact in enumerate(parameter.raises):
        fall = next(_falling(ladder, fact), None)
        if fall is not None:
            place = kb.place("parameter", parameter.id, "raises", number)
            text = (
                f"`{parameter.id}` {fall}; mend the rules that read it, or take it out of `raises`"
            )
            yield Problem(place, "falls", text)


def _values(parameter: Parameter, now: float) -> list[float]:
    """Values from the low end of the range to the high one, on its steps."""
    low, high = parameter.range
    steps = round((high - low) / parameter.step)
    between = {round(steps * part / (_BETWEEN + 1)) for part in range(_BETWEEN + 2)}
    return sorted({now, low, high, *(round(low + n * parameter.step, 9) for n in between)})


def _figures(mover: Mover, parameter: Parameter, value: float) -> Figures:
    """Every figure of the facts to raise, by case and key, with the number at a value."""
    return {
        (case.name, key): said
        for case, _, after in mover.tried(parameter.id, value)
        for key, said in _concluded(after)
        if split_key(key)[0] in parameter.raises
    }


def _concluded(run: Ran) -> Iterator[tuple[FactKey, float]]:
    for key, said in run.outcome.combined.items() if run.outcome else ():
        if isinstance(said.value, float):
            yield key, said.value


def _falling(ladder: list[tuple[float, Figures]], fact: str) -> Iterator[str]:
    """Yield what falls from one value of the number to the next."""
    for (lower, before), (higher, after) in pairwise(ladder):
        for (who, key), was in before.items():
            now = after.get((who, key))
            if split_key(key)[0] == fact and (now is None or now < was - _ROUNDING):
                told = "nothing" if now is None else f"{now:g}"
                yield f"from {lower:g} to {higher:g} lowers {key} of {who} from {was:g} to {told}"
