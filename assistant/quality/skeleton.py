"""The first text of something new in the rules: it names what its author named, and marks the gaps.

Values come from the declarations of the facts. Whatever the author must decide is a gap
(`assistant.knowledge.gaps`), so that nothing is guessed in silence and nothing half written is used.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.knowledge.gaps import gap
from assistant.model.errors import InputProblems, Problem
from assistant.model.facts import Combine, FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase

_HEAD = "# yaml-language-server: $schema=../schema/{}.schema.json\n"
HOW_TO_HEAD = "schema_version: 1\nexercises:\n"
POSES_HEAD = "schema_version: 1\n"
TITLE = gap("what the rule does, in one line")
_NUMERIC = {FactType.NUMBER, FactType.INTEGER}
_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_.]*")
_STRENGTHS: Mapping[str, dict[str, Any]] = {
    "stop": {"withheld": ["EVERYTHING"], "rescreen_weeks": 0},
    "withhold": {"withheld": [gap("an output or a group of outputs")], "rescreen_weeks": 4},
    "caution": {"withheld": [gap("an output, or nothing: []")], "rescreen_weeks": 8},
    "inform": {"rescreen_weeks": 12},
}


@dataclass(frozen=True)
class Wish:
    """What a new rule is to be.

    reads: facts of its conditions. sets: the fact it concludes. calculator: what works it out.
    """

    rule_id: str
    stage: str
    title: str
    sets: str
    reads: Sequence[str] = ()
    calculator: str | None = None


def rule_text(wish: Wish, kb: KnowledgeBase, calculators: Mapping[str, Any]) -> str:
    """Return the text of a rule's file. Raises InputProblems for a fact that no rule concludes."""
    facts = [kb.facts[name] for name in wish.reads]
    target = kb.facts[wish.sets]
    if target.origin != "derived":
        text = f"`{target.id}` is an {target.origin}; a rule concludes derived facts"
        raise InputProblems([Problem("--sets", "not-derived", text)])
    domain = target.index or next((fact.index for fact in facts if fact.index), None)
    element = kb.book.domains[domain][0] if domain else None
    given = {_key(fact, element): _example(fact, kb) for fact in facts}
    to, comes_to = _value(target, facts, kb, calculators.get(wish.calculator or ""), wish)
    of = {"of": domain} if target.index is not None else {}
    adds = target.combine is Combine.COLLECT
    then = {"add" if adds else "set": target.id, **of, "item" if adds else "to": to}
    lines = [
        f"id: {wish.rule_id}",
        f"title: {_flow(wish.title)}",
        f"stage: {wish.stage}",
        *([f"for_each: {{{domain}: {domain}}}"] if domain else []),
        *(["when:"] if facts else []),
        *[f"  - {_flow(_clause(fact, kb, domain))}" for fact in facts],
        "then:",
        f"  - {_flow(then)}",
        *_basis("", "why, for the client; without this line they read the one above"),
        "tests:",
        *([f"  loop: {element}"] if element else []),
        f"  given: {_flow(given)}",
        f"  expect: {_flow({_key(target, element): comes_to})}",
        *_cases(given, "  "),
    ]
    return _HEAD.format("rule") + "\n".join(lines) + "\n"


def flag_text(flag: str, severity: str, reads: Sequence[str], kb: KnowledgeBase) -> str:
    """Return the text of a flag's file: what it says, what it takes out, what raises it."""
    facts = [kb.facts[name] for name in reads]
    given = {fact.id: _example(fact, kb) for fact in facts}
    strength = _STRENGTHS[severity]
    trainings = ", ".join(kb.screen_words.trainings)
    lines = [
        f"id: {flag}",
        f"severity: {severity}",
        *([f"withheld: {_flow(strength['withheld'])}"] if "withheld" in strength else []),
        f"area: {_flow(gap('what it is about, in two or three plain words'))}",
        f"coach: {_flow(gap('what the coach reads'))}",
        f"client: {_flow(gap('what the client reads; nothing of training going on'))}",
        f"note: {_flow(gap('the line in the note for a professional'))}",
        f"training: {_flow(gap(f'one of {trainings}'))}",
        f"rescreen_weeks: {strength['rescreen_weeks']}",
        "raised_by:",
        f"- id: SCR-{flag.upper().replace('_', '-')}",
        f"  title: {_flow(gap('what raises the flag, in one line'))}",
        "  when:",
        *[f"  - {_flow(_clause(fact, kb, None))}" for fact in facts],
        *([] if facts else [f"  - {_flow(gap('a condition on an answer'))}"]),
        *_basis("  ", "why, for the client"),
        "  tests:",
        f"    given: {_flow(given) if facts else _flow(gap('an answer that raises it'))}",
        *_cases(given, "    "),
    ]
    return _HEAD.format("flag") + "\n".join(lines) + "\n"


def exercise_row(exercise: str, pattern: str, kb: KnowledgeBase) -> str:
    """Return the row of an exercise, for the end of its file."""
    book = kb.exercises
    choices: dict[str, Sequence[str]] = {
        "measure": book.measures,
        "axial_load": book.axial_loads,
        "position": book.positions,
        "peak_tension": book.peak_tensions,
    }
    row: dict[str, Any] = {
        "id": exercise,
        "name": gap("its name"),
        "pattern": pattern,
        "measure": None,
        "equipment": [gap("what it needs; nothing: []")],
        "primary": {gap("a muscle it is chosen for"): 1.0},
        "secondary": {gap("a muscle that helps; none: {}"): 0.5},
        "unilateral": gap("true where one side works at a time, else false"),
        "axial_load": None,
        "skill": gap("1 easy, 2, or 3 hard to learn"),
        "loadability": gap("1, 2 or 3; the head of this file says when"),
        "joint_stress": [gap(f"of {', '.join(kb.book.domains['joint'])}; none: []")],
        "home_friendly": gap("true or false"),
        "rep_zones": [gap(f"of {', '.join(kb.programme.declares()['zone'])}")],
        "rest_s": gap("seconds between sets"),
        "setup_s": gap("seconds to set up"),
        "position": None,
        "peak_tension": None,
        "flags": [gap("of `flags` at the head of this file; none: []")],
        "regressions": [gap("an easier exercise; none: []")],
        "progressions": [gap("a harder exercise; none: []")],
        "evidence": [],
        "grade": "practice",
    }
    row |= {name: gap(f"one of {', '.join(names)}") for name, names in choices.items()}
    return _entry(row)


def how_to_row(exercise: str) -> str:
    """Return how an exercise is done, for the end of the file of its pattern."""
    slip = {"fault": gap("what the person notices"), "mend": gap("what mends it")}
    return _entry(
        {
            "id": exercise,
            "set_up": gap("what to set up, and how to stand, sit or lie"),
            "steps": [gap(f"step {number}") for number in ("one", "two", "three")],
            "feel": gap("where it should work"),
            "faults": [slip, slip],
            "stop": gap("when to stop this set or this exercise today"),
            "first_load": gap("how to find the first load"),
            "watch": gap("for the coach: where to stand, what to look at"),
            "without_kit": [gap("an exercise for the same muscle with less kit; none: []")],
        }
    )


def not_drawn_row(exercise: str, file: str) -> str:
    """Return why an exercise is not drawn yet, for the end of a file of poses."""
    row = f"  {exercise}: {json.dumps(gap('why it is not drawn; or a pose instead'))}\n"
    return row if "\nnot_drawn:\n" in f"\n{file}" else f"not_drawn:\n{row}"


def question_rows(fact: str, kind: str, section: str, tier: str | None) -> tuple[str, str]:
    """Return the declaration of an answer and its question, for the ends of their files."""
    declared: dict[str, Any] = {
        "id": fact,
        "label": gap("what the answer is called in a sentence"),
        "type": kind,
        "origin": "answer",
    }
    asked: dict[str, Any] = {
        "fact": fact,
        "section": section,
        "coach": gap("the question as the coach asks it"),
        "self": gap("the same for a person who answers alone"),
        "why": gap("why we ask"),
        "may_decline": True,
    }
    if kind in _NUMERIC:
        declared |= {"unit": gap("its unit"), "range": [gap("the least"), gap("the most")]}
    if kind in {FactType.CHOICE, FactType.CHOICES}:
        declared["choices"] = [gap("the ids to choose from")]
        asked["labels"] = {gap("an id"): gap("what it is called")}
    if tier is not None:
        declared["tier"] = tier
    return _entry(declared), _entry(asked)


def _entry(row: Mapping[str, Any]) -> str:
    """An entry of a list, one field a line."""
    lines = [f"{_name(field)}: {_flow(value)}" for field, value in row.items()]
    return "  - " + "\n    ".join(lines) + "\n"


def _basis(pad: str, for_client: str) -> list[str]:
    """Why, on what source, how sure: for the author to write."""
    source = {"ref": gap("a source of rules/sources"), "supports": gap("what it supports")}
    grade = {"certainty": "practice", "note": gap("why the grade is no stronger")}
    return [
        f"{pad}because: {_flow(gap('why, in a sentence or two'))}",
        f"{pad}client_because: {_flow(gap(for_client))}",
        f"{pad}source: {_flow([source])}",
        f"{pad}grade: {_flow(grade)}",
    ]


def _cases(given: Mapping[str, Any], pad: str) -> list[str]:
    silent = [_flow({"but": {key: "unknown"}, "fires": False}) for key in given]
    return [f"{pad}cases:", *[f"{pad}  - {each}" for each in silent]] if silent else []


def _key(fact: FactDeclaration, element: str | None) -> str:
    return fact.id if fact.index is None else f"{fact.id}[{element}]"


def _clause(fact: FactDeclaration, kb: KnowledgeBase, domain: str | None) -> dict[str, Any]:
    of = {"of": domain} if fact.index is not None else {}
    if fact.type is FactType.BOOLEAN:
        return {"fact": fact.id, **of, "equals": True}
    if fact.type is FactType.CHOICE:
        return {"fact": fact.id, **of, "equals": kb.book.choices_of(fact)[0]}
    if fact.type is FactType.CHOICES:
        return {"fact": fact.id, **of, "not_empty": True}
    return {"fact": fact.id, **of, "status": "known"}


def _value(
    target: FactDeclaration,
    reads: Sequence[FactDeclaration],
    kb: KnowledgeBase,
    calculator: Any | None,
    wish: Wish,
) -> tuple[Any, Any]:
    """What the rule concludes, and what its example comes to."""
    if calculator is not None:
        free = [fact for fact in reads if fact.index is None]
        terms: list[Any] = []
        for each in calculator.inputs:
            fits = next((fact for fact in free if fact.unit == each.unit), None)
            if fits is not None:
                free.remove(fits)
            terms.append({"fact": fits.id} if fits else gap(f"{each.name} in {each.unit}"))
        comes_to = gap("what that gives, worked out apart from the program")
        return {"calculate": wish.calculator, "from": terms}, comes_to
    if target.type in _NUMERIC:
        same = next((p for p in kb.parameters.values() if p.unit == target.unit), None)
        if same is not None:
            return {"param": same.id}, same.values[-1].value
        return gap(f"a number in {target.unit}: {{param: …}} or {{calculate: …}}"), gap("its value")
    if target.type in {FactType.DATE, FactType.TEXT}:
        return gap(f"a {target.type.value}"), gap("its value")
    if target.type is FactType.CHOICES and target.combine is not Combine.COLLECT:
        return gap("a list, e.g. {fact: …}"), gap("its value")
    example = _example(target, kb)
    return (example[0] if isinstance(example, list) else example), example


def _example(fact: FactDeclaration, kb: KnowledgeBase) -> Any:
    if fact.type is FactType.BOOLEAN:
        return True
    if fact.type is FactType.CHOICE:
        return kb.book.choices_of(fact)[0]
    if fact.type is FactType.CHOICES:
        return [kb.book.choices_of(fact)[0]]
    if fact.type is FactType.DATE:
        return "2026-06-01"
    if fact.type is FactType.TEXT:
        return "text"
    low, high = fact.range or (1.0, 1.0)
    return float(round((low + high) / 2))


def _flow(value: Any) -> str:
    """YAML in flow form, with only the quotes it needs."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_name(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(each) for each in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return str(int(value)) if value == int(value) else str(value)
    return value if _PLAIN.fullmatch(str(value)) else json.dumps(str(value), ensure_ascii=False)


def _name(key: str) -> str:
    return key if _PLAIN.fullmatch(key) else json.dumps(key, ensure_ascii=False)
