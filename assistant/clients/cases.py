"""The case files that a rule book is tried with."""

from pathlib import Path

from assistant.casefiles import read_case
from assistant.knowledge import rules_directory
from assistant.model.case import Case
from assistant.model.errors import InputProblems, Problem
from assistant.model.knowledge import KnowledgeBase


def cases_of(folder: Path | None, rules: Path | None, kb: KnowledgeBase) -> list[tuple[str, Case]]:
    """Return the case files of a folder; without one those beside the book, else the shipped ones.

    Case files of the shipped folder that another book cannot read are passed over; in a folder
    that was named, every file must be sound. Raises InputProblems.
    """
    if folder is not None:
        paths = sorted(folder.glob("*.yaml"))
        if not paths:
            text = "the folder holds no case files; name one with files that end in .yaml"
            raise InputProblems([Problem(str(folder), "no-cases", text)])
        return [(str(path), read_case(path, kb)) for path in paths]
    shipped = rules_directory().resolve().parent
    roots = [shipped] if rules is None else [rules.resolve().parent, shipped]
    for root in roots:
        places = (root / place for place in ("cases", "cases/regressions"))
        found = []
        for path in sorted(path for place in places for path in place.glob("*.yaml")):
            try:
                found.append((path.relative_to(root).as_posix(), read_case(path, kb)))
            except InputProblems:
                if rules is None:
                    raise
        if found:
            return found
    return []
