"""Sections of the plan as the page shows them: what is folded away, and the why behind a line."""

from markupsafe import Markup

from assistant.explain.why import Step, explain
from assistant.model.plan import Line, PlanSection
from assistant.plan.sentences import Narrator
from assistant.report.page.shapes import Said, SectionView, WhyStep
from assistant.report.page.words import PageWords
from assistant.report.pictures.svg import Picture
from assistant.report.text import same_reason

# These lines are said again by the session tables and the picture of sets; they start closed.
_IN_TABLES = ("training.day[", "training.dose[")


def section_view(
    section: PlanSection, narrator: Narrator, words: PageWords, pictures: tuple[Picture, ...]
) -> SectionView:
    """Return a section; `pictures` stand beside its lines."""
    said = said_lines(section.lines, narrator, words)
    folded = tuple(line for line in said if line.id.startswith(_IN_TABLES))
    return SectionView(
        section.id,
        words.html(section.title),
        words.html(section.note),
        tuple(line for line in said if line not in folded),
        folded,
        pictures,
    )


def said_lines(lines: tuple[Line, ...], narrator: Narrator, words: PageWords) -> tuple[Said, ...]:
    """Return lines with their reasons; a run of lines from one rule gives its reason once."""
    said = []
    before: Line | None = None
    for line in lines:
        show = line.reason and line.reason != line.text and not same_reason(before, line)
        said.append(
            Said(
                line.id,
                words.html(line.text),
                words.html(line.reason) if show else Markup(),
                line.grade if narrator.audience == "coach" else "",
                _why(line, narrator, words) if narrator.audience == "coach" else (),
            )
        )
        before = line
    return tuple(said)


def _why(line: Line, narrator: Narrator, words: PageWords) -> tuple[WhyStep, ...]:
    steps: dict[str, Step] = {}
    for key in line.facts:
        if key not in narrator.run.facts:
            continue
        for found in explain(narrator, key, 0):
            for step in found.steps:
                steps.setdefault(step.derivation_id or step.rule_id, step)
    return tuple(_why_step(step, narrator, words) for step in steps.values())


def _why_step(step: Step, narrator: Narrator, words: PageWords) -> WhyStep:
    facts = narrator.kb.facts
    readings = []
    for key, said in step.readings:
        fact_id = key.partition("[")[0]
        label = facts[fact_id].label if fact_id in facts else key
        readings.append(f"{label} {said}")
    return WhyStep(
        step.rule_id,
        words.html(step.sentence),
        tuple(readings),
        tuple(
            f"{use.id} = {use.value}{' ' + use.unit if use.unit else ''} (since {use.since})"
            for use in step.parameters
        ),
        tuple(dict.fromkeys([*step.sources, *(ref for u in step.parameters for ref in u.sources)])),
        step.grade.value,
        step.weakest.value,
    )
