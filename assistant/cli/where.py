"""`whyplan where`: the files and folders that are used, and what moves each."""

import argparse
import json
from pathlib import Path

from assistant.knowledge import rules_directory
from assistant.model.places import LOG, cache_folder, data_folder, drafts_folder, served_folder

_MISSING = ", not there yet"


def run(args: argparse.Namespace) -> int:
    """Print every place. Raises InputProblems for an address that cannot be read."""
    from assistant.records.connect import place_of

    record = place_of(args.db)
    rows: list[tuple[str, str, Path | str, str]] = [
        ("rules", "the rule book", args.rules or rules_directory(), "--rules"),
        ("house", "your own numbers or folder", "none but by its option", "--house"),
        ("data", "what is your own", data_folder(), "XDG_DATA_HOME"),
        ("record", "clients for months", record.file or record.shown, "--db"),
        ("backups", "of the record", record.backups, "--db"),
        ("log", "decisions, where --log is given", data_folder() / LOG, "--log"),
        ("drafts", "intakes that are not finished", drafts_folder(), "intake --journal"),
        ("desk", "drafts and PIN of `serve`", served_folder(alone=False), "serve --folder"),
        ("self", "all of `serve --self`", served_folder(alone=True), "serve --folder"),
        ("cache", "the rule book, compiled; may be deleted", cache_folder(), "XDG_CACHE_HOME"),
    ]
    if args.format == "json":
        keys = ("name", "holds", "place", "moved_by")
        told = [dict(zip(keys, (*row[:2], str(row[2]), row[3]), strict=True)) for row in rows]
        print(json.dumps(told, ensure_ascii=False, indent=2))
        return 0
    for name, holds, place, moved in rows:
        missing = _MISSING if isinstance(place, Path) and not place.exists() else ""
        print(f"{name:<8} {place}\n{'':<8} {holds}; moved by {moved}{missing}")
    return 0
