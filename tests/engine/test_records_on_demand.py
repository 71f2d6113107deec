"""Records are written when somebody asks: in whatever order, they say what an eager pass says.

The eager pass here is plain: every clause of every rule is read anew, and what a rule rests on is
followed down fact by fact.
"""

import random

import pytest
from engine_books import ON
from engine_fuzz import CALCULATORS, Draw

from assistant.engine import CompiledBook, compile_knowledge, durable, run_engine
from assistant.engine.decide import Judge
from assistant.engine.run import EngineChoice
from assistant.explain.why_not import final_facts
from assistant.model.derivation import Derivation, Holds, Run, Verdict
from assistant.model.errors import EngineFault
from assistant.model.sources import Certainty, weakest

ENGINES: EngineChoice = "both" if durable.importable() else "clips"


class Eager:
    """What every record of a run must say, from its final facts and from who concluded them."""

    def __init__(self, book: CompiledBook, run: Run) -> None:
        self.book, self.run = book, run
        self.facts = final_facts(run, CALCULATORS)
        self.owners = {record.id: owner for owner, record in enumerate(run.records) if record.id}

    def check(self, owner: int) -> Verdict:
        bound, record = self.book.rules[owner], self.run.records[owner]
        verdict, readings = Judge(self.facts).decide(bound)
        assert record.verdict in {verdict, Verdict.OVERRIDDEN}
        assert record.readings == readings
        assert Judge(self.facts).fires(bound) == (verdict is Verdict.FIRED)
        rests_on, grade, assumptions = (
            self.footing(owner) if record.id else ((), bound.rule.grade.certainty, ())
        )
        assert (record.rests_on, record.weakest, record.assumptions) == (
            rests_on,
            grade,
            assumptions,
        )
        return record.verdict

    def footing(self, owner: int) -> tuple[tuple[str, ...], Certainty, tuple[str, ...]]:
        bound = self.book.rules[owner]
        below: dict[str, None] = {}
        for clause in bound.clauses():
            holds = Judge(self.facts).holds(clause)
            for ref in clause.facts_read():
                if clause.role == "when" and holds is not Holds.TRUE:
                    continue
                if ref.is_answer:
                    below[f"a:{ref.key}"] = None
                elif clause.role == "when" and ref.key in self.run.facts:
                    below.update(dict.fromkeys(self.run.facts[ref.key].derivations))
        deeper = [self.footing(self.owners[name]) for name in below if not name.startswith("a:")]
        assumed = {f"a:{name}" for name in self.run.assumptions} & set(below)
        named = {name.removeprefix("a:") for name in assumed}
        grades = [bound.rule.grade.certainty, *(grade for _, grade, _ in deeper)]
        return (
            tuple(below),
            weakest(grades),
            tuple(sorted(named.union(*(names for _, _, names in deeper)))),
        )


@pytest.mark.parametrize("seed", range(60))
def test_records_say_what_an_eager_pass_says(seed: int) -> None:
    chance = random.Random(seed)
    draw = Draw(random.Random(seed))
    book = compile_knowledge(draw.knowledge(), ON)
    answers = draw.person()
    try:
        run = run_engine(book, answers, ON, ENGINES, CALCULATORS)
        again = run_engine(book, answers, ON, ENGINES, CALCULATORS)
    except EngineFault:
        pytest.skip("two rules of this book contradict each other for this person")
    finally:
        book.close()
    places = list(range(len(book.rules)))
    chance.shuffle(places)
    shuffled: dict[int, Derivation] = {place: again.records[place] for place in places}
    assert [shuffled[place] for place in sorted(places)] == list(run.records)
    eager = Eager(book, run)
    verdicts = [eager.check(owner) for owner in range(len(book.rules))]
    fired = [record for record in run.records if record.verdict is Verdict.FIRED]
    assert list(again.records.fired()) == fired
    assert [record.id for record in fired] == [f"d{n}" for n in range(1, len(fired) + 1)]
    assert all(
        again.derivation(record.id) is again.records[eager.owners[record.id]] for record in fired
    )
    assert len(verdicts) == len(run.records)
