"""Other words for choices: each stands for choices that are there, and for nothing else already."""

from assistant.knowledge.checks.scope import Scope
from assistant.knowledge.draft import Draft
from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import Problem
from assistant.model.facts import FactType


def check_typed_words(draft: Draft) -> list[Problem]:
    """Return what is wrong with the words that people type for choices."""
    problems: list[Problem] = []
    asked = {question.fact: question for question in draft.questions}
    for typed in draft.typed_words:
        scope = Scope(draft, "typed_word", typed.id)
        fact = draft.facts.get(typed.fact)
        if fact is None or typed.fact not in asked:
            hint = did_you_mean(typed.fact, asked)
            scope.problem(("fact",), "unknown-fact", f"no question asks `{typed.fact}`{hint}")
            problems += scope.problems
            continue
        choices = scope.choices(fact)
        shown = {label.lower(): choice for choice, label in asked[typed.fact].labels.items()}
        meant: dict[str, str] = {}
        for choice, words in typed.words.items():
            if choice not in choices:
                text = f"`{choice}` is not a choice of `{fact.id}`{did_you_mean(choice, choices)}"
                scope.problem(("words", choice), "unknown-choice", text)
            for word in words:
                if shown.get(word, choice) != choice:
                    text = f"`{word}` is what `{shown[word]}` is called; it cannot mean `{choice}`"
                    scope.problem(("words", choice), "bad-value", text)
                if meant.setdefault(word, choice) != choice and fact.type is not FactType.CHOICES:
                    text = f"`{word}` stands under `{meant[word]}` too; one answer is one choice"
                    scope.problem(("words", choice), "repeated-item", text)
        for ref in typed.source:
            if ref not in draft.sources:
                hint = did_you_mean(ref, draft.sources)
                scope.problem(("source",), "unknown-source", f"`{ref}` is not a source{hint}")
        problems += scope.problems
    return problems
