"""The JSON Schemas for editors are up to date, and mean what the loader means.

Outside check: the `jsonschema` library's reading of JSON Schema draft 2020-12.
"""

from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from assistant.knowledge import rules_directory
from assistant.knowledge.files import SourceFile, source_files
from assistant.knowledge.schema import schemas, text_of, write_schemas
from assistant.knowledge.strict_yaml import parse_file

FOLDER = rules_directory() / "schema"
SCHEMAS = schemas()
SMALL_BOOK = Path(__file__).parent / "small_book"
# Names of schemas where they differ from the loader's kinds of file.
SCHEMA_OF_KIND = {"tables": "table"}


def _validator(name: str) -> Draft202012Validator:
    return Draft202012Validator(SCHEMAS[f"{name}.schema.json"])


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_file_is_what_the_models_say_now(name: str) -> None:
    stale = "run `python -m assistant.knowledge.schema`"
    assert (FOLDER / name).read_text(encoding="utf-8") == text_of(SCHEMAS[name]), stale


def test_no_schema_is_left_over() -> None:
    assert {path.name for path in FOLDER.iterdir()} == set(SCHEMAS)


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_schema_is_a_schema(name: str) -> None:
    Draft202012Validator.check_schema(SCHEMAS[name])


def _wrongs(files: list[SourceFile]) -> list[str]:
    """What the schemas have against these files."""
    wrongs: list[str] = []
    for file in files:
        kind = SCHEMA_OF_KIND.get(file.kind, file.kind)
        kind = file.path.stem if kind == "document" else kind
        data = parse_file(file.path, file.shown).data
        wrongs += [f"{file.shown}: {e.message}" for e in _validator(kind).iter_errors(data)]
    return wrongs


def test_every_file_of_the_small_book_is_valid() -> None:
    files, problems = source_files(SMALL_BOOK)
    assert problems == []
    assert {file.kind for file in files} >= {"book", "rule", "tables", "facts", "questions"}
    assert _wrongs(files) == []


def test_the_shortest_shipped_file_of_every_kind_is_valid() -> None:
    """All files would take a minute, and the models behind the schemas check them all anyway."""
    files, _ = source_files(rules_directory())
    shortest: dict[str, SourceFile] = {}
    for file in sorted(files, key=lambda file: file.path.stat().st_size):
        shortest.setdefault(file.folder or file.path.stem, file)
    assert len(shortest) >= 12
    assert _wrongs(list(shortest.values())) == []


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("book", {"name": "x", "version": "1", "stages": [], "domains": {}}),
        ("facts", {"facts": [{"id": "a.b", "label": "x", "type": "numbr", "origin": "answer"}]}),
        ("facts", {"fact": []}),
        ("grades", {"grades": [{"id": "sure", "meaning": "x"}]}),
        ("parameters", {"parameters": [{"id": "a.b"}]}),
        ("rule", {"id": "VOL-001", "becouse": "x"}),
        ("rule", {"id": "vol-1"}),
        ("table", {"id": "STYLE", "title": "x", "stage": "dose", "columns": {}, "rows": []}),
    ],
)
def test_what_the_loader_refuses_an_editor_marks(name: str, data: Any) -> None:
    assert not _validator(name).is_valid(data)


def test_the_command_writes_every_schema(tmp_path: Path) -> None:
    paths = write_schemas(tmp_path / "schema")
    assert [path.name for path in paths] == list(SCHEMAS)
    for path in paths:
        assert path.read_bytes() == (FOLDER / path.name).read_bytes()
