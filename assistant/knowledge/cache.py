"""A compiled copy of a knowledge base, so that a second start need not parse and check again.

The copy is JSON, not pickle: reading it can build data but run nothing, so a copy that somebody
tampered with is at worst wrong, and its models are validated again on the way in. It is found by a
hash of the contents of every file, the overlay, the calculators' signatures and the code that
reads and checks; there is no way for a stale copy to match. A copy that cannot be read or written
is ignored: it only saves time.
"""

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, get_type_hints

from pydantic import ValidationError, create_model

from assistant.knowledge.draft import by_id
from assistant.model.base import Document
from assistant.model.knowledge import FILES, KnowledgeBase
from assistant.model.places import cache_folder

KEPT_COPIES = 8


@dataclass(frozen=True)
class Copy:
    """The place of a compiled copy: `path` names everything it depends on."""

    path: Path

    @classmethod
    def of(
        cls,
        counted: str,
        contents: Mapping[str, bytes],
        overlay: tuple[str, bytes] | None,
        calculators: Mapping[str, Any] | None,
        directory: Path | None,
    ) -> "Copy":
        """The copy for these files, settings and calculators. counted: what of the files is taken in."""
        digest = hashlib.sha256(f"{_code_digest()}{counted}".encode())
        named = [*sorted(contents.items()), *([overlay] if overlay else [])]
        for name, raw in named:
            digest.update(f"{len(name)}:{name}:{len(raw)}:".encode())
            digest.update(raw)
        digest.update(_signatures(calculators).encode())
        folder = directory or cache_folder()
        return cls(folder / f"rules-{digest.hexdigest()[:40]}.json")

    def read(self) -> KnowledgeBase | None:
        """The knowledge base, or None if there is no sound copy."""
        try:
            text = self.path.read_text(encoding="utf-8")
            head, _, body = text.partition("\n")
            if hashlib.sha256(body.encode()).hexdigest() != head:
                return None
            kept = _Kept.model_validate_json(body)
        except (OSError, ValueError, KeyError, TypeError, ValidationError):
            return None
        made: dict[str, Any] = dict(kept)
        made["files"] = {stem: model for stem, model in made["files"] if model is not None}
        shelves = {name: by_id(each) for name, each in made.items() if isinstance(each, dict)}
        return KnowledgeBase(**made | shelves)

    def write(self, kb: KnowledgeBase) -> None:
        """Store a copy, readable by its owner only; older copies give way."""
        made = {name: _thawed(getattr(kb, name)) for name in _Kept.model_fields}
        kept = _Kept.model_construct(**made | {"files": _Files.model_construct(None, **kb.files)})
        body = kept.model_dump_json(by_alias=True, exclude_unset=True)
        head = hashlib.sha256(body.encode()).hexdigest()
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            handle, unfinished = tempfile.mkstemp(dir=self.path.parent, suffix=".part")
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
                stream.write(f"{head}\n{body}")
            Path(unfinished).replace(self.path)
            _drop_old_copies(self.path.parent)
        except OSError:
            return


def _drop_old_copies(folder: Path) -> None:
    copies = sorted(folder.glob("rules-*.json"), key=lambda path: path.stat().st_mtime)
    for old in copies[:-KEPT_COPIES]:
        old.unlink(missing_ok=True)


@lru_cache(maxsize=1)
def _code_digest() -> str:
    """Hash of the code whose judgement a copy stands for."""
    package = Path(__file__).resolve().parent.parent
    digest = hashlib.sha256()
    for room in ("model", "knowledge"):
        for path in sorted((package / room).rglob("*.py")):
            digest.update(path.relative_to(package).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()


def _signatures(calculators: Mapping[str, Any] | None) -> str:
    if calculators is None:
        return "unchecked"
    return json.dumps(
        {n: [[i.unit for i in c.inputs], c.unit, c.mark] for n, c in calculators.items()},
        sort_keys=True,
    )


def _thawed(value: Any) -> Any:
    return dict(value) if isinstance(value, Mapping) else value


# What a copy holds: the knowledge base, with one field for each file of the book.
_files: dict[str, Any] = {stem: (model, None) for stem, model in FILES.items()}
_Files = create_model("Files", __base__=Document, **_files)
_fields: dict[str, Any] = {
    name: (_Files if name == "files" else kind, ...)
    for name, kind in get_type_hints(KnowledgeBase).items()
}
_Kept = create_model("Kept", __base__=Document, **_fields)
