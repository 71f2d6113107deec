"""The log's file: opened under a lock, appended to and forced to the disk, readable by its owner alone.

A write that was cut short leaves a torn last line. The next append moves it to a file beside the log
and says so; nothing is dropped in silence. No plan was printed for a torn line, because a plan is
printed after its entry is on the disk.
"""

import os
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.audit.chain import Chain, check_chain, is_whole, read_line, sealed
from assistant.casefiles.safe_files import sync_folder, try_lock
from assistant.model.chain import Link, digest
from assistant.model.errors import InputProblems, Problem

OWNER_ONLY = 0o600
LOCK_SECONDS = 20.0
_WAIT_SECONDS = 0.02
_CHUNK_BYTES = 65_536
# How the first entry of every log begins: keys are sorted, and a log begins with a decision.
_OPENING = b'{"answers":{'


@dataclass(frozen=True)
class Appended:
    """Where a new entry stands, and what a person should know (a torn line set aside)."""

    link: Link
    notes: tuple[str, ...] = ()


def append(path: Path, body: Callable[[], Mapping[str, Any]]) -> Appended:
    """Add one entry at the end.

    body: gives what the entry holds; it is asked once the file is known to be a sound log.
    Raises InputProblems if it is none or cannot be written, and whatever `body` raises.
    """
    with _opened(path, os.O_RDWR | os.O_CREAT) as descriptor:
        try:
            path.chmod(OWNER_ONLY)
            notes, torn = _set_torn_line_aside(descriptor, path)
            end = os.lseek(descriptor, 0, os.SEEK_END)
            previous = _last_link(descriptor, path, end)
            line, link = sealed({**body(), **({"set_aside": torn} if torn else {})}, previous)
            _write(descriptor, line)
        except OSError as error:
            raise _not_writable(path, error) from error
    return Appended(link, notes)


def read_log(
    path: Path, head: Link | None = None, take: Callable[[Any], Any] = lambda e: e
) -> Chain:
    """Return the log as it stands; see `check_chain`. Raises InputProblems if it cannot be read."""
    if not path.exists():
        text = "there is no such log; `whyplan plan CASE --log` starts one"
        raise InputProblems([Problem(str(path), "missing-file", text)])
    with _opened(path, os.O_RDONLY) as descriptor:
        try:
            with os.fdopen(os.dup(descriptor), "rb") as stream:
                data = stream.read()
        except OSError as error:
            text = f"the log cannot be read ({error.strerror})"
            raise InputProblems([Problem(str(path), "unreadable-file", text)]) from error
    return check_chain(data, str(path), head, take)


def sound_log(path: Path, take: Callable[[Any], Any] = lambda e: e) -> Chain:
    """Return a log that must be whole. Raises InputProblems with everything that is wrong."""
    chain = read_log(path, take=take)
    if chain.problems:
        raise InputProblems(list(chain.problems))
    return chain


@contextmanager
def _opened(path: Path, flags: int) -> Iterator[int]:
    try:
        is_new = not path.exists()
        descriptor = os.open(path, flags | getattr(os, "O_BINARY", 0), OWNER_ONLY)
    except OSError as error:
        raise _not_writable(path, error) from error
    try:
        if is_new:
            sync_folder(path.parent)
        _lock(descriptor, path, exclusive=flags != os.O_RDONLY)
        yield descriptor
    finally:
        os.close(descriptor)  # closing gives the lock back


def _not_writable(path: Path, error: OSError) -> InputProblems:
    text = f"the log cannot be opened or written ({error.strerror}); choose another file"
    return InputProblems([Problem(str(path), "not-writable", text)])


def _lock(descriptor: int, path: Path, *, exclusive: bool) -> None:
    """Wait for the file; two programs then write one after the other."""
    deadline = time.monotonic() + LOCK_SECONDS
    while not try_lock(descriptor, exclusive=exclusive):
        if time.monotonic() > deadline:
            text = "another program holds this log; close it and try again"
            raise InputProblems([Problem(str(path), "log-in-use", text)])
        time.sleep(_WAIT_SECONDS)


def _line_before(descriptor: int, end: int) -> tuple[int, bytes]:
    """Return where the last line before `end` begins, and its bytes with its newline if it has one."""
    start, found = end, b""
    while start > 0 and b"\n" not in found[:-1]:
        step = min(_CHUNK_BYTES, start)
        start -= step
        os.lseek(descriptor, start, os.SEEK_SET)
        found = _read(descriptor, step) + found
    cut = found[:-1].rfind(b"\n") + 1
    return start + cut, found[cut:]


def _read(descriptor: int, count: int) -> bytes:
    parts = b""
    while len(parts) < count:
        part = os.read(descriptor, count - len(parts))
        if not part:
            break
        parts += part
    return parts


def _set_torn_line_aside(
    descriptor: int, path: Path
) -> tuple[tuple[str, ...], dict[str, Any] | None]:
    """Move a torn last line to a file beside the log; an entry that lacks only its newline gets it."""
    start, line = _line_before(descriptor, os.lseek(descriptor, 0, os.SEEK_END))
    if not line or line.endswith(b"\n"):
        return (), None
    if is_whole(line):
        _write(descriptor, b"\n")
        return ("The last entry of the log lacked its end of line; it was whole and stays.",), None
    _last_link(descriptor, path, start)
    if start == 0 and line[: len(_OPENING)] != _OPENING[: len(line)]:
        raise _not_a_log(path)
    beside = path.with_name(path.name + ".torn")
    aside = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_APPEND, OWNER_ONLY)
    try:
        _write(aside, line + b"\n")
    finally:
        os.close(aside)
    sync_folder(path.parent)
    os.ftruncate(descriptor, start)
    note = (
        f"The last line of the log had been cut short in writing; its {len(line)} bytes are set "
        f"aside in {beside}."
    )
    return (note,), {"bytes": len(line), "sha256": digest(line)}


def _last_link(descriptor: int, path: Path, end: int) -> Link | None:
    """Return the link of the entry that ends at `end`. Raises InputProblems for anything else."""
    _, line = _line_before(descriptor, end)
    if not line:
        return None
    read = read_line(line.removesuffix(b"\n"))
    if not isinstance(read, str):
        return read[1]
    os.lseek(descriptor, 0, os.SEEK_SET)
    if _read(descriptor, len(_OPENING)) != _OPENING:
        raise _not_a_log(path)
    text = (
        f"its last line is damaged ({read}); nothing is added to such a log: see `whyplan log "
        "verify`, put this file aside and start another"
    )
    raise InputProblems([Problem(str(path), "changed-line", text)])


def _not_a_log(path: Path) -> InputProblems:
    text = "this file is no decision log, so nothing is added to it; choose another --log"
    return InputProblems([Problem(str(path), "not-a-log", text)])


def _write(descriptor: int, data: bytes) -> None:
    """Write at the end and force it to the disk; what cannot be written whole is taken back."""
    end = os.lseek(descriptor, 0, os.SEEK_END)
    written = 0
    try:
        while written < len(data):
            written += os.write(descriptor, data[written:])
        os.fsync(descriptor)
    except OSError:
        os.ftruncate(descriptor, end)
        raise
