"""Compiled copies of a knowledge base, so that a second start need not parse, check and bind again.

A copy is packed (`knowledge.packed`): reading it can build data but run nothing, so a copy that somebody
tampered with is at worst wrong. It is found by a hash of the contents of every file, the overlay, the
calculators' signatures, the code that reads, checks and binds, and what packed it; there is no way for a
stale copy to match. A copy that cannot be read or written is ignored: it only saves time.
"""

import hashlib
import json
import os
import stat
import sys
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pydantic

from assistant.knowledge.packed import BROKEN, Shelves, pack, unpack
from assistant.model.knowledge import KnowledgeBase
from assistant.model.places import cache_folder

KEPT_COPIES = 8
_BESIDE = ("facts", "rules")
_HEAD_BYTES = hashlib.sha256().digest_size


@dataclass(frozen=True)
class Copy:
    """The place of a compiled copy: `path`, without its ending, names everything it depends on."""

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
        return cls(folder / f"rules-{digest.hexdigest()[:40]}")

    def read(self) -> KnowledgeBase | None:
        """The knowledge base, or None if there is no sound copy."""
        kb = self._unpacked("kb")
        return kb if isinstance(kb, KnowledgeBase) else None

    def write(self, kb: KnowledgeBase) -> None:
        """Store a copy, readable by its owner only; older copies give way."""
        self._store("kb", pack(kb))
        _drop_old_copies(self.path.parent)

    def read_made(self, kb: KnowledgeBase) -> Any:
        """What was made of the knowledge base and stored beside it, or None if there is no sound copy."""
        return self._unpacked("made", lambda shelf, name: _shelf(kb, shelf)[name])

    def write_made(self, made: Any, kb: KnowledgeBase) -> None:
        """Store what was made of the knowledge base; its facts and rules are only named in it."""
        beside = {id(kb): ("", "")}
        for shelf in _BESIDE:
            beside |= {id(part): (shelf, name) for name, part in _shelf(kb, shelf).items()}
        self._store("made", pack(made, beside))

    def _unpacked(self, kind: str, beside: Shelves | None = None) -> Any:
        try:
            with self.path.with_suffix(f".{kind}").open("rb") as stream:
                if not _is_own(os.fstat(stream.fileno())):
                    return None
                raw = stream.read()
            head, body = raw[:_HEAD_BYTES], raw[_HEAD_BYTES:]
            return unpack(body, beside) if hashlib.sha256(body).digest() == head else None
        except (OSError, *BROKEN):
            return None

    def _store(self, kind: str, body: bytes) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            handle, unfinished = tempfile.mkstemp(dir=self.path.parent, suffix=".part")
            with os.fdopen(handle, "wb") as stream:
                stream.write(hashlib.sha256(body).digest() + body)
            Path(unfinished).replace(self.path.with_suffix(f".{kind}"))
        except OSError:
            return


def _is_own(found: os.stat_result) -> bool:
    """Tell whether nobody but the user may have written a file; where a system has no such marks, it is believed."""
    if not hasattr(os, "getuid"):
        return True
    return found.st_uid == os.getuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _shelf(kb: KnowledgeBase, shelf: str) -> Mapping[str, Any]:
    if shelf not in ("", *_BESIDE):
        raise KeyError(shelf)
    return getattr(kb, shelf) if shelf else {"": kb}


def _drop_old_copies(folder: Path) -> None:
    # Another process may drop them at the same time.
    with suppress(OSError):
        copies = sorted(folder.glob("rules-*.kb"), key=lambda path: path.stat().st_mtime)
        for old in copies[:-KEPT_COPIES]:
            for kind in ("kb", "made"):
                old.with_suffix(f".{kind}").unlink(missing_ok=True)


@lru_cache(maxsize=1)
def _code_digest() -> str:
    """Hash of the code whose judgement a copy stands for."""
    package = Path(__file__).resolve().parent.parent
    digest = hashlib.sha256()
    digest.update(f"{sys.version} {pydantic.VERSION}".encode())
    for room in ("model", "knowledge", "engine"):
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
