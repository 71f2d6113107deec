"""The contents of a rule book's files and of what lies over it, before anything in them is read."""

from dataclasses import dataclass, field
from pathlib import Path

from assistant.knowledge.files import MAX_BYTES, NUMBERS, SourceFile, house_files, source_files
from assistant.knowledge.locate import rules_directory
from assistant.model.errors import Problem


@dataclass
class Contents:
    """The files of a book and of what lies over it; numbers: the house's own, as (shown, content)."""

    files: list[SourceFile]
    contents: dict[str, bytes] = field(default_factory=dict)
    numbers: tuple[str, bytes] | None = None
    problems: list[Problem] = field(default_factory=list)


def numbers_file(house: Path) -> Path:
    """Return where a house's own numbers stand: in its folder, or the file itself."""
    return house / NUMBERS if house.is_dir() else house


def read_contents(directory: Path | None, house: Path | None, told: str | None = None) -> Contents:
    """The files of a folder with what lies over it first, and what could not be read.

    told: the text of the house's numbers, where it is not to be read.
    """
    files, problems = source_files(rules_directory() if directory is None else directory)
    numbers = None if house is None else numbers_file(house)
    if house is not None and numbers is not None and house.is_dir():
        laid, wrong = house_files(house)
        files, problems = [*laid, *files], [*wrong, *problems]
        numbers = numbers if told is not None or numbers.exists() else None
    wanted = [(file.shown, file.path, "the file") for file in files]
    if numbers is not None and told is None:
        wanted.append((str(numbers), numbers, "the file of own settings"))
    read = Contents(files, problems=problems)
    for shown, path, what in wanted:
        try:
            with path.open("rb") as stream:
                read.contents[shown] = stream.read(MAX_BYTES + 1)
        except OSError as error:
            text = f"{what} cannot be read ({error.strerror})"
            problems.append(Problem(shown, "unreadable-file", text))
    own = read.contents.pop(str(numbers), None) if told is None else told.encode()
    read.numbers = None if own is None else (str(numbers), own)
    return read
