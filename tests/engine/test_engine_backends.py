"""The two engines: failures surface, nothing stays locked, memory stays flat."""

import gc
import importlib
import math
import random
import resource
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import pytest
from engine_books import ON, book, derived, fact, parameter, rule
from engine_load import load_answers, load_book

from assistant.engine import CompiledBook, clips, compile_knowledge, durable, run_engine
from assistant.engine.backend import AttributeFact, Firing, clips_text, number_text
from assistant.engine.clips import ClipsBackend
from assistant.engine.durable import DurableBackend, DurableCase, Ruleset
from assistant.engine.program import Program, Test
from assistant.engine.run import MAKERS, EngineChoice
from assistant.engine.session import run_session
from assistant.model.derivation import Verdict
from assistant.model.errors import EngineFault, InputProblems

needs_durable = pytest.mark.skipif(
    not durable.importable(), reason="durable_rules is not installed for this Python"
)
ENGINES: EngineChoice = "both" if durable.importable() else "clips"
KINDS = [pytest.param("durable", marks=needs_durable), "clips"]


def small_book() -> CompiledBook:
    facts = [
        fact("client.age", "number"),
        fact("client.ill"),
        derived("made.first"),
        derived("made.second"),
    ]
    old = {"fact": "client.age", "at_least": {"param": "p.age"}}
    ill = {"fact": "client.ill", "equals": True}
    rules = [
        rule("AAA-1", when=[old], unless=[ill], then=[{"set": "made.first", "to": True}]),
        rule(
            "AAA-2",
            when=[{"fact": "made.first", "equals": True}],
            then=[{"set": "made.second", "to": True}],
        ),
    ]
    return compile_knowledge(book(facts, rules, [parameter("p.age", 30)]), ON)


def names_of(compiled: CompiledBook) -> list[str]:
    return [attribute.name for attribute in compiled.program.attributes]


ANSWERS = {"client.age": 31.0, "client.ill": False}


class Twisted:
    """A backend whose firings are tampered with before the host sees them."""

    name = "twisted"

    def __init__(self, inner: Any, twist: Any) -> None:
        self.inner, self.twist = inner, twist

    @contextmanager
    def case(self) -> Iterator["Twisted"]:
        with self.inner.case() as self.memory:
            yield self

    def advance(
        self, level: int, facts: Sequence[AttributeFact], absent: Sequence[int]
    ) -> list[Firing]:
        firings: list[Firing] = self.twist(level, self.memory.advance(level, facts, absent))
        return firings

    def close(self) -> None:
        self.inner.close()


def twisted_run(monkeypatch: pytest.MonkeyPatch, kind: str, twist: Any) -> None:
    maker = MAKERS[kind]
    monkeypatch.setitem(MAKERS, kind, lambda program: Twisted(maker(program), twist))
    run_engine(small_book(), ANSWERS, ON, kind)  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", KINDS)
def test_a_firing_that_an_engine_swallows_is_noticed(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(EngineFault, match="only the facts support AAA-1"):
        twisted_run(monkeypatch, kind, lambda level, fired: [] if level == 1 else fired)


@pytest.mark.parametrize("kind", KINDS)
def test_a_firing_that_an_engine_invents_is_noticed(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(EngineFault, match="AAA-2 was reported to fire on facts that do not meet"):
        twisted_run(monkeypatch, kind, lambda _, fired: [*fired, Firing(1, (0,))])


@needs_durable
def test_engines_that_differ_stop_the_run_naming_the_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    inner = MAKERS["clips"]
    monkeypatch.setitem(
        MAKERS,
        "clips",
        lambda program: Twisted(inner(program), lambda level, fired: fired[: level - 1]),
    )
    with pytest.raises(EngineFault, match=r"the two engines differ on AAA-1"):
        run_engine(small_book(), ANSWERS, ON, "both")


@pytest.mark.parametrize("kind", KINDS)
def test_an_exception_in_the_host_propagates_and_leaves_nothing_locked(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    compiled = small_book()
    backend = compiled.engines.get(kind, MAKERS[kind], compiled.program)

    def interrupt(*_: Any) -> None:
        raise KeyboardInterrupt

    for _ in range(3):
        with monkeypatch.context() as patched:
            patched.setattr("assistant.engine.session.conclude", interrupt)
            with pytest.raises(KeyboardInterrupt):
                run_session(compiled, backend, ANSWERS, {})
        run = run_engine(compiled, ANSWERS, ON, kind)  # type: ignore[arg-type]
        assert [record.verdict for record in run.records] == [Verdict.FIRED] * 2
    compiled.close()


@needs_durable
def test_an_interrupt_inside_the_loop_unlocks_the_state(monkeypatch: pytest.MonkeyPatch) -> None:
    compiled = small_book()
    backend = DurableBackend(compiled.program)
    native = backend._engine

    class Interrupted:
        """The C module, with Ctrl-C pressed while an action is under way."""

        def __getattr__(self, name: str) -> Any:
            if name == "complete_and_start_action":
                raise KeyboardInterrupt
            return getattr(native, name)

    with monkeypatch.context() as patched:
        for ruleset in backend._rulesets:
            patched.setattr(ruleset, "_engine", Interrupted())
        with pytest.raises(KeyboardInterrupt):
            run_session(compiled, backend, ANSWERS, {})
    assert not backend._rulesets  # thrown away after an error
    outcome = run_session(compiled, backend, ANSWERS, {})
    assert set(outcome.conclusions) == {0, 1}
    backend.close()


@needs_durable
def test_a_fact_taken_for_a_duplicate_is_an_error() -> None:
    """The library knows facts by a hash of their id; reusing one must not pass in silence."""
    compiled = small_book()
    backend = DurableBackend(compiled.program)
    attribute = names_of(compiled).index("value of client.age")
    with pytest.raises(EngineFault, match="code 2"), backend.case() as case:
        case.advance(1, [(0, attribute, 30.0), (0, attribute, 31.0)], [])
    backend.close()


@needs_durable
def test_every_fact_given_is_still_there_at_the_end() -> None:
    compiled = load_book()
    backend = DurableBackend(compiled.program)
    made: list[DurableCase] = []

    class Checked:
        """The backend, with the facts counted before a case is cleared."""

        @contextmanager
        def case(self) -> Iterator[DurableCase]:
            with backend.case() as case:
                made.append(case)
                yield case
                case.check_nothing_lost()

    for seed in range(20):
        run_session(compiled, Checked(), load_answers(seed), {})  # type: ignore[arg-type]
    assert len(made) == 20
    assert (
        min(sum(case._stored.values()) for case in made) > 80
    )  # one fact for each answer, and more
    backend.close()


@needs_durable
def test_a_lost_fact_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    compiled = small_book()
    backend = DurableBackend(compiled.program)
    attribute = names_of(compiled).index("value of client.age")
    with backend.case() as case:
        case.advance(1, [(0, attribute, 31.0)], [])
        case.check_nothing_lost()
        monkeypatch.setattr(Ruleset, "stored_facts", lambda _: 0)
        with pytest.raises(EngineFault, match="lost a fact"):
            case.check_nothing_lost()
    backend.close()


def programs() -> Iterator[Program]:
    yield small_book().program
    yield load_book().program


@needs_durable
def test_durable_rules_is_given_only_what_it_does_soundly() -> None:
    """No negation, no reference between facts, no alternatives, no arithmetic."""
    allowed = {"$and", "$neq", "$gte", "$lte", "$gt", "$lt"}
    for program in programs():
        backend = DurableBackend(program)
        for ruleset in backend._rulesets:
            for number in ruleset.rules:
                definition = ruleset._definition(program.rules[number])
                assert set(definition) == {"all", "dist", "pri"}
                assert 0 <= definition["pri"] <= 65_535
                for condition in definition["all"]:
                    (parts,) = condition.values()
                    assert set(parts) == {"$and"}
                    for part in parts["$and"]:
                        ((name, operand),) = part.items()
                        if name in allowed:
                            assert set(operand) == {"v"}
                            assert isinstance(operand["v"], float | str)
                        else:
                            assert name in {"h", "a", "v", "g", "n"}
        backend.close()


def test_complaints_of_clips_become_faults() -> None:
    """CLIPS prints and carries on where a number test meets a text; that must stop the run."""
    compiled = small_book()
    backend = ClipsBackend(compiled.program)
    attribute = names_of(compiled).index("value of client.age")
    with (
        pytest.raises(EngineFault, match=r"CLIPS reported:.*expected argument"),
        backend.case() as c,
    ):
        c.advance(1, [(0, attribute, "thirty")], [])
    outcome = run_session(compiled, backend, ANSWERS, {})
    assert set(outcome.conclusions) == {0, 1}
    backend.close()


def test_clips_decides_absences_itself() -> None:
    """Told that nothing is absent, CLIPS still finds what is; told the contrary, it disagrees."""
    compiled = small_book()
    backend = ClipsBackend(compiled.program)
    names = names_of(compiled)
    age, ill = names.index("value of client.age"), names.index("value of client.ill")
    with backend.case() as case:
        assert case.advance(1, [(0, age, 31.0), (1, ill, "false")], []) == [Firing(0, (0,))]
    with backend.case() as case:
        assert case.advance(1, [(0, age, 31.0), (1, ill, "true")], [0]) == []
    backend.close()


def test_a_closed_clips_refuses_to_run() -> None:
    backend = ClipsBackend(small_book().program)
    backend.close()
    backend.close()
    with pytest.raises(EngineFault, match="closed"), backend.case():
        pass


@pytest.mark.parametrize(
    "text",
    ["plain", "with space", 'quote " inside', "back \\ slash", "é ü ß 中文", "{}[]:,;?$&~|", "'"],
)
def test_texts_arrive_unchanged(text: str) -> None:
    facts = [fact("client.note", "text"), derived("made.f")]
    rules = [
        rule(
            f"AAA-{number}",
            when=[{"fact": "client.note", operator: text}],
            then=[{"set": "made.f", "to": True}],
        )
        for number, operator in enumerate(("equals", "is_not"))
    ]
    compiled = compile_knowledge(book(facts, rules), ON)
    for answer, fired in ((text, "AAA-0"), (text + "!", "AAA-1")):
        run = run_engine(compiled, {"client.note": answer}, ON, ENGINES)
        assert [one.rule_id for one in run.records if one.verdict is Verdict.FIRED] == [fired]


@pytest.mark.parametrize("value", [0.0, -0.0, 1e-05, 1.5e-07, 1e16, 1.25e300, 0.1, 1 / 3, -7.0])
def test_numbers_arrive_unchanged_on_and_beside_the_line(value: float) -> None:
    """Neighbouring floating-point numbers fall on different sides of the line."""
    facts = [fact("client.x", "number"), derived("made.f")]
    then = [{"set": "made.f", "to": True}]
    rules = [
        rule("AAA-1", when=[{"fact": "client.x", "at_least": {"param": "p.x"}}], then=then),
        rule("AAA-2", when=[{"fact": "client.x", "equals": {"param": "p.x"}}], then=then),
        rule("AAA-3", when=[{"fact": "client.x", "more_than": {"param": "p.x"}}], then=then),
    ]
    limits = [-1e301, 1e301]
    kb = book(facts, rules, [parameter("p.x", value, range=limits)])
    compiled = compile_knowledge(kb, ON)
    below, above = math.nextafter(value, -math.inf), math.nextafter(value, math.inf)
    for x, expected in ((value, "12"), (below, ""), (above, "13")):
        run = run_engine(compiled, {"client.x": x}, ON, ENGINES)
        fired = [one.rule_id[-1] for one in run.records if one.verdict is Verdict.FIRED]
        assert "".join(fired) == expected
    compiled.close()


def test_number_text_always_has_a_point_and_reads_back() -> None:
    source = random.Random(3)
    for _ in range(2_000):
        value = source.uniform(-1, 1) * 10.0 ** source.randint(-12, 18)
        text = number_text(value)
        assert float(text) == value
        assert "." in text
    assert number_text(1e-05) == "1.0e-05"
    assert number_text(-0.0) == "0.0"
    with pytest.raises(EngineFault):
        number_text(float("nan"))
    assert clips_text('a"\\') == '"a\\"\\\\"'


@pytest.mark.parametrize("kind", KINDS)
def test_a_comma_for_a_decimal_point_is_noticed_at_the_start(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = small_book().program
    if kind == "durable":

        class Comma:
            """The C module under a locale in which 1.5 is read as 1."""

            def __getattr__(self, name: str) -> Any:
                if name == "start_action_for_state":
                    return lambda *_: None
                return getattr(importlib.import_module("durable_rules_engine"), name)

        with pytest.raises(EngineFault, match="decimal point"):
            durable._check_decimal_point(Comma())
    else:
        monkeypatch.setattr(clips, "DECIMAL_TEST", ("(+ 1.5 1.25)", 2.0))
        with pytest.raises(EngineFault, match="decimal point"):
            ClipsBackend(program)


@pytest.mark.parametrize("kind", KINDS)
def test_each_thread_has_an_engine_of_its_own(kind: str) -> None:
    compiled = load_book()
    expected = run_engine(compiled, load_answers(1), ON, kind)  # type: ignore[arg-type]
    results: list[bool] = []

    def work() -> None:
        for _ in range(10):
            run = run_engine(compiled, load_answers(1), ON, kind)  # type: ignore[arg-type]
            results.append(run == expected)
        compiled.close()

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert results == [True] * 30
    compiled.close()


def test_an_engine_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(_: Program) -> Any:
        raise ImportError("No module named 'durable_rules_engine'")

    monkeypatch.setitem(MAKERS, "durable", missing)
    with pytest.raises(InputProblems, match="`durable` is not installed here"):
        run_engine(small_book(), ANSWERS, ON, "durable")


def test_without_durable_rules_clips_serves_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable, "importable", lambda: False)
    assert run_engine(small_book(), ANSWERS, ON).engine.startswith("CLIPS (clipspy ")


def test_tests_compare_as_python_does() -> None:
    values = (-1.0, 0.0, 0.5, 1.0)
    for name, compare in (
        ("==", lambda a, b: a == b),
        ("!=", lambda a, b: a != b),
        (">=", lambda a, b: a >= b),
        ("<=", lambda a, b: a <= b),
        (">", lambda a, b: a > b),
        ("<", lambda a, b: a < b),
    ):
        for have in values:
            for want in values:
                assert Test(0, name, want).meets(have) is compare(have, want)


def resident_megabytes() -> float:
    """Resident memory now (Linux), in megabytes."""
    with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123 - a kernel file
        return int(file.read().split()[1]) * resource.getpagesize() / 2**20


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_memory_stays_flat_over_twenty_thousand_cases(kind: str) -> None:
    compiled = load_book()
    backend = compiled.engines.get(kind, MAKERS[kind], compiled.program)
    people = [load_answers(seed) for seed in range(100)]
    for person in people * 10:
        run_session(compiled, backend, person, {})
    gc.collect()
    before = resident_megabytes()
    for person in people * 200:
        run_session(compiled, backend, person, {})
    gc.collect()
    assert resident_megabytes() - before < 5
    compiled.close()


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_compiling_again_and_again_keeps_memory_flat(kind: str) -> None:
    def compile_and_run() -> None:
        compiled = load_book()
        run_engine(compiled, load_answers(1), ON, kind)  # type: ignore[arg-type]
        compiled.close()

    for _ in range(10):
        compile_and_run()
    gc.collect()
    before = resident_megabytes()
    for _ in range(100):
        compile_and_run()
    gc.collect()
    assert resident_megabytes() - before < 15
