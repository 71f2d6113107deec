"""Everything held about a client, as plain data for JSON."""

import json
from typing import Any

from assistant.records.chain import ENTRY
from assistant.records.projection import entry_of
from assistant.records.store import Client, Records


def export(records: Records, client: Client) -> dict[str, Any]:
    """Return all that is held: name, and every line in order, superseded ones too."""
    return {
        "format": 1,
        "name": client.name,
        "handle": client.handle,
        "added_on": client.added_on.isoformat(),
        "lines": client.lines,
        "head": client.head,
        "token": client.token,
        "history": [
            {
                "number": line.number,
                "kind": line.kind,
                "said_on": line.said_on.isoformat(),
                **_content(line),
                "hash": line.hash,
            }
            for line in records.history(client)
        ],
    }


def _content(line: Any) -> dict[str, Any]:
    if line.kind != ENTRY:
        return {"content": json.loads(line.body)}
    entry = entry_of(line)
    said: dict[str, Any] = {
        "measure": entry.measure,
        "day": entry.day.isoformat(),
        "value": entry.value,
    }
    for name in ("detail", "repetitions", "reserve"):
        if getattr(entry, name) not in ("", None):
            said[name] = getattr(entry, name)
    if entry.others:
        said["others"] = [each._asdict() for each in entry.others]
    return said
