"""CLIPS, through the C functions that clipspy exposes.

CLIPS serves where durable_rules cannot be installed, and checks it elsewhere: it decides
absences with its own `not`, ignoring the host's answer. A rule with a `not` waits for the fact
`(level n)`, because `not` only means "nobody concluded it" once everybody has spoken.

clipspy's own fact objects are not used: each of them leaks (its `ReleaseFact` call has one
argument too many), and building them takes longer than the matching.
"""

import importlib
import weakref
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from assistant.engine.backend import (
    AttributeFact,
    Firing,
    clips_text,
    installed_version,
    number_text,
)
from assistant.engine.program import CompiledRule, Program, Test
from assistant.model.errors import EngineFault

NUMBER_TESTS = {"==": "=", "!=": "<>", ">=": ">=", "<=": "<=", ">": ">", "<": "<"}
DECIMAL_TEST = ("(+ 1.5 1.25)", 2.75)
TEMPLATES = (
    "(deftemplate f (slot i (type INTEGER)) (slot a (type INTEGER)) (slot v))",
    "(deftemplate level (slot n (type INTEGER)))",
    "(deftemplate fired (slot t (type STRING)))",
)


class ClipsBackend:
    """One CLIPS environment with the rules of a program."""

    def __init__(self, program: Program) -> None:
        """Build the rules. Raises ImportError where clipspy is not installed."""
        clips = importlib.import_module("clips")
        native = importlib.import_module("clips._clips")
        self._lib: Any = native.lib
        self._ffi: Any = native.ffi
        self._environment: Any = clips.Environment()
        # The C functions want the bare environment, which the package keeps to itself.
        self.env = self._environment._env  # noqa: SLF001
        # A router in Python is asked for every piece of text that CLIPS reads: it makes building
        # rules ten times slower. So the package's own goes, and ours comes when the rules stand.
        for router in tuple(self._environment.routers()):
            if router.name == "python-error-router":
                router.delete()
        rules = (_rule_text(number, rule, program) for number, rule in enumerate(program.rules))
        for text in (*TEMPLATES, *rules):
            self._build(text)
        self._complaints = _add_recording_router(clips, self._environment)
        self._fact_builder = self._builder("f")
        self._level_builder = self._builder("level")
        self._fired_template = self._lib.FindDeftemplate(self.env, b"fired")
        # Builders go before their environment does, or CLIPS complains of lost memory at exit.
        self._finalizer = weakref.finalize(
            self, _dispose, self._lib, self._environment, [self._fact_builder, self._level_builder]
        )
        self._check_decimal_point()

    @property
    def name(self) -> str:
        """Engine and version."""
        return f"CLIPS (clipspy {installed_version('clipspy')})"

    @contextmanager
    def case(self) -> Iterator["ClipsCase"]:
        """Open the working memory of one case."""
        if self.env is None:
            raise EngineFault("this CLIPS backend is closed")
        self._reset()
        try:
            yield ClipsCase(self)
        finally:
            self._reset()

    def close(self) -> None:
        """Free the environment."""
        self._finalizer()
        self.env = None
        self._environment = None

    # What a case needs.

    def add_fact(self, fact: AttributeFact) -> None:
        """Assert an attribute fact."""
        number, attribute, value = fact
        lib, env, put, builder = self._lib, self.env, self._lib.FBPutSlot, self._fact_builder
        slot = self._slot
        slot.integerValue = lib.CreateInteger(env, number)
        put(builder, b"i", slot)
        slot.integerValue = lib.CreateInteger(env, attribute)
        put(builder, b"a", slot)
        if isinstance(value, float):
            slot.floatValue = lib.CreateFloat(env, value + 0.0)
        else:
            slot.lexemeValue = lib.CreateString(env, value.encode())
        put(builder, b"v", slot)
        if lib.FBAssert(builder) == self._ffi.NULL:
            raise EngineFault(f"CLIPS refused the fact {fact}: {self.complaint()}")

    def open_level(self, level: int) -> None:
        """Tell the rules with a `not` that everything they read is in."""
        self._slot.integerValue = self._lib.CreateInteger(self.env, level)
        self._lib.FBPutSlot(self._level_builder, b"n", self._slot)
        if self._lib.FBAssert(self._level_builder) == self._ffi.NULL:
            raise EngineFault(f"CLIPS refused level {level}: {self.complaint()}")

    def run(self) -> None:
        """Fire whatever can fire. CLIPS does not raise: it writes, so what it wrote is looked at."""
        self._lib.Run(self.env, -1)
        complaint = self.complaint()
        if complaint:
            raise EngineFault(f"CLIPS reported: {complaint}")

    def fired_since(self, last: Any) -> Iterator[tuple[Any, str]]:
        """Yield the records of firings that came after one (None: from the first)."""
        lib, ffi, slot = self._lib, self._ffi, self._slot
        fact = ffi.NULL if last is None else last
        while True:
            fact = lib.GetNextFactInTemplate(self._fired_template, fact)
            if fact == ffi.NULL:
                return
            lib.GetFactSlot(fact, b"t", slot)
            yield fact, ffi.string(slot.lexemeValue.contents).decode()

    def complaint(self) -> str:
        """Return and forget what CLIPS wrote to its error output."""
        text = "".join(self._complaints).strip()
        self._complaints.clear()
        return " ".join(text.split())

    # Set-up.

    def _build(self, text: str) -> None:
        if self._lib.Build(self.env, text.encode()) != self._lib.BE_NO_ERROR:
            raise EngineFault(f"CLIPS refused the rule text {text}")

    def _builder(self, template: str) -> Any:
        self._slot = self._ffi.new("CLIPSValue *")
        builder = self._lib.CreateFactBuilder(self.env, template.encode())
        if builder == self._ffi.NULL:
            raise EngineFault(f"CLIPS has no template `{template}`")
        return builder

    def _reset(self) -> None:
        self._lib.Reset(self.env)
        self._complaints.clear()

    def _check_decimal_point(self) -> None:
        """Refuse to run where the locale makes CLIPS read 1.5 as 1: comparisons would be wrong."""
        question, answer = DECIMAL_TEST
        if self._environment.eval(question) != answer:
            raise EngineFault(
                "CLIPS does not read the decimal point here; set LC_NUMERIC=C and try again"
            )


class ClipsCase:
    """The working memory of one case."""

    def __init__(self, backend: ClipsBackend) -> None:
        self._backend = backend
        self._last: Any = None

    def advance(
        self, level: int, facts: Sequence[AttributeFact], absent: Sequence[int]
    ) -> list[Firing]:
        """Add facts and return what fires; absences are decided by CLIPS itself."""
        del absent
        backend = self._backend
        for fact in facts:
            backend.add_fact(fact)
        backend.open_level(level)
        backend.run()
        firings: list[Firing] = []
        for fact, text in backend.fired_since(self._last):
            self._last = fact
            rule, *matched = map(int, text.split())
            firings.append(Firing(rule, tuple(matched)))
        return firings


def _dispose(lib: Any, environment: Any, builders: list[Any]) -> None:
    """Free fact builders while their environment (kept alive by being an argument) is there."""
    del environment
    for builder in builders:
        lib.FBDispose(builder)


def _add_recording_router(clips: Any, environment: Any) -> list[str]:
    """Collect what CLIPS writes to its error output, in place of printing it."""
    written: list[str] = []

    class Recorder(clips.Router):  # type: ignore[misc]
        """Takes over the error output."""

        def __init__(self) -> None:
            super().__init__("whyplan-errors", 40)

        def query(self, name: str) -> bool:
            return name in {"stderr", "stdwrn"}

        def write(self, name: str, message: str) -> None:  # noqa: ARG002 - the name was asked for above
            written.append(message)

    environment.add_router(Recorder())
    return written


def _rule_text(number: int, rule: CompiledRule, program: Program) -> str:
    """Return a compiled rule in CLIPS's language."""
    patterns = []
    if rule.absence is not None:
        patterns.append(f"(level (n {rule.level}))")
    for place, test in enumerate(rule.tests):
        patterns.append(f"(f (i ?i{place}) {_pattern(test, f'v{place}')})")
    if rule.absence is not None:
        for place, test in enumerate(program.absences[rule.absence].tests):
            patterns.append(f"(not (f {_pattern(test, f'w{place}')}))")
    matched = " ".join(f'" " ?i{place}' for place in range(len(rule.tests)))
    action = f'(assert (fired (t (str-cat "{number}" {matched}))))'
    return f"(defrule r{number} {' '.join(patterns)} => {action})"


def _pattern(test: Test, variable: str) -> str:
    """Return the slots of a pattern that a fact passing the test has."""
    if isinstance(test.literal, str):
        mark = "~" if test.operator == "!=" else ""
        return f"(a {test.attribute}) (v {mark}{clips_text(test.literal)})"
    function = NUMBER_TESTS[test.operator]
    comparison = f"({function} ?{variable} {number_text(test.literal)})"
    return f"(a {test.attribute}) (v ?{variable}&:{comparison})"
