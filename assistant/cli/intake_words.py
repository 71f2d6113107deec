"""Four words that open the draft of somebody who answers alone, so that a shared computer shows it to nobody else."""

import hashlib
import secrets
from pathlib import Path

from assistant.intake.drafts import draft_path
from assistant.model.errors import InputProblems, Problem

# 64 short words that cannot be mistaken for each other: four of them are 24 bits.
_LISTED = (
    "acorn amber apple arrow autumn basil beach birch bread bridge candle cedar cherry clover cloud copper "
    "coral daisy dawn ember falcon fern field flint forest garden ginger harbour hazel honey island ivory "
    "jasmine kettle lake lantern lemon linen maple meadow mint moon needle ocean olive orchard otter pebble "
    "pepper pine quartz rain river robin saffron silver spruce stone thistle thunder velvet walnut willow winter"
)
_WORDS = _LISTED.split()
_COUNT = 4


def new_words() -> str:
    """Return four words drawn by chance."""
    return " ".join(secrets.choice(_WORDS) for _ in range(_COUNT))


def draft_of(words: str) -> Path:
    """Return where the draft behind the words lies; its name does not tell them."""
    said = " ".join(words.lower().replace("-", " ").replace(",", " ").split())
    return draft_path(f"own {hashlib.sha256(said.encode()).hexdigest()[:24]}")


def kept_draft(words: str) -> Path:
    """Return the draft that the words open. Raises InputProblems where there is none."""
    path = draft_of(words)
    if not path.exists():
        text = (
            f"no intake is kept under `{words}`; look at the {_COUNT} words again, or begin anew "
            "without --words"
        )
        raise InputProblems([Problem("--words", "no-draft", text)])
    return path
