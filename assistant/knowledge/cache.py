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
from typing import Any

import platformdirs
from pydantic import ValidationError, create_model

from assistant.knowledge.draft import Draft, Origin
from assistant.knowledge.parsed import Parsed
from assistant.model.base import Document
from assistant.model.book import Book
from assistant.model.documents.flags import Flag
from assistant.model.facts import FactDeclaration
from assistant.model.knowledge import FILES
from assistant.model.language import Language
from assistant.model.parameters import Parameter
from assistant.model.questions import Question, Section
from assistant.model.rules import Rule
from assistant.model.sources import GradeMeaning, Source

KEPT_COPIES = 8


@dataclass(frozen=True)
class Cached:
    """A draft read back, with its two hashes."""

    draft: Draft
    logic_hash: str
    content_hash: str


@dataclass(frozen=True)
class Copy:
    """The place of a compiled copy: `path` names everything it depends on."""

    path: Path

    @classmethod
    def of(
        cls,
        contents: Mapping[str, bytes],
        overlay: tuple[str, bytes] | None,
        calculators: Mapping[str, Any] | None,
        directory: Path | None,
    ) -> "Copy":
        """The copy for these files, settings and calculators."""
        digest = hashlib.sha256(_code_digest().encode())
        named = [*sorted(contents.items()), *([overlay] if overlay else [])]
        for name, raw in named:
            digest.update(f"{len(name)}:{name}:{len(raw)}:".encode())
            digest.update(raw)
        digest.update(_signatures(calculators).encode())
        folder = directory or Path(platformdirs.user_cache_dir("whyplan", appauthor=False))
        return cls(folder / f"rules-{digest.hexdigest()[:40]}.json")

    def read(self) -> Cached | None:
        """The cached knowledge base, or None if there is no sound copy."""
        try:
            text = self.path.read_text(encoding="utf-8")
            head, _, body = text.partition("\n")
            if hashlib.sha256(body.encode()).hexdigest() != head:
                return None
            return _read_back(body)
        except (OSError, ValueError, KeyError, TypeError, ValidationError):
            return None

    def write(self, draft: Draft, logic_hash: str, content_hash: str) -> None:
        """Store a copy, readable by its owner only; older copies give way."""
        body = _plain(draft, logic_hash, content_hash)
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


class _Kept(Document):
    """What a copy holds. places: kind, item, file and line of everything that was read."""

    logic_hash: str
    content_hash: str
    book: Book
    facts: dict[str, FactDeclaration]
    parameters: dict[str, Parameter]
    rules: dict[str, Rule]
    sources: dict[str, Source]
    grades: dict[str, GradeMeaning]
    flags: dict[str, Flag]
    sections: list[Section]
    questions: list[Question]
    files: create_model("Files", **{stem: (model, None) for stem, model in FILES.items()})  # type: ignore[valid-type]  # one field for each file of the book
    languages: dict[str, Language]
    overlay: dict[str, float]
    places: list[tuple[str, str, str, int]]


_AS_THEY_ARE = _Kept.model_fields.keys() - {"logic_hash", "content_hash", "files", "places"}


def _plain(draft: Draft, logic_hash: str, content_hash: str) -> str:
    files = _Kept.model_fields["files"].annotation
    assert files is not None  # it is a model
    places = [
        (kind, item, origin.parsed.file, origin.parsed.line(origin.at))
        for (kind, item), origin in draft.origins.items()
    ]
    kept = _Kept.model_construct(
        logic_hash=logic_hash,
        content_hash=content_hash,
        files=files.model_construct(**draft.files),
        places=places,
        **{name: getattr(draft, name) for name in _AS_THEY_ARE},
    )
    return kept.model_dump_json(by_alias=True, exclude_unset=True)


def _read_back(body: str) -> Cached:
    kept = _Kept.model_validate_json(body)
    draft = Draft(
        **{name: getattr(kept, name) for name in _AS_THEY_ARE},
        files={stem: getattr(kept.files, stem) for stem in kept.files.model_fields_set},
        origins={
            (kind, item): Origin(Parsed(file, None, {(): line}))
            for kind, item, file, line in kept.places
        },
    )
    return Cached(draft, kept.logic_hash, kept.content_hash)
