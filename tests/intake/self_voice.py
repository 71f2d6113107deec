"""Every sentence that a person who answers alone can be shown by the questions, with where it stands."""

from collections.abc import Iterator

from assistant.model.knowledge import KnowledgeBase
from assistant.model.questions import Section


def said_to_one_alone(kb: KnowledgeBase) -> Iterator[tuple[str, str]]:
    """Yield (where, sentence) of the intake, the check-in and what follows a ticked sign."""
    for question in kb.questions:
        own = {
            "self": question.self,
            "why": question.why,
            "help": question.help_self or question.help,
            "closing": question.closing_self or question.closing,
            "label in the list of answers": question.label_self or kb.facts[question.fact].label,
        }
        own |= {f"label {choice}": label for choice, label in question.labels.items()}
        yield from ((f"{question.fact}: {part}", text) for part, text in own.items() if text)
    for ticks in kb.tick_lists:
        own = {"self": ticks.self, "why": ticks.why, "help": ticks.help, "label": ticks.label}
        own |= {f"item {item.id}": item.label for item in ticks.items}
        yield from ((f"ticks {ticks.id}: {part}", text) for part, text in own.items() if text)
    yield from _of_the_checkin(kb)
    yield from _titles(kb.sections)
    for flag in kb.flags.values():
        yield f"{flag.id}: self", flag.self or flag.client
        for step in flag.first_steps:
            if step.words:
                yield f"{flag.id}: first step", step.to("self")


def _of_the_checkin(kb: KnowledgeBase) -> Iterator[tuple[str, str]]:
    yield from _titles(kb.checkin.sections)
    yield from ((f"checkin {name}: label", words.label) for name, words in kb.checkin.measures)
    for asked in kb.checkin.questions:
        yield f"checkin {asked.id}: self", asked.self
        yield f"checkin {asked.id}: why", asked.why
        yield from ((f"checkin {asked.id}: label", label) for label in asked.labels)
        if asked.help:
            yield f"checkin {asked.id}: help", asked.help


def _titles(sections: tuple[Section, ...]) -> Iterator[tuple[str, str]]:
    for section in sections:
        yield f"section {section.id}: title", section.title
        if section.intro_self:
            yield f"section {section.id}: intro_self", section.intro_self
