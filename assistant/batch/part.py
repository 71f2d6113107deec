"""A part: the plans of some lines as one Parquet file, whole or not there, with what it was made of in it.

A row is a plan: its line, the case as written, hashes, the flags and referrals of the screen, a column for each
fact that the rules work out, and the plan as JSON. A line without a plan has a row that says why, and
nothing of the case. The same lines, book and options give the same bytes, so no moment and no duration is in it.
"""

import contextlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, TypeAlias

import pyarrow as pa
import pyarrow.parquet as pq

from assistant.batch.lines import Partition
from assistant.casefiles.safe_files import writing
from assistant.model.chain import canonical_json
from assistant.model.facts import FactType
from assistant.model.knowledge import KnowledgeBase

Row: TypeAlias = Mapping[str, Any]
KIND = {"kind": "batch", "format": 2}
# What a line that was refused leaves: no row tells which answer it was.
REFUSED = "refused"
_KEY = b"whyplan"
# A plan as JSON is a third of a megabyte, and so many are held before they are written.
_GROUP = 25
_PAGE_BYTES = 32 << 20
_KINDS = {
    FactType.NUMBER: pa.float64(), FactType.INTEGER: pa.float64(), FactType.BOOLEAN: pa.bool_(),
    FactType.CHOICES: pa.list_(pa.string()),
}  # fmt: skip


def columns(kb: KnowledgeBase) -> pa.Schema:
    """Return the columns of a part; a fact with an index is a map from element to value."""
    ranked = pa.list_(pa.struct([("id", pa.string()), ("how", pa.string())]))
    first = {
        "line": pa.int64(), "case": pa.string(), "case_sha256": pa.string(),
        "plan_sha256": pa.string(), "engine": pa.string(), "level": pa.string(),
        "flags": ranked, "referrals": ranked, "problem": pa.string(), "file": pa.string(),
        "file_sha256": pa.string(), "plan": pa.string(),
    }  # fmt: skip
    for name, fact in sorted(kb.facts.items()):
        if fact.origin == "derived":
            kind = _KINDS.get(fact.type, pa.string())
            first[name] = kind if fact.index is None else pa.map_(pa.string(), kind)
    return pa.schema(list(first.items()))


class Part:
    """A part that is being written: takes rows in the order of their lines."""

    def __init__(self, writer: pq.ParquetWriter) -> None:
        self._writer = writer
        self._rows: list[Row] = []
        self.counts = {"plans": 0, "stopped": 0, "without": 0}

    def add(self, row: Row) -> None:
        """Take a row. Raises OSError."""
        has_none = row.get("problem") is not None
        self.counts["without" if has_none else "plans"] += 1
        self.counts["stopped"] += row.get("level") == "stop"
        self._rows.append(row)
        if len(self._rows) == _GROUP:
            self.flush()

    def flush(self) -> None:
        """Write what is held. Raises OSError."""
        if self._rows:
            self._writer.write_table(pa.Table.from_pylist(self._rows, self._writer.schema))
            self._rows.clear()


@contextlib.contextmanager
def part_at(
    path: Path, schema: pa.Schema, header: Mapping[str, Any], partition: Partition
) -> Iterator[Part]:
    """Give a part to fill; it is there once all of it is on the disk. Raises OSError."""
    how = {"compression": "zstd", "write_statistics": False, "use_dictionary": ["engine", "level"]}
    sizes = {"data_page_size": _PAGE_BYTES, "write_page_checksum": True, "store_schema": False}
    with writing(path) as stream, pq.ParquetWriter(stream, schema, **how, **sizes) as writer:
        part = Part(writer)
        yield part
        part.flush()
        made_of = {**KIND, "header": header, "input": partition.digest, "counts": part.counts}
        writer.add_key_value_metadata({_KEY: canonical_json(made_of)})


def made_of(path: Path) -> dict[str, Any] | None:
    """Return what a part says it was made of; None if it is no part of a batch, or not a whole one."""
    try:
        found = json.loads((pq.read_metadata(path).metadata or {})[_KEY])
    except (OSError, ValueError, KeyError):  # what Arrow raises is one of the first two
        return None
    is_ours = isinstance(found, dict) and found.items() >= KIND.items()
    return found if is_ours else None


def rows(path: Path, *names: str) -> Iterator[dict[str, Any]]:
    """Yield the rows of a part, with all columns or those named. Raises OSError if bytes were touched."""
    with pq.ParquetFile(path, page_checksum_verification=True) as part:
        for batch in part.iter_batches(_GROUP, columns=list(names) or None):
            yield from batch.to_pylist(maps_as_pydicts="strict")
