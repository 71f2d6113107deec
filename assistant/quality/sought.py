"""Rules and numbers of the book found by their words, stage, certainty, facts and sources."""

from dataclasses import dataclass
from fnmatch import fnmatchcase

from assistant.knowledge.walk import facts_read, facts_written
from assistant.model.knowledge import KnowledgeBase
from assistant.model.parameters import Parameter
from assistant.model.rules import Rule


@dataclass(frozen=True)
class Sought:
    """What is looked for; None asks nothing.

    text: in ids, titles and sentences, or a pattern of ids with `*`. reads, sets: ids of facts.
    """

    text: str | None = None
    stage: str | None = None
    grade: str | None = None
    reads: str | None = None
    sets: str | None = None
    source: str | None = None

    def rules(self, kb: KnowledgeBase) -> list[Rule]:
        """Return the rules that are meant, in the order of the book."""
        return [
            rule
            for rule in kb.rules.values()
            if self._is_meant(rule, rule.because, rule.client_because)
            and self.stage in {None, rule.stage}
            and (self.reads is None or self.reads in facts_read(rule))
            and (self.sets is None or self.sets in facts_written(rule))
        ]

    def numbers(self, kb: KnowledgeBase) -> list[Parameter]:
        """Return the numbers that are meant: a number runs in no stage, reads and concludes nothing."""
        if self.stage or self.reads or self.sets:
            return []
        return [each for each in kb.parameters.values() if self._is_meant(each)]

    def _is_meant(self, item: Rule | Parameter, *words: str | None) -> bool:
        return (
            self._says(item.id, item.title, *words)
            and self.grade in {None, item.grade.certainty.value}
            and (self.source is None or any(use.ref == self.source for use in item.source))
        )

    def _says(self, item_id: str, *words: str | None) -> bool:
        if self.text is None:
            return True
        if "*" in self.text:
            return fnmatchcase(item_id, self.text)
        sought = self.text.casefold()
        return any(sought in each.casefold() for each in (item_id, *words) if each)
