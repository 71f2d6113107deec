"""What every file of ours that must survive a crash needs: a lock, and the disk."""

import contextlib
import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO


def try_lock(descriptor: int, *, exclusive: bool = True) -> bool:
    """Lock an open file for this program without waiting; tell whether that worked.

    exclusive: False lets other readers in. Closing the descriptor gives the lock back.
    """
    if sys.platform == "win32":
        import msvcrt  # noqa: PLC0415 - this module exists on one system only

        # A byte far behind the end stands for the whole file; readers lock it too.
        os.lseek(descriptor, 2**31 - 2, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        finally:
            os.lseek(descriptor, 0, os.SEEK_SET)
        return True
    import fcntl  # noqa: PLC0415 - this module exists on POSIX systems only

    kind = fcntl.LOCK_EX if exclusive else fcntl.LOCK_SH
    try:
        fcntl.flock(descriptor, kind | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def sync_folder(folder: Path) -> None:
    """Force the names in a folder to the disk, so that a new or renamed file is found again."""
    if os.name != "posix":
        return  # elsewhere a folder cannot be opened for syncing
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextlib.contextmanager
def writing(path: Path) -> Iterator[BinaryIO]:
    """Give a stream to a file for its owner alone; a kill or an exception leaves the old state.

    Raises OSError if the folder is missing or not writable.
    """
    descriptor, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(descriptor, "wb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write a whole file as :func:`writing` does. Raises OSError."""
    with writing(path) as stream:
        stream.write(content.encode() if isinstance(content, str) else content)
