"""The folder of a batch: plans written whole or not at all, and a journal of what is done.

The journal has a line for each finished plan, with the fingerprints of its case and of its file. A plan
counts as done only if both still fit, so a kill at any moment, a power cut, a changed case or a file
that somebody touched costs no more than making that plan again. The same case gives the same bytes
under the same name, so nothing is ever there twice.
"""

import hashlib
import json
import os
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Self

from assistant.batch.lines import CaseLine
from assistant.casefiles.safe_files import try_lock
from assistant.model.chain import digest
from assistant.model.errors import InputProblems, Problem

JOURNAL = "batch.jsonl"
FORMAT = 1
_SYNC_EVERY = 100
_UNFINISHED = re.compile(r"\.\d{6,}\.[a-z]+\.part\d+")
_PLAN = re.compile(r"\d{6,}\.[a-z]+", re.ASCII)
_CHUNK_BYTES = 1_048_576


@dataclass(frozen=True)
class Done:
    """A finished plan: the line of its case, its file, both fingerprints, and the screen's level."""

    line: int
    case: str
    file: str
    sha256: str
    level: str


class Folder:
    """An open folder of a batch, locked against a second batch. Use as a context manager."""

    def __init__(self, path: Path, header: Mapping[str, Any]) -> None:
        """Open or begin a batch in a folder.

        header: what the plans depend on beside the cases. Raises InputProblems if the folder is not
        writable, in use, or holds a batch of another kind.
        """
        self.path = path
        self._known: dict[int, Done] = {}
        self._confirmed: set[int] = set()
        self._unsynced = 0
        try:
            path.mkdir(parents=True, exist_ok=True, mode=0o700)
            flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._journal = os.open(path / JOURNAL, flags, 0o600)
        except OSError as error:
            raise _not_writable(path, error) from error
        try:
            self._lock()
            self._read({"kind": "batch", "format": FORMAT, **header})
            self._sweep()
        except BaseException:
            os.close(self._journal)
            raise

    def is_done(self, line: CaseLine) -> bool:
        """Tell whether this very case has its plan already, untouched."""
        done = self._known.get(line.number)
        is_sound = (
            done is not None
            and done.case == line.digest
            and file_digest(self.path / done.file) == done.sha256
        )
        if is_sound:
            self._confirmed.add(line.number)
        return is_sound

    def level_of(self, number: int) -> str:
        """Return the screen's level of a plan that is done."""
        return self._known[number].level

    def record(self, done: Done) -> None:
        """Note a finished plan. Raises InputProblems if the disk is full."""
        self._append(asdict(done))
        self._known[done.line] = done
        self._confirmed.add(done.line)

    def remove_stale(self) -> list[str]:
        """Delete plans of earlier runs whose case is no longer there or is refused now; return their names.

        Only files that are as this batch wrote them are deleted.
        """
        removed = []
        for number in sorted(self._known.keys() - self._confirmed):
            done = self._known.pop(number)
            file = self.path / done.file
            if file_digest(file) == done.sha256:
                file.unlink()
                removed.append(done.file)
            self._append({"line": number, "removed": True})
        return removed

    def __enter__(self) -> Self:
        """Return the folder itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Force the journal to the disk and give the folder back."""
        try:
            os.fsync(self._journal)
        finally:
            os.close(self._journal)

    def _lock(self) -> None:
        if not try_lock(self._journal):
            text = "another batch is writing to this folder; wait for it or choose another --out"
            raise InputProblems([Problem(str(self.path), "folder-in-use", text)])

    def _read(self, header: Mapping[str, Any]) -> None:
        data = (self.path / JOURNAL).read_bytes()
        whole, _, torn = data.rpartition(b"\n")
        if torn:
            # What a cut line told is made again; the folder loses nothing by it.
            os.ftruncate(self._journal, len(data) - len(torn))
        lines = whole.splitlines()
        if not lines:
            self._append(header)
            os.fsync(self._journal)
            return
        self._check_header(_plain(lines[0]), header)
        for line in lines[1:]:
            entry = _plain(line)
            if entry.get("removed") is True:
                self._known.pop(entry.get("line", 0), None)
                continue
            done = _done_of(entry)
            if done is not None:
                self._known[done.line] = done

    def _check_header(self, found: Mapping[str, Any], header: Mapping[str, Any]) -> None:
        if found == header:
            return
        if found.get("kind") != "batch":
            text = f"`{JOURNAL}` in it is no journal of a batch; choose another --out"
            raise InputProblems([Problem(str(self.path), "not-a-batch", text)])
        differing = sorted(
            name for name in header.keys() | found.keys() if header.get(name) != found.get(name)
        )
        text = (
            f"the plans in it were made with another {' and '.join(differing)}; plans of two kinds are "
            "not mixed: choose another --out"
        )
        raise InputProblems([Problem(str(self.path), "another-batch", text)])

    def _sweep(self) -> None:
        """Delete halves of files that a killed worker left behind."""
        for path in self.path.iterdir():
            if _UNFINISHED.fullmatch(path.name):
                path.unlink(missing_ok=True)

    def _append(self, entry: Mapping[str, Any]) -> None:
        line = (json.dumps(entry, ensure_ascii=True, separators=(",", ":")) + "\n").encode()
        try:
            written = 0
            while written < len(line):
                written += os.write(self._journal, line[written:])
            self._unsynced += 1
            if self._unsynced >= _SYNC_EVERY:
                os.fsync(self._journal)
                self._unsynced = 0
        except OSError as error:
            raise _not_writable(self.path, error) from error


def _done_of(entry: Mapping[str, Any]) -> Done | None:
    """Return what a line of the journal tells, or None if it tells nothing: its plan is made again.

    Only names this batch gives itself are taken, so a journal cannot point at files elsewhere.
    """
    try:
        done = Done(**entry)
    except TypeError:
        return None
    is_ours = isinstance(done.line, int) and _PLAN.fullmatch(str(done.file)) is not None
    return done if is_ours and int(done.file.partition(".")[0]) == done.line else None


def _plain(line: bytes) -> dict[str, Any]:
    try:
        data = json.loads(line)
    except ValueError:
        return {}
    return data if isinstance(data, dict) else {}


def _not_writable(path: Path, error: OSError) -> InputProblems:
    text = f"the folder for the plans cannot be written ({error.strerror}); choose another --out"
    return InputProblems([Problem(str(path), "not-writable", text)])


def file_name(number: int, suffix: str) -> str:
    """Return the name of the plan for a line of the file of cases."""
    return f"{number:06d}.{suffix}"


def write_plan(folder: Path, name: str, text: str) -> str:
    """Write a plan whole or not at all, for its owner alone; return its SHA-256. Raises OSError.

    It is not forced to the disk: after a power cut its fingerprint no longer fits and it is made again.
    """
    data = text.encode("utf-8")
    unfinished = folder / f".{name}.part{os.getpid()}"
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0)
    descriptor = os.open(unfinished, flags, 0o600)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(data)
        unfinished.replace(folder / name)
    except OSError:
        unfinished.unlink(missing_ok=True)
        raise
    return digest(data)


def file_digest(path: Path) -> str | None:
    """Return the SHA-256 of a file, or None if it cannot be read."""
    hashed = hashlib.sha256()
    try:
        with path.open("rb") as stream:
            while chunk := stream.read(_CHUNK_BYTES):
                hashed.update(chunk)
    except OSError:
        return None
    return hashed.hexdigest()
