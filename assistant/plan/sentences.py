"""The sentence of a derivation: the rule's template filled with what the rule saw and concluded."""

import dataclasses
import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from typing import Self

from assistant.model.derivation import Derivation, Run, Verdict
from assistant.model.knowledge import KnowledgeBase
from assistant.model.marks import placeholder_fact, placeholders
from assistant.model.rules import Audience
from assistant.model.values import FactKey, fact_key, split_key
from assistant.plan.phrases import Phrasebook, ended
from assistant.plan.visibility import is_hidden, withheld_outputs


@dataclass(frozen=True)
class Narrator:
    """Turns derivations of one run into sentences for one audience, leaving hidden figures out.

    also_withheld: outputs that another run of the same person withholds. Without it, a change of one
    safety answer would print the figures that the real answers withhold.
    """

    kb: KnowledgeBase
    run: Run
    on: dt.date
    audience: Audience
    phrases: Phrasebook
    also_withheld: frozenset[str] = frozenset()

    def beside(self, other: Run) -> Self:
        """Return the narrator with another run's withheld outputs kept back as well."""
        return dataclasses.replace(self, also_withheld=withheld_outputs(other))

    @cached_property
    def kept_back(self) -> frozenset[str]:
        """The outputs of which nothing said may tell."""
        return withheld_outputs(self.run) | self.also_withheld

    @cached_property
    def yes(self) -> tuple[FactKey, ...]:
        """The keys of all yes/no facts that are yes, in order."""
        return tuple(sorted(key for key, fact in self.run.facts.items() if fact.value is True))

    @cached_property
    def known(self) -> frozenset[str]:
        """The ids of all facts that have a value, for one of their keys at least."""
        return frozenset(split_key(key)[0] for key in self.run.facts)

    def hides(self, key: FactKey) -> bool:
        """Tell whether this reader may not see a fact."""
        return is_hidden(self.kb, key, self.kept_back, self.audience)

    def holds(self, key: FactKey) -> bool:
        """Tell whether a yes/no fact is yes."""
        fact = self.run.facts.get(key)
        return fact is not None and fact.value is True

    def reason(self, key: FactKey) -> str:
        """Return why a fact has its value: who set it by hand, or the sentence of what decided it."""
        by_hand = self.by_hand(key)
        if by_hand:
            return by_hand
        decider = self._decider(key)
        return "" if decider is None else self.sentence(decider)

    def by_hand(self, key: FactKey) -> str:
        """Return what is said of a fact that was set by hand; empty for one that was not."""
        fact, change = self.run.facts.get(key), self.run.by_hand.get(key)
        words = self.kb.plan.by_hand
        if fact is None or change is None or fact.ruled is None or words is None:
            return ""
        fact_id, _ = split_key(key)
        slots = {
            "to": self.phrases.value(fact_id, fact.value),
            "by": change.by,
            "since": change.since.isoformat(),
            "reason": ended(change.reason),
            "ruled": self.phrases.value(fact_id, fact.ruled),
        }
        return self.phrases.render(words.set.to(self.audience), slots.get)

    def rule(self, key: FactKey) -> str:
        """Return the id of the rule that decided a fact, empty for an answer and for what was set by hand."""
        if self.by_hand(key):
            return ""
        decider = self._decider(key)
        return "" if decider is None else decider.rule_id

    def _decider(self, key: FactKey) -> Derivation | None:
        fact = self.run.facts.get(key)
        return self.run.derivation(fact.derivations[0]) if fact and fact.derivations else None

    def phrase(self, name: str, **slots: str) -> str:
        """Return a phrase of rules/plan.yaml, the client's own where there is one, its slots filled."""
        phrases, own = self.kb.plan.phrases, f"{name}_client"
        is_own = self.audience == "client" and own in type(phrases).model_fields
        return self.phrases.render(phrases[own if is_own else name], slots.get)

    def sentence(self, record: Derivation) -> str:
        """Return a derivation's sentence.

        Where the template names a figure this reader may not see, the rule's title stands instead. A rule of
        a house's own folder is said to be one, to a coach with who answers for it.
        """
        template = record.because
        if self.audience == "client" and record.client_because:
            template = record.client_because
        named = [self._key_of(name, record) for name in placeholders(template)]
        concluded = [item.fact for item in record.conclusions]
        if any(self.hides(key) for key in [*filter(None, named), *concluded]):
            return self.kb.rules[record.rule_id].title
        said = self.phrases.render(template, lambda name: self._words(name, record))
        words, sign = self.kb.plan.house, self.kb.house.get(record.rule_id)
        if words is None or sign is None:
            return said
        slots = {"sentence": said, "told": sign.told}
        return self.phrases.render(words.rule.to(self.audience), slots.get)

    def words_for(self, name: str) -> str | None:
        """Return the words for a fact placeholder outside any rule, None if it has no value."""
        return self._fact_words(name, name)

    def _words(self, name: str, record: Derivation) -> str | None:
        if name == "value":
            first = record.conclusions[0]
            return self.phrases.value(split_key(first.fact)[0], first.value)
        if name in record.binding:
            return self.phrases.label(record.binding[name])
        if name.startswith("param:"):
            value = self.kb.parameter_value(name.removeprefix("param:"), self.on).value
            return self.phrases.written(f"{value:g}")
        key = self._key_of(name, record)
        if key is None:
            return None
        concluded = {item.fact: item for item in record.conclusions}
        fact = self.run.facts.get(key)
        # A rule's sentence says what the rule found, also where a coach set something else by hand.
        is_other = fact is None or fact.ruled is not None
        if key in concluded and is_other and record.verdict is Verdict.FIRED:
            return self.phrases.value(split_key(key)[0], concluded[key].value)
        return self._fact_words(name, key) or self.phrases.grammar.not_known

    def _fact_words(self, name: str, key: FactKey) -> str | None:
        key = key.removesuffix(":range").removesuffix(":unit")
        fact_id, _ = split_key(key)
        if name.endswith(":unit"):
            return self.phrases.unit_of(fact_id)
        fact = self.run.facts.get(key)
        if fact is None:
            return None
        if name.endswith(":range"):
            spread = self.phrases.range(fact_id, fact.low, fact.high)
            return spread or self.phrases.value(fact_id, fact.value)
        return self.phrases.value(fact_id, fact.value)

    def _key_of(self, name: str, record: Derivation) -> FactKey | None:
        if placeholder_fact(name) is None:
            return None
        fact_id, index = split_key(name.removesuffix(":range").removesuffix(":unit"))
        if index is not None:
            return fact_key(fact_id, record.binding.get(index, index))
        return fact_id
