"""Lines of a plan from layout parts: text, reason and the facts whose numbers they show."""

from collections.abc import Iterable

from assistant.model.derivation import Holds, Verdict
from assistant.model.documents.page import GapsPart, LinePart, NotesPart, ReasonsPart
from assistant.model.facts import Combine
from assistant.model.marks import placeholder_fact, placeholders
from assistant.model.plan import Line
from assistant.model.values import FactKey, Status, fact_key, split_key
from assistant.plan.phrases import sentence_case
from assistant.plan.sentences import Narrator


def compose_lines(part: LinePart, narrator: Narrator) -> list[Line]:
    """Return the part's lines for this reader; none where a fact is absent or hidden."""
    if part.only_for not in {None, narrator.audience}:
        return []
    if part.each is None:
        line = _compose(part, narrator, None)
        return [] if line is None else [line]
    elements = narrator.kb.book.domains[part.each]
    if part.sort_by is not None:
        elements = _ranked(part.sort_by, elements, narrator)
    composed = [_compose(part, narrator, element) for element in elements]
    return [line for line in composed if line is not None]


def compose_notes(part: NotesPart, narrator: Narrator) -> list[Line]:
    """Return one line for each yes/no fact with the part's prefix that holds, no words twice."""
    if part.only_for not in {None, narrator.audience}:
        return []
    if part.if_true is not None and not narrator.holds(part.if_true):
        return []
    return compose_notes_of(narrator, [key for key in narrator.yes if key.startswith(part.notes)])


def compose_notes_of(narrator: Narrator, keys: Iterable[FactKey]) -> list[Line]:
    """Return one line for each of the yes/no facts that the reader may see, no words twice."""
    lines: dict[str, Line] = {}
    for key in keys:
        if not narrator.hides(key):
            text = sentence_case(narrator.reason(key))
            grade = narrator.run.facts[key].grade.value
            lines.setdefault(text, Line(key, text, "", (key,), grade))
    return list(lines.values())


def compose_reasons(part: ReasonsPart, narrator: Narrator) -> list[Line]:
    """Return one line for each rule of the part's table behind the fact, each sentence once."""
    fact = narrator.run.facts.get(part.reasons)
    if fact is None or narrator.hides(part.reasons):
        return []
    records = [narrator.run.derivation(owner) for owner in fact.derivations]
    said = [
        narrator.sentence(record)
        for record in records
        if record.rule_id.startswith(f"{part.table}-")
    ]
    return [
        Line(f"{part.reasons}[{number}]", sentence_case(text), "", (part.reasons,))
        for number, text in enumerate(dict.fromkeys(said), start=1)
    ]


def compose_gaps(part: GapsPart, narrator: Narrator) -> list[Line]:
    """Return one line for each wanted fact that has no value because an answer is missing."""
    lines = []
    for fact_id in part.gaps:
        if fact_id in narrator.known:
            continue
        needed = _needed_answers(fact_id, narrator)
        if not needed:
            continue
        facts = narrator.kb.facts
        needs = ", ".join(facts[need].label for need in needed)
        text = narrator.phrase("gap", what=facts[fact_id].label, needs=needs)
        lines.append(Line(f"gap.{fact_id}", sentence_case(text), "", (fact_id,)))
    return lines


def _compose(part: LinePart, narrator: Narrator, element: str | None) -> Line | None:
    def keyed(name: str) -> str:
        fact_id, index = split_key(name)
        return fact_key(fact_id, element) if index == "element" else name

    template = part.coach
    if narrator.audience == "client" and part.client is not None:
        template = part.client
    about = tuple(keyed(name) for name in part.about)
    if part.if_true is not None and not narrator.holds(keyed(part.if_true)):
        return None
    shown = [_bare(keyed_name(name, element)) for name in placeholders(template) if _is_fact(name)]
    for key in (*about[:1], *shown):
        fact = narrator.run.facts.get(key)
        if fact is None or isinstance(fact.value, Status) or narrator.hides(key):
            return None

    def resolve(name: str) -> str | None:
        if name == "element" and element is not None:
            return narrator.phrases.label(element)
        return narrator.words_for(keyed_name(name, element))

    line_id = part.line if element is None else f"{part.line}[{element}]"
    grade = narrator.run.facts[about[0]].grade.value
    facts = tuple(dict.fromkeys((*about, *shown)))
    visible = tuple(key for key in facts if key in narrator.run.facts and not narrator.hides(key))
    text = sentence_case(narrator.phrases.render(template, resolve))
    return Line(line_id, text, narrator.reason(about[0]), visible, grade, narrator.rule(about[0]))


def keyed_name(name: str, element: str | None) -> str:
    """Put the loop element where a placeholder says `[element]`, keeping `:range` and `:unit`."""
    return name.replace("[element]", f"[{element}]") if element is not None else name


def _bare(name: str) -> str:
    return name.removesuffix(":range").removesuffix(":unit")


def _is_fact(name: str) -> bool:
    return placeholder_fact(name) is not None and not name.endswith(":unit")


def _ranked(sort_by: str, elements: tuple[str, ...], narrator: Narrator) -> tuple[str, ...]:
    fact_id, _ = split_key(sort_by)
    order = narrator.kb.facts[fact_id].choices

    def rank(element: str) -> int:
        fact = narrator.run.facts.get(fact_key(fact_id, element))
        value = fact.value if fact is not None else None
        return order.index(value) if isinstance(value, str) and value in order else -1

    return tuple(sorted(elements, key=rank, reverse=True))


def _needed_answers(fact_id: str, narrator: Narrator) -> list[str]:
    """Return the unanswered answers at the root of a missing fact, nearest first."""
    seen: set[str] = set()
    queue, needed = [fact_id], []
    while queue:
        current = queue.pop(0)
        if current in seen:
            continue
        seen.add(current)
        declaration = narrator.kb.facts[current]
        if declaration.origin == "answer":
            needed.append(current)
            continue
        if declaration.combine is Combine.ANY:
            continue
        queue.extend(_unknown_inputs(current, narrator))
    return needed


def _unknown_inputs(fact_id: str, narrator: Narrator) -> list[str]:
    wanted = []
    for rule_id in narrator.kb.writers.get(fact_id, ()):
        for record in narrator.run.records.of_rule(rule_id):
            if record.verdict is Verdict.NEEDS:
                open_ones = (each for each in record.readings if each.holds is Holds.UNKNOWN)
                wanted += [split_key(each.fact)[0] for each in open_ones]
    return [name for name in dict.fromkeys(wanted) if name in narrator.kb.facts]
