"""Passwords as Argon2id hashes, one worked out at a time, unknown names as slowly as known ones."""

import secrets
import threading
from functools import cache
from typing import Any

from assistant.model.errors import InputProblems, Problem

# RFC 9106, section 4, second recommended option: 3 passes over 64 MiB in 4 lanes, salt of 16 bytes, tag of
# 32; above the least that the OWASP Password Storage Cheat Sheet allows (2 passes over 19 MiB).
PASSES, KIBIBYTES, LANES, SALT_BYTES, TAG_BYTES = 3, 64 * 1024, 4, 16, 32
# NIST SP 800-63B asks for 8 at least and 64 at most allowed; from memory. Longer is our own judgement.
SHORTEST, LONGEST = 12, 128
# One guess at a time holds those 64 MiB.
_TURN = threading.Lock()


def new_password() -> str:
    """Return a password nobody chose."""
    return secrets.token_urlsafe(15)


def hashed(password: str) -> str:
    """Return what is kept of a password. Raises InputProblems for one that is too short or too long."""
    if not SHORTEST <= len(password) <= LONGEST:
        text = (
            f"a password has {SHORTEST} to {LONGEST} characters; a few words are easy to remember"
        )
        raise InputProblems([Problem("PASSWORD", "bad-password", text)])
    with _TURN:
        kept: str = _hasher().hash(password)
    return kept


def is_right(kept: str | None, password: str) -> bool:
    """Tell whether this is the password. kept: None for an unknown name, which takes as long."""
    from argon2.exceptions import InvalidHashError, VerificationError  # noqa: PLC0415

    with _TURN:
        try:
            _hasher().verify(_nobody() if kept is None else kept, password)
        except (VerificationError, InvalidHashError):
            return False
    return kept is not None


@cache
def _hasher() -> Any:
    try:
        from argon2 import PasswordHasher, Type  # noqa: PLC0415 - an extra of its own
    except ImportError as error:
        text = "accounts need the package argon2-cffi: pip install 'whyplan[team]'"
        raise InputProblems([Problem("team", "not-installed", text)]) from error
    return PasswordHasher(
        time_cost=PASSES,
        memory_cost=KIBIBYTES,
        parallelism=LANES,
        hash_len=TAG_BYTES,
        salt_len=SALT_BYTES,
        type=Type.ID,
    )


@cache
def _nobody() -> str:
    """A hash of the same cost for names that have no account."""
    made: str = _hasher().hash(secrets.token_urlsafe(32))
    return made


def made_ready() -> None:
    """Make what the first sign-in would wait for. Raises InputProblems where the package is missing."""
    _nobody()
