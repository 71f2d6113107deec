"""The PIN that opens a locked screen: kept as a salted hash, made slow to guess."""

import hashlib
import json
import re
import secrets
from pathlib import Path

from assistant.casefiles.safe_files import write_atomically
from assistant.model.errors import InputProblems, Problem

MOST_WRONG = 5
_FILE = "pin.json"
_PIN = re.compile(r"[0-9]{4,12}")
# Cost of one guess: about 60 ms and 16 MB (OWASP Password Storage Cheat Sheet, scrypt N=2^14, r=8; from memory).
_COST = {"n": 2**14, "r": 8, "p": 1}


def set_pin(folder: Path, pin: str) -> None:
    """Keep a new PIN; an empty one takes the old one away. Raises InputProblems."""
    if not pin:
        (folder / _FILE).unlink(missing_ok=True)
        return
    if not _PIN.fullmatch(pin):
        text = "a PIN is 4 to 12 digits; leave it empty to go without one"
        raise InputProblems([Problem("PIN", "bad-value", text)])
    salt = secrets.token_bytes(16)
    kept = {"salt": salt.hex(), "hash": _hashed(pin, salt).hex()}
    write_atomically(folder / _FILE, json.dumps(kept))


def has_pin(folder: Path) -> bool:
    """Tell whether a PIN is set."""
    return (folder / _FILE).is_file()


def is_right(folder: Path, pin: str) -> bool:
    """Tell whether this is the PIN that is set."""
    try:
        kept = json.loads((folder / _FILE).read_text("utf-8"))
        salt, known = bytes.fromhex(kept["salt"]), bytes.fromhex(kept["hash"])
    except (OSError, ValueError, KeyError, TypeError):
        return False
    return bool(_PIN.fullmatch(pin)) and secrets.compare_digest(_hashed(pin, salt), known)


def _hashed(pin: str, salt: bytes) -> bytes:
    return hashlib.scrypt(pin.encode(), salt=salt, **_COST)
