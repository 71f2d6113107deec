"""The audit of a plan as parts with entries, the same for the page and for text."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from assistant.explain.audited import disputed, grounds, sources_behind
from assistant.explain.gap_words import label_of
from assistant.explain.numbers import own_numbers
from assistant.explain.picture import ALL_LEVELS, Draw, Node
from assistant.explain.why import records_below
from assistant.model.knowledge import KnowledgeBase
from assistant.model.plan import HOUSE, Line, Plan, PlanSection
from assistant.model.rules import Rule
from assistant.model.sources import Certainty, Source
from assistant.model.values import FactKey
from assistant.plan.phrases import WIDTH, sentence_case, underlined
from assistant.plan.sentences import Narrator
from assistant.report.picture_text import Entry, entry_of, rows_of
from assistant.report.why_text import ground_words, weakest_words

_MOST_WEAK = 12
# Lines of a plan that say what was decided or changed by somebody, and is in force or not.
_DECIDED = ("screen.decision[", "by_hand.")


@dataclass(frozen=True)
class AuditPart:
    """A titled part of the audit. id: a stable name."""

    id: str
    title: str
    entries: tuple[Entry, ...]


def audit_parts(
    narrator: Narrator,
    plan: Plan,
    draw: Draw,
    flips: Iterable[list[str]],
) -> list[AuditPart]:
    """Return the audit of a plan for a coach; parts with nothing to say are left out.

    flips: for each headline what it is, and what would flip it.
    """
    lines = [line for section in plan.sections for line in section.lines]
    records = records_below(narrator, [key for line in lines for key in line.facts])
    cited = sources_behind(narrator, records).items()
    used = [name for record in records for name in record.parameters]
    flipped = (Entry(first, tuple(map(Entry, others))) for first, *others in flips)
    drawn = draw(_roots(lines, narrator), ALL_LEVELS)
    parts = (
        ("weakest", "What this plan rests on least surely", _weakest(narrator, plan)),
        ("own", "Set by this house or by hand", _own(narrator, plan, used)),
        ("disputed", "Where trade and literature differ", _disputed(narrator, plan)),
        ("flips", "What would flip each headline", flipped),
        ("unknown", "What is not known", _unknown(narrator, plan)),
        *(
            (f"part-{section.id}", section.title, _conclusions(_said(section), narrator, drawn))
            for section in plan.sections
        ),
        (
            "sources",
            "Sources, the least known first",
            (_source(narrator.kb.sources[ref], who) for ref, who in cited),
        ),
    )
    made = (AuditPart(name, title, tuple(entries)) for name, title, entries in parts)
    return [part for part in made if part.entries]


def _weakest(narrator: Narrator, plan: Plan) -> Iterator[Entry]:
    found = grounds(narrator, plan)
    for ground in found[:_MOST_WEAK]:
        yield Entry(ground_words(ground))
    if len(found) > _MOST_WEAK:
        yield Entry(f"{len(found) - _MOST_WEAK} more rules make a claim; these are the weakest")


def _said(section: PlanSection) -> list[Line]:
    """The lines of a section that draw a conclusion; who answers for the house's own has a part by itself."""
    return [line for line in section.lines if line.facts or section.id != HOUSE]


def _own(narrator: Narrator, plan: Plan, used: Iterable[str]) -> Iterator[Entry]:
    yield from map(Entry, own_numbers(narrator, used))
    own = (section.lines for section in plan.sections if section.id == HOUSE)
    yield from (Entry(line.text) for lines in own for line in lines)
    for key in narrator.run.by_hand:
        said = "" if narrator.hides(key) else narrator.by_hand(key)
        if said:
            yield Entry(f"{sentence_case(label_of(narrator, key))}: {said}")
    yield from (Entry(line.text) for line in plan.lines if line.id.startswith(_DECIDED))


def _disputed(narrator: Narrator, plan: Plan) -> Iterator[Entry]:
    for record in disputed(narrator, plan):
        sources = ", ".join(record.sources)
        told = f"{narrator.sentence(record)} ({record.rule_id}, {record.grade}; {sources})"
        yield Entry(told, tuple(_settled(narrator.kb.rules[record.rule_id])))


def _settled(rule: Rule) -> Iterator[Entry]:
    if rule.settled_by:
        yield Entry(f"Would be settled by {rule.settled_by}")


def _unknown(narrator: Narrator, plan: Plan) -> Iterator[Entry]:
    for title, keys in (("Not answered", plan.unknown), ("Assumed", plan.assumptions)):
        labels = [label_of(narrator, key) for key in keys if not narrator.hides(key)]
        if labels:
            yield Entry(f"{title}: {'; '.join(labels)}")


def _roots(lines: Iterable[Line], narrator: Narrator) -> Iterator[FactKey]:
    """Yield the facts behind lines, in their order."""
    for line in lines:
        yield from (key for key in line.facts if key in narrator.run.facts)


def _conclusions(
    lines: Iterable[Line], narrator: Narrator, drawn: Iterator[Node]
) -> Iterator[Entry]:
    said = ""
    for line in lines:
        trees = tuple(entry_of(next(drawn)) for _ in _roots((line,), narrator))
        weakest = weakest_words(narrator, line.facts)
        # A run of lines with the same weakest link names it once.
        below = (*trees, *([Entry(weakest)] if weakest not in {"", said} else []))
        said = weakest
        grade = f" [{line.grade}]" if line.grade else ""
        yield Entry(f"{line.text}{grade}", below, why=line.id)


def _source(source: Source, who: Iterable[str]) -> Entry:
    seen = source.reading
    looked = "" if seen is None else f" Looked for again on {seen.date}: {seen.outcome}."
    where = "" if seen is None or seen.where is None else f" Seen: {seen.what}, {seen.where}."
    address = f"https://doi.org/{source.doi}" if source.doi else ""
    told = f"{source.cited}. {source.says}{looked}{where} Behind: {', '.join(who)}."
    return Entry(told, name=f"source-{source.id}", link=address)


def claim_parts(kb: KnowledgeBase) -> list[AuditPart]:
    """Return every claim of a book by grade, the weakest first, with its sources and room for a reviewer's word."""
    claims = [rule for rule in kb.rules.values() if rule.kind is None]
    graded = ((g, [r for r in claims if r.grade.certainty is g]) for g in reversed(Certainty))
    return [
        AuditPart(grade.value, f"Grade {grade.value}", tuple(_claim(rule, kb) for rule in rules))
        for grade, rules in graded
    ]


def _claim(rule: Rule, kb: KnowledgeBase) -> Entry:
    cited = (_source(kb.sources[use.ref], (f"{use.supports}",)) for use in rule.source)
    sources = tuple(Entry(each.text, link=each.link) for each in cited)
    said = kb.reviews_of(rule.id)
    told = " ".join((f"{rule.id} [{kb.statement(rule.id)}]: {rule.title}.", rule.because))
    blank = "\u2610 agreed  \u2610 not agreed, because:"
    below = (*_settled(rule), *sources, *(Entry(str(each)) for each in said), Entry(blank))
    return Entry(told, below)


def audit_text(title: str, about: Iterable[str], parts: Iterable[AuditPart]) -> str:
    """Return an audit as text."""
    rows = [title, *about, "=" * min(len(title), WIDTH)]
    for part in parts:
        rows += underlined(part.title)
        rows += (row for entry in part.entries for row in rows_of(entry))
    return "\n".join(rows) + "\n"
