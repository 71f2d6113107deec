"""A house's own numbers, in a file or its folder: tried with the whole book before a changed number is kept."""

from pathlib import Path

from assistant.calculate.registry import CALCULATORS
from assistant.casefiles.house import with_change
from assistant.casefiles.safe_files import write_atomically
from assistant.clients.book import read_anew
from assistant.knowledge import load_knowledge
from assistant.knowledge.contents import numbers_file
from assistant.knowledge.overlay import changes_in
from assistant.knowledge.strict_yaml import parse_bytes
from assistant.model.errors import InputProblems, Problem
from assistant.model.parameters import Change


def existing(house: Path) -> Path | None:
    """Return the settings file if it is there; a new one is made by its first change."""
    return house if house.exists() else None


def settings_with(rules: Path | None, house: Path, change: Change) -> str:
    """Return the text of the settings file with a change, read once with the whole book.

    Raises InputProblems where the book does not hold with it; the file stays as it is.
    """
    file = numbers_file(house)
    told = file.read_text(encoding="utf-8") if file.exists() else ""
    text = with_change(told, str(file), change)
    load_knowledge(rules, house, numbers=text, calculators=CALCULATORS, use_cache=False)
    return text


def changes_of(house: Path | None) -> list[Change]:
    """Return what was ever changed in a settings file, newest first. Raises InputProblems."""
    file = house and numbers_file(house)
    if file is None or not file.exists():
        return []
    data = parse_bytes(file.read_bytes(), str(file)).data
    return changes_in(data) if isinstance(data, dict) else []


def keep_settings(house: Path, text: str) -> None:
    """Write the settings file; whoever asks for the book next reads it. Raises InputProblems."""
    path = numbers_file(house)
    try:
        write_atomically(path, text)
    except OSError as error:
        told = f"this cannot be written here ({error.strerror}); choose another place"
        raise InputProblems([Problem(str(path), "not-writable", told)]) from error
    read_anew()
