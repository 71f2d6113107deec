"""Names of clients and the short handles that commands take."""

import re
import unicodedata
from collections.abc import Iterable


def handle_of(name: str) -> str:
    """Return the handle of a name: lower case, no accents, hyphens. Letters of any script stay."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    bare = "".join(each for each in plain if not unicodedata.combining(each))
    return re.sub(r"[\W_]+", "-", bare).strip("-") or "client"


def nearest_client(name: str, known: Iterable[str]) -> str:
    """Return what to say about a name that is not in the record."""
    # Only a wrong name pays for loading the room of the rules.
    from assistant.knowledge.nearest import did_you_mean  # noqa: PLC0415

    listed = list(known)
    if not listed:
        return f"`{name}` is not in the record; it is empty: whyplan client add NAME --case FILE"
    hint = did_you_mean(handle_of(name), listed, "; `whyplan client list` shows all")
    return f"`{name}` is not in the record{hint}"
