"""The chain: every line names the hash of the line before it, so a changed past shows.

This makes a log tamper-evident, not tamper-proof: whoever can write the file can write a whole new
chain. What gives that away is a head (sequence and hash) kept elsewhere, for example on a printed plan.
"""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.model.chain import Link, canonical_json, digest, fingerprint
from assistant.model.errors import InputProblems, Problem

_HEAD = re.compile(r"([1-9][0-9]{0,8}):([0-9a-f]{16,64})", re.ASCII)
_HASH = re.compile(r"[0-9a-f]{64}", re.ASCII)


@dataclass(frozen=True)
class Chain:
    """A log as read: entries that could be read (or what was taken of each), what is wrong, and the last sound link."""

    entries: tuple[Any, ...]
    problems: tuple[Problem, ...]
    head: Link | None


def parse_head(text: str) -> Link:
    """Return a head typed as SEQ:HASH, with 16 to 64 digits. Raises InputProblems."""
    found = _HEAD.fullmatch(text.strip().lower())
    if found is None:
        wrong = f"`{text}` is not a head; write it as printed under a plan, e.g. 12:0f3a… (16 to 64 digits)"
        raise InputProblems([Problem("--head", "bad-head", wrong)])
    return Link(int(found[1]), found[2])


def sealed(body: Mapping[str, Any], previous: Link | None) -> tuple[bytes, Link]:
    """Return the line of a new entry, with its newline, and its link."""
    entry = dict(body)
    before = previous or Link()
    entry |= {"sequence": before.sequence + 1, "previous": before.hash}
    entry["hash"] = fingerprint(entry)
    return (canonical_json(entry) + "\n").encode("ascii"), Link(entry["sequence"], entry["hash"])


def read_line(raw: bytes) -> tuple[Mapping[str, Any], Link] | str:
    """Return the entry of a line without its newline, or what is wrong with the line."""
    try:
        entry = json.loads(raw)
    except (ValueError, RecursionError):
        entry = None
    if not isinstance(entry, dict):
        return "the line is not an entry of a log"
    sequence, stated = entry.get("sequence"), entry.get("hash")
    if type(sequence) is not int or not isinstance(stated, str) or not _HASH.fullmatch(stated):
        return "the line has no sequence number or no hash"
    # An entry is sealed over its own bytes; to write it anew first would cost a long log most of its reading.
    rest, *more = raw.split(b'"hash":"%s",' % stated.encode("ascii"))
    if len(more) != 1 or digest(rest + more[0]) != stated:
        return "the line was changed after it was written"
    return entry, Link(sequence, stated)


def is_whole(raw: bytes) -> bool:
    """Tell whether a line without its newline is a sound entry."""
    return not isinstance(read_line(raw), str)


def check_chain(
    data: bytes, shown_as: str, head: Link | None = None, take: Callable[[Any], Any] = lambda e: e
) -> Chain:
    """Return the entries of a log and everything that is wrong with it, line by line.

    head: a link noted elsewhere; the log must still hold it. take: what is kept of each entry, so that
    a long log need not be held whole.
    """
    problems: list[Problem] = []
    entries: list[Any] = []
    links: list[Link] = []
    before = Link()
    *lines, tail = data.split(b"\n")
    if tail:
        problems.append(_unfinished(tail, f"{shown_as}:{len(lines) + 1}"))
        if is_whole(tail):
            lines.append(tail)
    for number, raw in enumerate(lines, start=1):
        place = f"{shown_as}:{number}"
        read = read_line(raw)
        if isinstance(read, str):
            problems.append(Problem(place, "changed-line", f"{read}; compare with a copy"))
            before = Link(number, _stated_hash(raw))
            continue
        entry, link = read
        problems += _joint(entry, link, before, place)
        entries.append(take(entry))
        links.append(link)
        before = link
    if head is not None:
        problems += _against_head(links, head, shown_as)
    return Chain(tuple(entries), tuple(problems), links[-1] if links else None)


def _stated_hash(raw: bytes) -> str:
    """The hash a damaged line states, so that one damaged line is one problem, not two."""
    found = re.search(rb'"hash":"([0-9a-f]{64})"', raw)
    return found[1].decode("ascii") if found else ""


def _joint(entry: Mapping[str, Any], link: Link, before: Link, place: str) -> list[Problem]:
    fault = before.fault(link.sequence, entry.get("previous"))
    if fault == "number":
        text = (
            f"entry {link.sequence} stands where {before.sequence + 1} is due; entries were "
            "deleted, added or put in another order; compare with a copy"
        )
        return [Problem(place, "wrong-sequence", text)]
    if fault == "previous":
        text = "this entry follows another one than stands before it; compare with a copy"
        return [Problem(place, "broken-chain", text)]
    return []


def _unfinished(tail: bytes, place: str) -> Problem:
    if is_whole(tail):
        text = "the last entry is whole but lacks its end of line; the next entry adds it"
        return Problem(place, "torn-line", text)
    text = (
        f"the last line breaks off after {len(tail)} bytes ({digest(tail)[:12]}); a write was cut short, or the "
        "end was cut; the next entry sets it aside"
    )
    return Problem(place, "torn-line", text)


def _against_head(links: list[Link], head: Link, shown_as: str) -> list[Problem]:
    found = [link for link in links if link.sequence == head.sequence]
    if any(link.hash.startswith(head.hash) for link in found):
        return []
    if found:
        text = f"entry {head.sequence} is not the one whose head was printed; the log was rewritten"
        return [Problem(shown_as, "other-head", text)]
    last = links[-1].sequence if links else 0
    text = f"entry {head.sequence} was printed, but the log ends at {last}; its tail was cut"
    return [Problem(shown_as, "cut-tail", text)]
