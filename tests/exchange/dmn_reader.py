"""Reads and evaluates decision tables: a small reader made from the text of DMN 1.3, not from ours.

What it knows is from OMG document formal/21-01-02, from memory: hit policies of 8.2.10, unary tests of
7.3.10 and table 55 (null compared by = is a plain yes or no, by order it is null), three-valued `and`,
`or`, `not` of table 50, `list contains` and `count` of 10.3.4.4. Whatever else stands in a table is an error.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias
from xml.etree import ElementTree as ET

NS = {"d": "https://www.omg.org/spec/DMN/20191111/MODEL/"}
Context: TypeAlias = Mapping[str, Any]
Read: TypeAlias = Callable[[Context], Any]

_TOKEN = re.compile(
    r'\s*(?:(?P<text>"[^"]*")|(?P<number>-?\d+(?:\.\d+)?)|(?P<op>>=|<=|!=|[=<>()\[\],+*?-])'
    r"|(?P<name>list contains|[a-z][A-Za-z0-9_]*))"
)


def _tokens(text: str) -> list[tuple[str, str]]:
    found, place = [], 0
    while place < len(text.rstrip()):
        match = _TOKEN.match(text, place)
        assert match is not None, f"no FEEL that this reader knows: {text[place:]!r}"
        found.append((str(match.lastgroup), match[match.lastgroup or 0]))
        place = match.end()
    return found


def _order(sign: str, one: Any, other: Any) -> bool | None:
    if one is None or other is None:
        return None
    assert isinstance(one, float)
    assert isinstance(other, float)
    return {">=": one >= other, "<=": one <= other, ">": one > other, "<": one < other}[sign]


def _either(parts: list[bool | None]) -> bool | None:
    return True if True in parts else None if None in parts else False


class _Parser:
    """One FEEL text; each rule of the grammar gives a function of the context."""

    def __init__(self, text: str) -> None:
        self.left = _tokens(text)

    def peek(self) -> str:
        return self.left[0][1] if self.left else ""

    def take(self, *wanted: str) -> str:
        assert not wanted or self.peek() in wanted, f"{wanted} wanted, {self.left[:3]} found"
        return self.left.pop(0)[1]

    def tests(self) -> Read:
        """Unary tests: `-`, `not(...)`, or positive tests of which one is enough."""
        if self.peek() == "-" and len(self.left) == 1:
            self.take()
            return lambda _: True
        if self.peek() == "not":
            self.take()
            self.take("(")
            inner = self.positive()
            self.take(")")
            return lambda c: {True: False, False: True, None: None}[inner(c)]
        return self.positive()

    def positive(self) -> Read:
        one = [self.test()]
        while self.peek() == ",":
            self.take()
            one.append(self.test())
        return lambda c: _either([each(c) for each in one])

    def test(self) -> Read:
        if self.peek() in {">=", "<=", ">", "<"}:
            sign, wanted = self.take(), self.sum()
            return lambda c: _order(sign, c["?"], wanted(c))
        about_it = any(word == "?" for _, word in self.left)
        said = self.either()
        # An expression about the input says yes or no by itself; any other is compared with it.
        return said if about_it else lambda c: said(c) == c["?"]

    def either(self) -> Read:
        some = [self.compared()]
        while self.peek() == "or":
            self.take()
            some.append(self.compared())
        return some[0] if len(some) == 1 else lambda c: _either([each(c) for each in some])

    def compared(self) -> Read:
        one = self.sum()
        if self.peek() not in {">=", "<=", ">", "<", "=", "!="}:
            return one
        sign, other = self.take(), self.sum()
        if sign in {"=", "!="}:
            return lambda c: (one(c) == other(c)) is (sign == "=")
        return lambda c: _order(sign, one(c), other(c))

    def sum(self) -> Read:
        one = self.term()
        while self.peek() in {"+", "-", "*"}:
            sign, first, other = self.take(), one, self.term()
            one = _arithmetic(sign, first, other)
        return one

    def term(self) -> Read:  # noqa: PLR0911 - one way out for each kind of term
        (kind, word) = self.left.pop(0)
        if kind == "text":
            return lambda _: word[1:-1]
        if kind == "number":
            return lambda _: float(word)
        if word == "(":
            inner = self.either()
            self.take(")")
            return inner
        if word == "[":
            return self.filtered()
        if word in {"true", "false", "null"}:
            return lambda _: {"true": True, "false": False, "null": None}[word]
        if word == "count":
            inner = self.argument()
            return lambda c: None if inner(c) is None else float(len(inner(c)))
        if word == "list contains":
            self.take("(")
            where = self.term()
            self.take(",")
            what = self.term()
            self.take(")")
            return lambda c: None if where(c) is None else what(c) in where(c)
        assert kind == "name" or word == "?", word
        return lambda c: c[word]

    def argument(self) -> Read:
        self.take("(")
        inner = self.term()
        self.take(")")
        return inner

    def filtered(self) -> Read:
        """A list and which of its items count: `[a, b][item = true]`."""
        items = [self.term()]
        while self.take(",", "]") == ",":
            items.append(self.term())
        assert [self.take() for _ in range(5)] == ["[", "item", "=", "true", "]"]
        return lambda c: [each(c) for each in items if each(c) is True]


def _arithmetic(sign: str, one: Read, other: Read) -> Read:
    def worked_out(c: Context) -> float | None:
        a, b = one(c), other(c)
        return (
            None
            if a is None or b is None
            else a + b
            if sign == "+"
            else a - b
            if sign == "-"
            else a * b
        )

    return worked_out


@cache
def unary(text: str) -> Read:
    parser = _Parser(text)
    read = parser.tests()
    assert not parser.left, f"left over in {text!r}: {parser.left}"
    return read


@cache
def expression(text: str) -> Read:
    parser = _Parser(text)
    read = parser.either()
    assert not parser.left, f"left over in {text!r}: {parser.left}"
    return read


@dataclass(frozen=True)
class Rule:
    id: str
    tests: tuple[str, ...]
    outcomes: tuple[str, ...]


@dataclass(frozen=True)
class Decided:
    """A decision table. outputs: names of its columns, with the words each may be."""

    name: str
    policy: str
    aggregation: str
    inputs: tuple[str, ...]
    outputs: tuple[tuple[str, tuple[str, ...]], ...]
    rules: tuple[Rule, ...]
    required: tuple[str, ...]

    def hits(self, context: Context) -> list[Rule]:
        have = [expression(text)(context) for text in self.inputs]

        def fits(rule: Rule) -> bool:
            pairs = zip(rule.tests, have, strict=True)
            return all(t == "-" or unary(t)({**context, "?": value}) is True for t, value in pairs)

        return [rule for rule in self.rules if fits(rule)]

    def value(self, context: Context) -> Any:
        """Return what the table comes to by its hit policy; null where no row holds."""
        found = [self._outcome(rule, context) for rule in self.hits(context)]
        if self.policy == "COLLECT" and not self.aggregation:
            return found
        if not found:
            return None
        if self.policy == "COLLECT":
            return {"MIN": min, "MAX": max}[self.aggregation](found)
        if self.policy == "PRIORITY":
            return min(found, key=self.outputs[0][1].index)
        if self.policy == "UNIQUE":
            assert len(found) == 1, f"{self.name}: {len(found)} rows hold, and UNIQUE allows one"
        if self.policy == "ANY":
            assert all(each == found[0] for each in found), f"{self.name}: rows differ under ANY"
        assert self.policy in {"UNIQUE", "ANY", "FIRST"}
        return found[0]

    def _outcome(self, rule: Rule, context: Context) -> Any:
        values = [expression(text)(context) for text in rule.outcomes]
        names = [name for name, _ in self.outputs]
        return values[0] if len(values) == 1 else dict(zip(names, values, strict=True))


def _text(place: ET.Element, path: str) -> str:
    found = place.find(f"{path}/d:text", NS)
    return "" if found is None else found.text or ""


def _words(text: str) -> tuple[str, ...]:
    return tuple(re.findall(r'"([^"]*)"', text))


@dataclass(frozen=True)
class Document:
    decisions: Mapping[str, Decided]
    inputs: Mapping[str, str]

    @property
    def loops(self) -> dict[str, str]:
        """Elements that a table is evaluated for, with their domain."""
        about = {
            name: re.match(r"one of the domain `(\w+)`", said) for name, said in self.inputs.items()
        }
        return {name: found[1] for name, found in about.items() if found}


def read_dmn(content: bytes) -> Document:
    root = ET.fromstring(content)
    named = {
        f"#{each.get('id')}": str(each.get("name"))
        for tag in ("inputData", "decision")
        for each in root.iterfind(f"d:{tag}", NS)
    }
    about = {
        str(each.get("name")): each.findtext("d:description", "", NS)
        for each in root.iterfind("d:inputData", NS)
    }
    made = [_decided(each, named) for each in root.iterfind("d:decision", NS)]
    return Document({each.name: each for each in made}, about)


def _decided(place: ET.Element, named: Mapping[str, str]) -> Decided:
    table = place.find("d:decisionTable", NS)
    assert table is not None
    notes = [str(each.get("name")) for each in table.iterfind("d:annotation", NS)]
    return Decided(
        str(place.get("name")),
        table.get("hitPolicy", "UNIQUE"),
        table.get("aggregation", ""),
        tuple(_text(each, "d:inputExpression") for each in table.iterfind("d:input", NS)),
        tuple(
            (each.get("name") or str(each.get("label")), _words(_text(each, "d:outputValues")))
            for each in table.iterfind("d:output", NS)
        ),
        tuple(_rules(table, notes.index("rule"))),
        tuple(
            named[str(each.get("href"))]
            for need in place.iterfind("d:informationRequirement", NS)
            for each in need
        ),
    )


def _rules(table: ET.Element, id_at: int) -> Iterator[Rule]:
    for each in table.iterfind("d:rule", NS):
        tests = (text.findtext("d:text", "", NS) for text in each.iterfind("d:inputEntry", NS))
        outcomes = (text.findtext("d:text", "", NS) for text in each.iterfind("d:outputEntry", NS))
        notes = [text.findtext("d:text", "", NS) for text in each.iterfind("d:annotationEntry", NS)]
        yield Rule(notes[id_at], tuple(tests), tuple(outcomes))
