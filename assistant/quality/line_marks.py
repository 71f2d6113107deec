"""What the lines on the cases' plans rest on, each by the rules behind the fact it speaks of first."""

from collections.abc import Iterator

from assistant.engine import compile_knowledge
from assistant.model.documents.page import LinePart
from assistant.model.values import split_key
from assistant.quality.moves import facts_of
from assistant.quality.runner import fast_engine, ran
from assistant.quality.suite import Options, Subject

HOUSE = "house"


def line_marks(subject: Subject, options: Options) -> Iterator[str]:
    """Yield for every line that the cases' plans owe to a rule the best mark behind its first fact.

    Lines that rules of the house alone decide yield `house`. What the screen found, and whom it sends
    to, stands among the rules and is not counted here.
    """
    kb = subject.book
    about = {
        split_key(part.about[0])[0]
        for section in kb.plan.sections
        for part in section.parts
        if isinstance(part, LinePart) and part.only_for != "client"
    }
    books = {day: compile_knowledge(kb, day) for day in {case.as_of for _, case in options.cases}}
    for who, case in options.cases:
        book = books[case.as_of]
        run = ran(book, fast_engine(book), who, case.answers, subject.calculators)
        outcome = run.outcome
        if outcome is None or outcome.facts.values.get("screen.level") == "stop":
            continue  # a stopped plan is the message and the note, no more
        for key in facts_of(kb, run):
            if split_key(key)[0] in about:
                rules = [book.rules[owner].rule for owner in outcome.combined[key].owners]
                claims = [use for rule in rules if rule.kind is None for use in rule.source]
                yield kb.best_mark(claims).value if claims else HOUSE
