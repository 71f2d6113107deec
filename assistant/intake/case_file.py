"""An intake from a file instead of a person, and a finished one as the text of a case file."""

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path

from assistant.casefiles import check_answers, read_case
from assistant.intake.asking import applies
from assistant.intake.form import Form
from assistant.knowledge.strict_yaml import parse_file
from assistant.model.case import Case
from assistant.model.errors import InputProblems
from assistant.model.knowledge import KnowledgeBase
from assistant.model.session_only import SESSION_ONLY_FACTS
from assistant.model.values import Status, Value, as_json


def case_text(name: str, as_of: dt.date, answers: Mapping[str, Value]) -> str:
    """Return a case as YAML that uses JSON's values only.

    The answer about self-harm is left out whatever it was: it lives in the session only. Written
    as "no" or "does not apply" it would claim something nobody may read from a file, and written
    only when it was "yes" its absence would tell. So a case never has it, and after a "yes" no
    case is written at all (see `Dialogue.aside`).
    """
    lines = [f"name: {_scalar(name)}", f"as_of: {_scalar(as_of.isoformat())}", "answers:"]
    kept = {fact: value for fact, value in answers.items() if fact not in SESSION_ONLY_FACTS}
    if not kept:
        lines[-1] = "answers: {}"
    lines += [f"  {fact}: {_scalar(as_json(value))}" for fact, value in kept.items()]
    return "\n".join(lines) + "\n"


def _scalar(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def read_answers(path: Path, knowledge: KnowledgeBase, name: str, as_of: dt.date) -> Case:
    """Return the answers of a file as a case.

    A file with the field `answers` is a case and keeps its own name and day; anything else is read
    as a mapping from fact to value. Raises InputProblems with file and line.
    """
    parsed = parse_file(path, str(path), plain_dates=True)
    if not isinstance(parsed.data, dict) or "answers" in parsed.data:
        return read_case(path, knowledge)
    answers, problems = check_answers(parsed.data, knowledge, parsed.place)
    if problems:
        raise InputProblems(problems)
    return Case(name, as_of, answers)


def completed(answers: Mapping[str, Value], form: Form) -> tuple[dict[str, Value], tuple[str, ...]]:
    """Return the answers with `otherwise` for questions that do not apply, and what is missing.

    An answer in the file is never replaced: where it contradicts an ask-if it stands as written,
    because a flag may rest on it. Missing ones stay unknown.
    """
    settled: dict[str, Value] = {}
    missing = []
    for slot in form.slots:
        if slot.leads_to:
            continue  # a file answers the questions themselves
        given = answers.get(slot.fact, Status.UNKNOWN)
        if given is not Status.UNKNOWN:
            settled[slot.fact] = given
        elif not applies(slot.question.ask_if, settled, form.parameters):
            settled[slot.fact] = Status(slot.question.otherwise)
        else:
            missing.append(slot.fact)
    return {**settled, **answers}, tuple(missing)
