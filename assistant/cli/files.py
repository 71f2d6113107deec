"""Files that commands read and write: one clear line where that cannot be done."""

import sys
from pathlib import Path

from assistant.casefiles.safe_files import write_atomically
from assistant.model.errors import InputProblems, Problem

MAX_INPUT_BYTES = 5_000_000


def read_input(path: Path) -> bytes:
    """Return a file's bytes. Raises InputProblems if it cannot be read or is far too large."""
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_INPUT_BYTES + 1)
    except OSError as error:
        text = f"the file cannot be read ({error.strerror}); check the name"
        raise InputProblems([Problem(str(path), "unreadable-file", text)]) from None
    if len(content) > MAX_INPUT_BYTES:
        text = f"is larger than {MAX_INPUT_BYTES // 1_000_000} MB; is this the right file?"
        raise InputProblems([Problem(str(path), "too-large", text)])
    return content


def keep_inputs(out: Path | None, *inputs: Path) -> None:
    """Refuse to write over a file that the same command reads. Raises InputProblems."""
    if out is not None and any(out.resolve() == path.resolve() for path in inputs):
        text = "is read by this command; name another file with --out"
        raise InputProblems([Problem(str(out), "file-exists", text)])


def free_path(path: Path) -> Path:
    """Return a path if no file is there yet; none is written over. Raises InputProblems."""
    if path.exists():
        text = "this file exists already; choose another name with --out"
        raise InputProblems([Problem(str(path), "file-exists", text)])
    return path


def write_file(
    path: Path,
    content: str | bytes,
    cannot: str = "the file cannot be written here ({}); choose another --out",
    code: str = "not-writable",
) -> None:
    """Write a file, all at once or not at all. cannot: what to say where that fails, with the reason.

    Raises InputProblems.
    """
    try:
        write_atomically(path, content)
    except OSError as error:
        told = cannot.format(error.strerror)
        raise InputProblems([Problem(str(path), code, told)]) from error


def write_output(path: Path | None, content: bytes) -> None:
    """Write to a file, all at once or not at all, or to standard output where none is named.

    Raises InputProblems if the file cannot be written.
    """
    if path is None:
        # The terminal's own encoding must not touch what a standard fixes as UTF-8.
        sys.stdout.flush()
        stream = getattr(sys.stdout, "buffer", None)
        if stream is None:
            sys.stdout.write(content.decode())
        else:
            stream.write(content)
        return
    cannot = "the file cannot be written ({}); name a file in a folder of yours"
    write_file(path, content, cannot, "unwritable-file")
