"""Cases as JSON lines: one case a line, with the fields of a case file."""

from typing import Any

from assistant.knowledge.cases import case_of
from assistant.knowledge.parsed import Parsed
from assistant.knowledge.strict_json import strict_json, texts_of
from assistant.knowledge.strict_yaml import MAX_BYTES, invisible_character
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Refused
from assistant.model.knowledge import KnowledgeBase


def read_case_line(raw: bytes, shown_as: str, number: int, kb: KnowledgeBase) -> Case:
    """Read and check one line; `shown_as` names the file, `number` is the line, from 1.

    As strict as a case file: fields named twice, NaN, invisible characters and the like are refused.
    Raises InputProblems with everything that is wrong.
    """
    try:
        data = _read(raw)
    except Refused as refused:
        raise InputProblems([refused.at(f"{shown_as}:{number}")]) from None
    return case_of(Parsed(shown_as, data, {(): number}), kb)


def _read(raw: bytes) -> Any:
    if len(raw) > MAX_BYTES:
        raise Refused("too-big", f"the line is longer than {MAX_BYTES} bytes")
    data = strict_json(raw)
    for text in texts_of(data):
        found = invisible_character(text)
        if found is not None:
            raise Refused("bad-character", f"the text contains {found}; delete it")
    return data
