"""A tag for a client, so that the log needs no name and the same client can still be found again.

The tag is a keyed hash of the name. The key lies beside the log; without it a tag tells nothing, and
deleting it masks every name for good. Neither replay nor verification reads a tag.
"""

import hashlib
import hmac
import os
import secrets
import unicodedata
from pathlib import Path

from assistant.model.errors import InputProblems, Problem

_KEY_BYTES = 32
_DIGITS = 12


def client_tag(name: str, log: Path, *, make_key: bool = True) -> str:
    """Return a client's tag in a log, `c-` and 12 digits.

    make_key: whether a missing key is made. Raises InputProblems if there is no key or it cannot be
    read or written.
    """
    words = " ".join(unicodedata.normalize("NFKC", name).casefold().split())
    digest = hmac.new(_key(log, make=make_key), words.encode(), hashlib.sha256).hexdigest()
    return f"c-{digest[:_DIGITS]}"


def key_path(log: Path) -> Path:
    """Return where a log's key lies."""
    return log.with_name(log.name + ".key")


def _key(log: Path, *, make: bool) -> bytes:
    path = key_path(log)
    try:
        if make and not path.exists():
            _write_new(path, secrets.token_bytes(_KEY_BYTES))
        key = path.read_bytes()
    except OSError as error:
        text = f"the key for clients' tags cannot be read or written ({error.strerror}); see to its folder"
        raise InputProblems([Problem(str(path), "no-key", text)]) from error
    if len(key) != _KEY_BYTES:
        text = f"a key has {_KEY_BYTES} bytes, this one {len(key)}; delete it and a new one is made"
        raise InputProblems([Problem(str(path), "bad-key", text)])
    return key


def _write_new(path: Path, key: bytes) -> None:
    """Write a key whole or not at all; if another program was faster, its key counts."""
    unfinished = path.with_name(f"{path.name}.{os.getpid()}")
    descriptor = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        os.write(descriptor, key)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    try:
        os.link(unfinished, path)
    except FileExistsError:
        pass
    finally:
        unfinished.unlink(missing_ok=True)
