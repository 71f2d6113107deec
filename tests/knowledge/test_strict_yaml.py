"""Strict YAML. Outside checks: the JSON values of RFC 8259, and PyYAML's own reading."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from assistant.knowledge.strict_yaml import MAX_DEPTH, parse_bytes, parse_text
from assistant.model.errors import InputProblems, Problem

# Text that a person can see; the rest is refused on purpose (next tests).
VISIBLE = st.text(
    st.characters(
        exclude_categories=("Cs", "Cc", "Zl", "Zp"),
        exclude_characters="\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
        "\ufeff\ufffe\uffff",
    ),
    max_size=20,
)
JSON_SCALARS = (
    st.none()
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False)
    | VISIBLE
)
JSON_VALUES = st.recursive(
    JSON_SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(VISIBLE, inner, max_size=4),
    max_leaves=12,
)


def _problems_of(parse: Callable[[Any, str], object], given_text: Any) -> tuple[Problem, ...]:
    """What is wrong with a text: at least one problem, or none and data. Nothing else is raised."""
    try:
        parse(given_text, "f")
    except InputProblems as error:
        return error.problems or (Problem("f", "", "refused without a reason"),)
    return ()


def _is_text_to_yaml(number: Any) -> bool:
    """Whether JSON writes a number as YAML 1.1 does not: with an exponent and no point before it."""
    written = repr(number) if isinstance(number, float) else ""
    return "e" in written and "." not in written


def _numbers(value: Any) -> Iterator[Any]:
    if isinstance(value, dict | list):
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _numbers(inner)
    else:
        yield value


@given(JSON_VALUES)
@settings(max_examples=300, deadline=None)
@example([1e22, 0.5])
def test_every_json_value_survives(value: Any) -> None:
    """RFC 8259 text is read as the same value, or refused for a number that is text to YAML 1.1."""
    is_refused = any(map(_is_text_to_yaml, _numbers(value)))
    for indent in (None, 2):
        text = json.dumps(value, ensure_ascii=False, indent=indent)
        if is_refused:
            assert {p.code for p in _problems_of(parse_text, text)} == {"ambiguous-value"}
        else:
            assert parse_text(text, "f").data == value


@given(JSON_VALUES)
@settings(max_examples=150, deadline=None)
@example("0E0")
@example({"1e5": ["2E+7", "1.5e3", 1e22]})
def test_what_pyyaml_writes_is_read_back_as_pyyaml_reads_it(value: Any) -> None:
    """PyYAML's block style, with its own quoting, means the same here (or is refused)."""
    text = yaml.safe_dump(value, allow_unicode=True)
    try:
        data = parse_text(text, "f").data
    except InputProblems:
        return
    assert data == yaml.safe_load(text)


@given(st.text(max_size=200))
@settings(max_examples=400, deadline=None)
@example("? [a]\n: *b\n*c : d")
@example("{[: ]}")
@example("%TAG ! x\n---\na: !y z")
@example("- ? - a\n")
def test_random_text_gives_data_or_problems_and_nothing_else(text: str) -> None:
    assert all(
        str(problem).startswith("f:") and problem.code for problem in _problems_of(parse_text, text)
    )


@given(
    st.lists(
        st.sampled_from(
            [
                "a",
                "b",
                ":",
                "-",
                "?",
                "{",
                "}",
                "[",
                "]",
                ",",
                "&",
                "*",
                "!",
                "|",
                ">",
                "'",
                '"',
                "#",
                "%",
                "@",
                "`",
                "1",
                ".5",
                "~",
                "\n",
            ]
        )
    )
)
@settings(max_examples=400, deadline=None)
def test_text_made_of_yaml_signs_gives_data_or_problems(pieces: list[str]) -> None:
    assert all(problem.code for problem in _problems_of(parse_text, " ".join(pieces)))


@given(st.binary(max_size=100))
@settings(max_examples=200, deadline=None)
def test_random_bytes_give_data_or_problems(raw: bytes) -> None:
    assert all(problem.code for problem in _problems_of(parse_bytes, raw))


@pytest.mark.parametrize(
    "text",
    # Plain scalars that YAML 1.1 or 1.2 resolves to something else than text (yaml.org, types).
    ["yes", "No", "ON", "off", "y", "N", "TRUE", "False", "~", "Null", "NULL", "0x1F", "017", "0o17",
     "0b11", "1_000", "+1", ".5", "1.", "1:30", "190:20:30", ".inf", "1e5", "0E0", "1e+22", "1.5e3", "-.INF", ".NaN", "nan",
     "2026-01-01", "2026-01-01T10:00:00Z", "<<", "="],
)  # fmt: skip
def test_what_yaml_would_guess_is_refused(text: str) -> None:
    with pytest.raises(InputProblems, match=r"f:2: (ambiguous-value|bad-number)"):
        parse_text(f"a: 1\nb: {text}\n", "f")
    assert parse_text(f'b: "{text}"\n', "f").data == {"b": text}


@pytest.mark.parametrize(
    ("text", "line", "code"),
    [
        ("a: 1\nb: &x 2\n", 2, "anchor"),
        ("a: &x 1\nb: *x\n", 2, "alias"),
        ("a: !!str 1\n", 1, "tag"),
        ("a: !python/object:os.system x\n", 1, "tag"),
        ("a:\n  - 1\n  -\n", 3, "empty-value"),
        ("a: 1\n\nb: 2\na: 3\n", 4, "repeated-field"),
        ("a: {b: 1, b: 2}\n", 1, "repeated-field"),
        ("a: 1\n1: 2\n", 2, "bad-key"),
        ("? [a]\n: 1\n", 1, "bad-key"),
        ("a: 1\n---\nb: 2\n", 2, "several-documents"),
        ("%YAML 1.1\n---\na: 1\n", 1, "directive"),
        ("a: 1\n\tb: 2\n", 2, "tab"),
        ("a: 1\nb: x\x07\n", 2, "bad-character"),
        ('a: "\\x07"\n', 1, "bad-character"),
        ("a: x\u202ey\n", 1, "bad-character"),
        ("a: 1\u2028b: 2\n", 1, "bad-character"),
        ("a: 99999999999999999999\n", 1, "bad-number"),
        ("a: 1.0e+999\n", 1, "bad-number"),
        ("a: 'x\n", 1, "bad-yaml"),
        ("a: 1\n  b: 2\n", 2, "bad-yaml"),
        ("# nothing\n", 1, "empty-file"),
    ],
)
def test_every_refusal_has_its_line(text: str, line: int, code: str) -> None:
    with pytest.raises(InputProblems) as caught:
        parse_text(text, "f")
    assert (f"f:{line}", code) in {(p.place, p.code) for p in caught.value.problems}


def test_a_billion_laughs_are_refused_at_the_first_anchor() -> None:
    """The classic expansion attack on entity- and alias-expanding parsers."""
    lines = ['a0: &a0 ["lol"]']
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 10)]
    with pytest.raises(InputProblems) as caught:
        parse_text("\n".join(lines), "f")
    assert caught.value.problems[0].code == "anchor"


@pytest.mark.parametrize("opening", ["[", "{a: ", "- "])
def test_nesting_has_a_limit_and_needs_no_stack(opening: str) -> None:
    with pytest.raises(InputProblems, match=r"too-deep|bad-yaml"):
        parse_text(opening * 20_000, "f")
    deepest = "[" * MAX_DEPTH + "]" * MAX_DEPTH
    assert parse_text(deepest, "f").data is not None


def test_lines_of_every_part() -> None:
    parsed = parse_text("# first\na:\n  - x\n  - {b: 1,\n     c: 2}\nd: >\n  long\n  text\n", "f")
    assert parsed.lines == {
        (): 2, ("a",): 2, ("a", 0): 3, ("a", 1): 4, ("a", 1, "b"): 4, ("a", 1, "c"): 5, ("d",): 6
    }  # fmt: skip
    assert parsed.place("a", 1, "nothing", "here") == "f:4"


def test_a_mark_at_the_start_and_windows_line_ends_are_fine() -> None:
    assert parse_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n", "f").data == {"a": 1, "b": 2}
