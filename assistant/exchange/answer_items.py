"""One answer as an item of a QuestionnaireResponse, and back. Nothing is guessed on the way in."""

from collections.abc import Callable
from typing import Any

from assistant.exchange.terms import (
    ABSENT_CODES,
    ABSENT_READ,
    DATA_ABSENT,
    EMPTY_LIST,
    UCUM,
    Json,
    code_system,
    item_type,
    none_url,
    plain_number,
    quantity,
)
from assistant.knowledge.nearest import shown
from assistant.model.errors import Refused
from assistant.model.facts import FactDeclaration, FactType
from assistant.model.knowledge import KnowledgeBase
from assistant.model.values import Status, Value


def answer_item(kb: KnowledgeBase, fact: str, value: Value) -> Json:
    """Return the item of an answer; a missing value says why by the standard's extension."""
    declaration = kb.facts[fact]
    item: Json = {"linkId": fact}
    if value is Status.NONE:
        item["extension"] = [{"url": none_url(kb), "valueBoolean": True}]
    elif isinstance(value, Status):
        item["extension"] = [{"url": DATA_ABSENT, "valueCode": ABSENT_CODES[value]}]
    elif isinstance(value, tuple):
        codes = value or (EMPTY_LIST,)
        item["answer"] = [{"valueCoding": _coding(kb, declaration, code)} for code in codes]
    else:
        item["answer"] = [single_answer(kb, declaration, value)]
    return item


def _coding(kb: KnowledgeBase, declaration: FactDeclaration, code: str) -> Json:
    return {"system": code_system(kb, declaration), "code": code}


def single_answer(
    kb: KnowledgeBase, declaration: FactDeclaration, value: bool | float | str
) -> Json:
    """Return one answer that has a value, by the type of its item."""
    kind = item_type(declaration)
    if kind == "choice":
        return {"valueCoding": _coding(kb, declaration, str(value))}
    if kind == "quantity":
        return {"valueQuantity": quantity(float(value), declaration.unit)}
    name = f"value{kind.capitalize()}"
    return {name: plain_number(float(value)) if kind in {"decimal", "integer"} else value}


def item_value(kb: KnowledgeBase, declaration: FactDeclaration, item: Json) -> Any:
    """Return the raw value of an item, for the checks every answer goes through; None for nothing.

    Raises Refused.
    """
    absent = _absence(kb, item)
    answers = item.get("answer")
    if answers is None or answers == []:
        return absent
    if absent is not None:
        raise Refused("two-values", "has an answer and a reason for having none; keep one")
    if not isinstance(answers, list) or not all(isinstance(a, dict) for a in answers):
        raise Refused("bad-type", "has an `answer` that is no list of answers")
    read = _READERS[item_type(declaration)]
    values = [read(kb, declaration, answer) for answer in answers]
    if declaration.type is FactType.CHOICES:
        if EMPTY_LIST not in values:
            return values
        if values != [EMPTY_LIST]:
            raise Refused("bad-value", f"has `{EMPTY_LIST}` beside a choice; keep one of them")
        return []
    if len(values) > 1:
        raise Refused("two-values", f"has {len(values)} answers; allowed: one")
    return values[0]


def _absence(kb: KnowledgeBase, item: Json) -> str | None:
    extensions = item.get("extension", [])
    if not isinstance(extensions, list) or not all(isinstance(e, dict) for e in extensions):
        raise Refused("bad-type", "has an `extension` that is no list of extensions")
    found: str | None = None
    for extension in extensions:
        if extension.get("url") == none_url(kb) and extension.get("valueBoolean") is True:
            found = Status.NONE.value
        elif extension.get("url") == DATA_ABSENT:
            code = extension.get("valueCode")
            if not isinstance(code, str) or code not in ABSENT_READ:
                allowed = ", ".join(ABSENT_READ)
                raise Refused("bad-value", f"is absent for `{shown(code)}`; allowed: {allowed}")
            found = ABSENT_READ[code].value
    return found


def _value(answer: Json, name: str) -> Any:
    if name not in answer:
        given = next((key for key in answer if key.startswith("value")), "nothing")
        raise Refused("bad-type", f"is answered by `{given}`; allowed: `{name}`")
    return answer[name]


def _read_quantity(kb: KnowledgeBase, declaration: FactDeclaration, answer: Json) -> Any:
    del kb
    return quantity_value(_value(answer, "valueQuantity"), declaration.unit)


def quantity_value(given: Any, unit: str) -> float | int:
    """Return the number of a Quantity that is in this UCUM unit. Raises Refused."""
    if not isinstance(given, dict):
        raise Refused("bad-type", "has a quantity that is no object with value and unit")
    if given.get("comparator"):
        raise Refused("bad-value", f"is `{shown(given['comparator'])}` a figure; allowed: exact")
    system, code = given.get("system"), given.get("code")
    if system != UCUM or code != unit:
        said = shown(code if code is not None else given.get("unit"))
        raise Refused("wrong-unit", f"is in `{said}`; allowed: `{unit}` (UCUM); convert it first")
    number = given.get("value")
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise Refused("bad-type", f"has the value `{shown(number)}`; allowed: a number")
    return number


def _read_choice(kb: KnowledgeBase, declaration: FactDeclaration, answer: Json) -> Any:
    coding = _value(answer, "valueCoding")
    if not isinstance(coding, dict) or not isinstance(coding.get("code"), str):
        raise Refused("bad-type", "has a coding without a `code`")
    system = code_system(kb, declaration)
    if coding.get("system", system) != system:
        raise Refused(
            "other-codes", f"is coded in `{shown(coding['system'])}`; allowed: `{system}`"
        )
    return coding["code"]


def _plain(name: str, kinds: tuple[type, ...]) -> Callable[..., Any]:
    def read(kb: KnowledgeBase, declaration: FactDeclaration, answer: Json) -> Any:
        del kb, declaration
        value = _value(answer, name)
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not (isinstance(value, kinds) and (bool in kinds or str in kinds or is_number)):
            raise Refused("bad-type", f"has `{name}` of `{shown(value)}`")
        return value

    return read


_READERS: dict[str, Callable[..., Any]] = {
    "quantity": _read_quantity,
    "choice": _read_choice,
    "decimal": _plain("valueDecimal", (int, float)),
    "integer": _plain("valueInteger", (int, float)),
    "boolean": _plain("valueBoolean", (bool,)),
    "date": _plain("valueDate", (str,)),
    "string": _plain("valueString", (str,)),
}
