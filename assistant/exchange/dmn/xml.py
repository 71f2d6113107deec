"""Decisions as a DMN 1.3 document: types, inputs, decisions with what they require, tables."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from assistant.exchange.dmn.decisions import Decision, Output, Row
from assistant.exchange.dmn.feel import Input, literal
from assistant.knowledge.walk import parameters_read
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase

MODEL = "https://www.omg.org/spec/DMN/20191111/MODEL/"
_TYPES = {
    FactType.NUMBER: "number",
    FactType.INTEGER: "number",
    FactType.BOOLEAN: "boolean",
    FactType.DATE: "date",
}
_NOTES = ("rule", "grade", "sources", "numbers", "house")
_NULLS = (
    "null is every way of having no value; a yes/no that no rule concluded is false, a list that no "
    "rule added to is empty."
)


def dmn_bytes(kb: KnowledgeBase, name: str, made: Sequence[Decision], on: dt.date) -> bytes:
    """Return decisions as one document, the same bytes for the same book and day."""
    root = Element(
        "definitions",
        {
            "xmlns": MODEL,
            "id": "tables",
            "name": name,
            "namespace": f"{kb.exchange.base}/dmn",
            "exporter": "whyplan",
            "exporterVersion": kb.book.version,
        },
    )
    text = (
        f"Book {kb.book.name} {kb.book.version}, logic {kb.logic_hash}, numbers of {on.isoformat()}"
    )
    _text(root, "description", f"{text}. {_NULLS}")
    decided = {each.name for each in made if each.whole and len(each.outputs) == 1}
    inputs = {
        input_name: found
        for each in made
        for input_name, found in each.inputs.items()
        if input_name not in decided
    }
    _types(root, kb, made, inputs)
    for found in inputs.values():
        data = SubElement(root, "inputData", {"id": f"input.{found.name}", "name": found.name})
        _text(data, "description", found.about)
        SubElement(data, "variable", {"name": found.name, "typeRef": _input_type(found)})
    for each in made:
        _decision(root, kb, each, decided, on)
    indent(root)
    text = tostring(root, "unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _text(parent: Element, tag: str, text: str) -> None:
    SubElement(parent, tag).text = text


def _list(words: Iterable[str]) -> str:
    return ", ".join(map(literal, words))


def _type_name(fact: FactDeclaration) -> str:
    return f"t.{fact.choice_domain or fact.id}.{'list' if fact.type is FactType.CHOICES else 'one'}"


def _is_worded(fact: FactDeclaration) -> bool:
    return fact.type in {FactType.CHOICE, FactType.CHOICES}


def _input_type(found: Input) -> str:
    if found.values:
        return "string"
    assert found.fact is not None  # an input has words or a declaration
    return (
        _type_name(found.fact) if _is_worded(found.fact) else _TYPES.get(found.fact.type, "string")
    )


def _output_type(output: Output) -> str:
    return _TYPES.get(output.fact.type, "string")


def _types(
    root: Element, kb: KnowledgeBase, made: Sequence[Decision], inputs: Mapping[str, Input]
) -> None:
    """Write the words each choice and list may hold, and the parts of decisions with several outputs."""
    facts = [found.fact for found in inputs.values() if not found.values]
    worded = {_type_name(fact): fact for fact in facts if fact is not None and _is_worded(fact)}
    for name, fact in sorted(worded.items()):
        is_list = "true" if fact.type is FactType.CHOICES else "false"
        item = SubElement(root, "itemDefinition", {"name": name, "isCollection": is_list})
        _text(item, "typeRef", "string")
        _text(SubElement(item, "allowedValues"), "text", _list(kb.book.choices_of(fact)))
    for each in made:
        if len(each.outputs) > 1:
            item = SubElement(root, "itemDefinition", {"name": f"t.{each.name}"})
            for output in each.outputs:
                part = SubElement(item, "itemComponent", {"name": output.name})
                _text(part, "typeRef", _output_type(output))


def _decision(
    root: Element, kb: KnowledgeBase, made: Decision, decided: set[str], on: dt.date
) -> None:
    place = SubElement(root, "decision", {"id": f"decision.{made.name}", "name": made.name})
    _text(place, "description", " ".join([f"{made.title}.", *made.notes]))
    variable = {"name": made.name}
    if len(made.outputs) > 1:
        variable["typeRef"] = f"t.{made.name}"
    elif made.policy != "COLLECT":
        variable["typeRef"] = _output_type(made.outputs[0])
    SubElement(place, "variable", variable)
    for name in made.inputs:
        kind = "requiredDecision" if name in decided else "requiredInput"
        target = f"#decision.{name}" if name in decided else f"#input.{name}"
        SubElement(SubElement(place, "informationRequirement"), kind, {"href": target})
    _table(SubElement(place, "decisionTable", {"hitPolicy": made.policy}), kb, made, on)


def _table(table: Element, kb: KnowledgeBase, made: Decision, on: dt.date) -> None:
    for about, _ in made.columns:
        column = SubElement(table, "input")
        found = made.inputs.get(about)
        kind = {"typeRef": _input_type(found)} if found else {}
        _text(SubElement(column, "inputExpression", kind), "text", about)
        if found and (allowed := _allowed(kb, found)):
            _text(SubElement(column, "inputValues"), "text", allowed)
    for output in made.outputs:
        named = {"name": output.name} if len(made.outputs) > 1 else {"label": output.name}
        column = SubElement(table, "output", {**named, "typeRef": _output_type(output)})
        if output.values:
            _text(SubElement(column, "outputValues"), "text", _list(output.values))
    for name in _NOTES:
        SubElement(table, "annotation", {"name": name})
    for row in made.rows:
        _rule(SubElement(table, "rule"), kb, made, row, on)


def _allowed(kb: KnowledgeBase, found: Input) -> str:
    if found.values:
        return _list(found.values)
    assert found.fact is not None  # an input has words or a declaration
    if found.fact.type is FactType.CHOICE:
        return _list(kb.book.choices_of(found.fact))
    if found.fact.range is not None and found.name == found.fact.id.replace(".", "_"):
        return f"[{literal(found.fact.range[0])}..{literal(found.fact.range[1])}]"
    return ""


def _rule(place: Element, kb: KnowledgeBase, made: Decision, row: Row, on: dt.date) -> None:
    rule = row.rule
    _text(place, "description", rule.title)
    for column in made.columns:
        cell = row.cells.get(column)
        _text(SubElement(place, "inputEntry"), "text", "-" if cell is None else cell.test)
    for outcome in row.outcomes:
        _text(SubElement(place, "outputEntry"), "text", outcome)
    notes = {
        "rule": rule.id,
        "grade": rule.grade.certainty.value,
        "sources": "; ".join(
            f"{use.ref} ({kb.sources[use.ref].mark.value}): {use.supports}" for use in rule.source
        ),
        "numbers": "; ".join(_number(kb, name, on) for name in sorted(parameters_read(rule))),
        "house": kb.house[rule.id].told if rule.id in kb.house else "",
    }
    for name in _NOTES:
        _text(SubElement(place, "annotationEntry"), "text", notes[name])


def _number(kb: KnowledgeBase, name: str, on: dt.date) -> str:
    value = kb.parameter_value(name, on)
    by = "set by the house" if name in kb.overlay else f"since {value.since.isoformat()}"
    return f"{name} = {literal(value.value)} ({by})"
