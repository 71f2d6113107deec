"""The folder of a batch: which parts of it still fit, and what is to go.

A part counts as done if it tells of the same book, the same options and the same lines, and the files
beside it (`--each`) are as they were written. So a kill at any moment, a power cut, a changed case or a file that
somebody touched costs no more than making that part again, and nothing is ever there twice.
"""

import hashlib
import json
import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Self

from assistant.batch.lines import Partition
from assistant.batch.part import made_of, rows
from assistant.casefiles.safe_files import try_lock
from assistant.model.errors import InputProblems, Problem

# Holds the lock, and tells how long each part took: no part may tell, since the same lines give the same bytes.
LOG = "seconds.jsonl"
_PART = re.compile(r"\d{8,}-\d{8,}\.parquet", re.ASCII)
_PLAN = re.compile(r"\d{6,}\.[a-z]+", re.ASCII)
# Halves and pieces that a killed process left behind.
_UNFINISHED = re.compile(r"\.+\d{6,}[.-].*", re.ASCII)


class Folder:
    """An open folder of a batch, locked against a second batch. Use as a context manager."""

    def __init__(self, path: Path, header: Mapping[str, Any]) -> None:
        """Open or begin a batch in a folder.

        header: what the plans depend on beside the cases. Raises InputProblems if the folder is not
        writable, in use, or holds a batch of another kind.
        """
        self.path = path
        self._header = dict(header)
        self._dropped: list[str] = []
        try:
            path.mkdir(parents=True, exist_ok=True, mode=0o700)
            flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._log = os.open(path / LOG, flags, 0o600)
        except OSError as error:
            raise not_writable(path, error.strerror) from error
        try:
            self._lock_it()
            self._known = {name: found for name in parts_in(path) if (found := self._made_of(name))}
            self._sweep()
        except BaseException:
            os.close(self._log)
            raise

    def done(self, partition: Partition) -> dict[str, int] | None:
        """Return the counts of the part that these very lines have already; None where it is to be made.

        A part that no longer fits goes first, with its files: who is refused now keeps no plan of old.
        """
        found = self._known.pop(partition.name, None)
        if found is None:
            return None
        files = self._files(partition.name)
        if found["input"] == partition.digest and all(map(self._is_ours, files, files.values())):
            counts: dict[str, int] = found["counts"]
            return counts
        self._drop(partition.name)
        return None

    def note(self, part: str, seconds: Mapping[str, float]) -> None:
        """Note how long a part took, by stage. Raises InputProblems if the disk is full."""
        spent = {stage: round(each, 4) for stage, each in seconds.items()}
        try:
            os.write(self._log, json.dumps({"part": part, "seconds": spent}).encode() + b"\n")
        except OSError as error:
            raise not_writable(self.path, error.strerror) from error

    def remove_stale(self) -> list[str]:
        """Delete parts whose lines are no longer there; return the names of all that went and did not come again.

        Only files that are as this batch wrote them are deleted.
        """
        for name in sorted(self._known):
            self._drop(name)
        self._sweep()
        return sorted(name for name in self._dropped if not (self.path / name).exists())

    def __enter__(self) -> Self:
        """Return the folder itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Give the folder back."""
        os.close(self._log)

    def _lock_it(self) -> None:
        if not try_lock(self._log):
            text = "another batch is writing to this folder; wait for it or choose another --out"
            raise InputProblems([Problem(str(self.path), "folder-in-use", text)])

    def _sweep(self) -> None:
        for left in self.path.iterdir():
            if _UNFINISHED.fullmatch(left.name):
                left.unlink(missing_ok=True)

    def _made_of(self, name: str) -> dict[str, Any] | None:
        found = made_of(self.path / name)
        if found is None or found["header"] == self._header:
            return found
        old, new = found["header"], self._header
        differing = sorted(key for key in old.keys() | new.keys() if old.get(key) != new.get(key))
        text = (
            f"the plans in it were made with another {' and '.join(differing)}; plans of two kinds are "
            "not mixed: choose another --out"
        )
        raise InputProblems([Problem(str(self.path), "another-batch", text)])

    def _files(self, name: str) -> dict[str, str]:
        """The files beside a part; only names a batch gives, so that no part can point elsewhere."""
        found = rows(self.path / name, "file", "file_sha256") if self._header["form"] else ()
        return {
            row["file"]: row["file_sha256"]
            for row in found
            if row["file"] is not None and _PLAN.fullmatch(row["file"])
        }

    def _is_ours(self, file: str, sha256: str) -> bool:
        try:
            with (self.path / file).open("rb") as stream:
                return hashlib.file_digest(stream, "sha256").hexdigest() == sha256
        except OSError:
            return False

    def _drop(self, part: str) -> None:
        for file, sha256 in self._files(part).items():
            if self._is_ours(file, sha256):
                (self.path / file).unlink()
                self._dropped.append(file)
        (self.path / part).unlink()
        self._dropped.append(part)


def parts_in(folder: Path) -> list[str]:
    """Return the names of the parts in a folder, in order."""
    return sorted(path.name for path in folder.iterdir() if _PART.fullmatch(path.name))


def not_writable(path: Path, why: str | None) -> InputProblems:
    """Return what is said where plans cannot be written."""
    text = (
        f"the folder for the plans cannot be written ({why}); make room in it, then the same command "
        "goes on, or choose another --out"
    )
    return InputProblems([Problem(str(path), "not-writable", text)])
