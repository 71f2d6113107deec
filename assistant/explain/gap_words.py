"""Words for what keeps a rule from firing; figures that the reader may not see are left out."""

from collections.abc import Iterator

from assistant.engine.bound import BoundClause, BoundRule
from assistant.engine.compiled import CompiledBook
from assistant.engine.lookup import SCREEN_STAGE
from assistant.explain.gaps import Gap
from assistant.explain.why_not import Obstacle
from assistant.model.derivation import Derivation, Holds, Verdict
from assistant.model.facts import Combine, FactType
from assistant.model.values import FactKey, Status, Value, split_key
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator

LEFT_OUT = "reads something that this page leaves out"
_LEVELS_OF_REASONS = 3
_TOO_LITTLE = frozenset({"at_least", "more_than"})
_TOO_MUCH = frozenset({"at_most", "less_than"})
TEST_WORDS = {
    "at_least": "at least {want}",
    "at_most": "at most {want}",
    "more_than": "more than {want}",
    "less_than": "less than {want}",
    "equals": "{want}",
    "is_not": "anything but {want}",
    "one_of": "{want}",
    "none_of": "none of {want}",
    "has": "{want} among them",
    "lacks": "{want} not among them",
    "status": "{want}",
    "status_not": "anything but {want}",
}


def _no_slots(_: str) -> None:
    """Fill nothing: the text is rendered for its plurals alone."""


def may_name(narrator: Narrator, rule_id: str) -> bool:
    """Tell whether the reader may hear of a rule: clients hear nothing of single screening rules."""
    return narrator.audience == "coach" or narrator.kb.rules[rule_id].stage != SCREEN_STAGE


def label_of(narrator: Narrator, key: FactKey) -> str:
    """Return what a fact is called, with its muscle, day or role."""
    fact_id, index = split_key(key)
    label = narrator.kb.facts[fact_id].label
    return label if index is None else f"{label}, {narrator.phrases.label(index)}"


def value_words(narrator: Narrator, fact_id: str, value: Value) -> str:
    """Return a value with its unit."""
    if isinstance(value, tuple):
        order = narrator.kb.book.choices_of(narrator.kb.facts[fact_id])
        value = tuple(sorted(value, key=order.index))
    words = narrator.phrases.value(fact_id, value)
    if isinstance(value, bool | str | tuple):
        return words
    return narrator.phrases.render(f"{words} {narrator.phrases.unit_of(fact_id)}", _no_slots)


def is_open_to(narrator: Narrator, clause: BoundClause) -> bool:
    """Tell whether the reader may see everything a clause reads."""
    return not any(narrator.hides(ref.key) for ref in clause.facts_read())


def obstacle_words(narrator: Narrator, obstacle: Obstacle) -> str:
    """Return what is in the way, with the alternatives of an `any_of` behind an "or"."""
    seen = dict.fromkeys(gap_words(narrator, gap) for gap in obstacle)
    return "; or ".join(seen)


def gap_words(narrator: Narrator, gap: Gap) -> str:
    """Return one clause at fault in words, with its distance where there is one."""
    if gap.is_open and narrator.audience == "coach":
        # An open question has no figure to leave out.
        return _open(narrator, gap)
    if not is_open_to(narrator, gap.clause):
        return LEFT_OUT
    if gap.is_open:
        return _open(narrator, gap)
    subject = _subject(narrator, gap.clause)
    if gap.needed in {"has", "lacks"}:
        item = narrator.phrases.value(gap.clause.subjects[0].fact_id, _item(gap.reading.want))
        return f"{subject}: {item} is {'not among them' if gap.needed == 'has' else 'among them'}"
    if gap.needed in {"not_empty", "empty"}:
        return (
            f"{subject}: {'nothing named' if gap.needed == 'not_empty' else _have(narrator, gap)}"
        )
    test = gap.needed
    if test == "is_not" and isinstance(gap.reach, bool):
        test = "equals"  # "needed: no" reads better than "needed: anything but yes"
    needed = TEST_WORDS[test].format(want=_want(narrator, gap))
    return f"{subject} is {_have(narrator, gap)}, needed: {needed}{_distance(narrator, gap)}"


def _open(narrator: Narrator, gap: Gap) -> str:
    """Say that a fact has no value: not answered, or a list that no rule put anything in."""
    subject = _subject(narrator, gap.clause)
    fact_id = gap.clause.subjects[0].fact_id
    if narrator.kb.facts[fact_id].combine is not Combine.COLLECT:
        return f"{subject}: not known"
    if gap.needed != "has":
        return f"{subject}: nothing"
    return (
        f"{subject}: {narrator.phrases.value(fact_id, _item(gap.reading.want))} is not among them"
    )


def _item(value: Value | None) -> Value:
    return (str(value),)


def _subject(narrator: Narrator, clause: BoundClause) -> str:
    labels = [label_of(narrator, ref.key) for ref in clause.subjects]
    if clause.counting == "true":
        return f"number of yes among: {', '.join(labels)};"
    return f"number of {labels[0]}" if clause.counting == "items" else labels[0]


def _have(narrator: Narrator, gap: Gap) -> str:
    have, ref = gap.reading.have, gap.clause.subjects[0]
    if have is None:
        return "not known"
    if gap.clause.counting and isinstance(have, float):
        return f"{have:g}"
    return narrator.phrases.value(ref.fact_id, have)


def _want(narrator: Narrator, gap: Gap) -> str:
    want, ref = gap.reading.want, gap.clause.subjects[0]
    if isinstance(gap.reach, bool):
        want = gap.reach
    if want is None:
        return "a figure that is not known"
    if gap.clause.counting and isinstance(want, float):
        return f"{want:g}"
    if gap.clause.operator == "status":
        return {"known": "an answer", "unanswered": "no answer"}.get(str(want), str(want))
    if gap.needed == "one_of" and isinstance(want, tuple):
        return " or ".join(narrator.phrases.label(each, ref.fact_id) for each in want)
    return narrator.phrases.value(ref.fact_id, want)


def _distance(narrator: Narrator, gap: Gap) -> str:
    """Return the distance, e.g. `: 1 training day short`, or an empty text."""
    ref = gap.clause.subjects[0]
    fact = narrator.kb.facts[ref.fact_id]
    if gap.distance is None:
        return ""
    if fact.type is FactType.DATE:
        return " " + narrator.phrases.render(f"({gap.distance:g} days away)", _no_slots)
    unit = counted(narrator, ref.fact_id, gap.distance)
    if fact.type is FactType.CHOICE:
        rise = isinstance(gap.reading.have, str) and isinstance(gap.reach, str)
        more = rise and ref.order.index(str(gap.reach)) > ref.order.index(str(gap.reading.have))
        side, amount = ("short" if more else "too many"), f"{gap.distance:g}"
        unit = unit or ("step" if gap.distance == 1 else "steps")
    else:
        more = gap.needed in _TOO_LITTLE or (
            gap.needed not in _TOO_MUCH and _number(gap.reach) > _number(gap.reading.have)
        )
        side = "short" if more else "too much"
        is_count = bool(gap.clause.counting)
        amount = f"{gap.distance:g}" if is_count else _amount(narrator, ref.fact_id, gap.distance)
        unit = unit or ("" if is_count else narrator.phrases.unit_of(ref.fact_id))
    return " " + narrator.phrases.render(f"({amount} {unit} {side})", _no_slots)


def _amount(narrator: Narrator, fact_id: str, distance: float) -> str:
    """Return a distance as it is said; one that rounding would hide is said in full."""
    words = narrator.phrases.value(fact_id, distance)
    return words if float(words) else f"{distance:g}"


def _number(value: Value | None) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def counted(narrator: Narrator, fact_id: str, amount: float) -> str:
    """Return what the places or items of a fact are counted in, from rules/wording.yaml."""
    one, many = narrator.kb.wording.counted.get(fact_id, ("", ""))
    return one if amount == 1 else many


# Why it is so.


def reasons(narrator: Narrator, gap: Gap) -> list[str]:
    """Return why a derived fact reads as it does, nearest reason first, with rule ids.

    For a list, the rules that put the item in, and what made these fire.
    """
    if gap.is_open or not is_open_to(narrator, gap.clause):
        return []
    key = gap.clause.subjects[0].key
    item = gap.reading.want if gap.needed == "lacks" else None
    return list(dict.fromkeys(_reasons(narrator, key, item, _LEVELS_OF_REASONS)))


def _reasons(narrator: Narrator, key: FactKey, item: Value | None, levels: int) -> Iterator[str]:
    fact = narrator.run.facts.get(key)
    if fact is None or levels == 0 or narrator.hides(key):
        return
    for name in fact.derivations:
        record = narrator.run.derivation(name)
        if item is not None and not _adds(record, key, item):
            continue
        if not may_name(narrator, record.rule_id):
            continue
        yield f"{sentence_case(narrator.sentence(record))} (rule {record.rule_id})"
        for reading in record.readings:
            if reading.role == "when" and reading.operator == "has":
                yield from _reasons(narrator, reading.fact, reading.want, levels - 1)


def _adds(record: Derivation, key: FactKey, item: Value) -> bool:
    return any(one.fact == key and one.value == item for one in record.conclusions)


def missing_answers(
    book: CompiledBook, narrator: Narrator, obstacles: tuple[Obstacle, ...]
) -> list[FactKey]:
    """Return the unanswered answers behind open clauses that the reader may know of."""
    queue = [
        ref.key
        for obstacle in obstacles
        for gap in obstacle
        if gap.is_open and gap.reading.holds is Holds.UNKNOWN
        for ref in gap.clause.facts_read()
        if _is_missing(narrator, ref.key)
    ]
    writers = _open_writers(book, narrator)
    seen: set[FactKey] = set()
    found: list[FactKey] = []
    while queue:
        key = queue.pop(0)
        if key in seen:
            continue
        seen.add(key)
        fact = narrator.kb.facts[split_key(key)[0]]
        if fact.combine in {Combine.COLLECT, Combine.ANY}:
            continue  # empty because no rule spoke, not because somebody was not asked
        if fact.origin == "answer":
            if narrator.audience == "coach" or not narrator.hides(key):
                found.append(key)
            continue
        for bound in writers.get(key, ()):
            reads = [ref.key for clause in bound.clauses() for ref in clause.facts_read()]
            queue.extend(each for each in reads if _is_missing(narrator, each))
    return found


def _open_writers(book: CompiledBook, narrator: Narrator) -> dict[FactKey, list[BoundRule]]:
    """Return the rules that would conclude a fact if an answer were not missing."""
    writers: dict[FactKey, list[BoundRule]] = {}
    for bound, record in zip(book.rules, narrator.run.records, strict=True):
        if record.verdict is Verdict.NEEDS:
            for conclusion in bound.conclusions:
                writers.setdefault(conclusion.key, []).append(bound)
    return writers


def _is_missing(narrator: Narrator, key: FactKey) -> bool:
    fact = narrator.run.facts.get(key)
    if fact is None:
        return True
    return isinstance(fact.value, Status) and not fact.value.is_answered
