"""Which files make up a knowledge base, and what each of them is."""

import os
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, TypeAlias

from assistant.knowledge.nearest import did_you_mean
from assistant.model.errors import InputProblems, Problem

Kind: TypeAlias = Literal["book", "grades", "document", "facts", "parameters", "sources",
                          "questions", "tables", "language", "flag", "how_to", "how_to_said",
                          "pose", "rule"]  # fmt: skip
_KIND_OF_STEM: dict[str, Kind] = {"book": "book", "grades": "grades"}
_KIND_OF_FOLDER: dict[str, Kind] = {
    "facts": "facts",
    "parameters": "parameters",
    "sources": "sources",
    "questions": "questions",
    "tables": "tables",
    "languages": "language",
    "flags": "flag",
    "how_to": "how_to",
    "poses": "pose",
}
# No file of a book is larger; more of it is not read.
MAX_BYTES = 1_000_000
# What lies over what: a file that is tried over the gym's own folder, and that over the book.
BOOK, HOUSE, TRIED = 0, 1, 2
# In a gym's own folder: the numbers it sets. The other files there have the shape of a rules folder.
NUMBERS = "house.yaml"
_FOLDER_OF_KIND = {kind: folder for folder, kind in _KIND_OF_FOLDER.items()}
# What tells a file by itself, outside a rules folder; a flag and a table may have a stage, too.
_KIND_OF_FIELD: dict[str, Kind] = {
    "rows": "tables", "parameters": "parameters", "severity": "flag", "stage": "rule",
}  # fmt: skip
# The one folder with folders inside: how exercises are done, said in another language, by its code.
_HOW_TO_SAID = ["languages", "how_to"]
MAX_FILES = 5000
LONGEST_TITLE = 44
_SMALL_WORD_AT_THE_END = re.compile(
    r"(-(and|another|are|as|at|be|by|few|for|from|has|in|is|it|its|may|no|of|on|once|or|that"
    r"|their|they|to|what|when|where|with))+$"
)


@dataclass(frozen=True)
class SourceFile:
    """One file. `shown` is its path from the parent of the rules folder, with `/`.

    layer: what it says takes the place of what a lower layer says under the same id.
    """

    kind: Kind
    path: Path
    shown: str
    folder: str = ""
    layer: int = BOOK


def source_files(directory: Path) -> tuple[list[SourceFile], list[Problem]]:
    """Return the files of a knowledge base in order of name, and what is out of place.

    Raises InputProblems if the folder is not there or cannot be listed.
    """
    root = directory.resolve()
    if not root.is_dir():
        text = "there is no such folder; name the folder that holds book.yaml"
        raise InputProblems([Problem(str(directory), "missing-folder", text)])
    files, problems = _listed(root, root.name, BOOK)
    if not any(file.kind == "book" for file in files):
        text = "the folder has no book.yaml, the front page of a knowledge base"
        problems.append(Problem(f"{root.name}/book.yaml", "missing-file", text))
    return files, problems


def house_files(folder: Path) -> tuple[list[SourceFile], list[Problem]]:
    """Return what a gym's own folder lays over the book, in order of name, and what is out of place."""
    files, problems = _listed(folder, folder.as_posix(), HOUSE)
    if not files and not (folder / NUMBERS).exists():
        text = f"nothing in it ends in .yaml; put {NUMBERS} with your numbers there, or files as in rules/"
        problems.append(Problem(str(folder), "empty-folder", text))
    return [file for file in files if file.shown != f"{folder.as_posix()}/{NUMBERS}"], problems


def _listed(root: Path, shown_as: str, layer: int) -> tuple[list[SourceFile], list[Problem]]:
    files: list[SourceFile] = []
    problems: list[Problem] = []
    for path in _entries(root):
        shown = f"{shown_as}/{path.relative_to(root).as_posix()}"
        *folders, _ = path.relative_to(root).parts
        if folders[:1] == ["schema"]:
            continue
        is_said = folders[:-1] == _HOW_TO_SAID
        if folders[1:] and not is_said:
            problems.append(Problem(shown, "misplaced-file", "folders inside folders are not read"))
        elif path.suffix == ".yml":
            problems.append(Problem(shown, "misplaced-file", "name it .yaml, or it is not read"))
        elif path.suffix == ".yaml":
            folder = "/".join(folders)
            kind = "how_to_said" if is_said else _kind(folder, path.stem)
            files.append(SourceFile(kind, path, shown, folder, layer))
    return files, problems


def laid_over(files: list[SourceFile], path: Path, data: Any) -> list[SourceFile]:
    """Return the files with one of somebody's own over them; a table of the same id gives way whole.

    data: what stands in it, which tells what it is. Raises InputProblems where that is nothing to lay over.
    """
    fields = data if isinstance(data, dict) else {}
    told = next((kind for field, kind in _KIND_OF_FIELD.items() if field in fields), None)
    if told is None:
        text = "this is no rule, decision table, flag or list of numbers; it has no `stage`, `rows`, `severity` or `parameters`"
        raise InputProblems([Problem(f"{path}:1", "unknown-kind", text)])
    folder = str(fields["stage"]) if told == "rule" else _FOLDER_OF_KIND[told]
    # Of a table of the same id no row stays: one that was taken out is out.
    table = str(fields.get("id")) if told == "tables" else None
    kept = [f for f in files if not (table and f.kind == told and bears_id(f.path.stem, table))]
    return [SourceFile(told, path, str(path), folder, TRIED), *kept]


def slug(text: str) -> str:
    """The words of a text as part of a file's name: plain letters in lower case, and dashes."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")


def rule_file_name(rule_id: str, title: str) -> str:
    """The name of a rule's file: its id, then its title cut short."""
    words = slug(title.replace("'", "")).split("-")
    name = "-".join(word for word in words if word not in {"a", "an", "the"})
    if len(name) > LONGEST_TITLE:
        name = name[: LONGEST_TITLE + 1].rpartition("-")[0]
        name = _SMALL_WORD_AT_THE_END.sub("", name)
    return f"{rule_id}-{name}.yaml" if name else f"{rule_id}.yaml"


def bears_id(stem: str, item_id: str) -> bool:
    """Whether a file's name without its ending is an id, or an id and words in lower case."""
    return re.fullmatch(f"{re.escape(item_id)}(-[a-z0-9]+)*", stem) is not None


def _entries(root: Path) -> list[Path]:
    found: list[Path] = []
    for folder, folders, names in os.walk(root):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        found.extend(Path(folder) / name for name in names if not name.startswith("."))
        if len(found) > MAX_FILES:
            text = f"more than {MAX_FILES} files; is this a folder of rules?"
            raise InputProblems([Problem(str(root), "too-many-files", text)])
    return sorted(found, key=lambda path: path.relative_to(root).as_posix())


def _kind(folder: str, stem: str) -> Kind:
    if folder == "":
        return _KIND_OF_STEM.get(stem, "document")
    return _KIND_OF_FOLDER.get(folder, "rule")


def folder_problems(files: list[SourceFile], stages: tuple[str, ...]) -> list[Problem]:
    """Rule folders that are not a stage of the book."""
    known = (*stages, *_KIND_OF_FOLDER, "schema")
    return [
        Problem(
            file.shown,
            "misplaced-file",
            f"`{file.folder}` is not a stage{did_you_mean(file.folder, known)}",
        )
        for file in files
        if file.kind == "rule" and file.folder not in stages
    ]
