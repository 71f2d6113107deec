"""Whatever is done to a ten-entry log afterwards is found. Exhaustive, not sampled.

The hash is recomputed here by hand with hashlib and json (FIPS 180-4; RFC 8259), apart from the code.
"""

import hashlib
import itertools
import json

import pytest

from assistant.audit.chain import check_chain, parse_head, sealed
from assistant.model.chain import Link
from assistant.model.errors import InputProblems

Ten = tuple[list[bytes], list[Link]]


def found(lines: list[bytes] | bytes, head: Link | None = None) -> bool:
    data = lines if isinstance(lines, bytes) else b"".join(lines)
    return bool(check_chain(data, "log", head).problems)


def test_an_untouched_log_has_no_finding(ten: Ten) -> None:
    lines, links = ten
    for count in range(11):
        chain = check_chain(b"".join(lines[:count]), "log")
        assert not chain.problems
        assert len(chain.entries) == count
        assert chain.head == (links[count - 1] if count else None)


def test_the_chain_is_what_it_says_it_is(ten: Ten) -> None:
    """Recomputed with the standard library alone."""
    before = "0" * 64
    for number, line in enumerate(ten[0], start=1):
        entry = json.loads(line)
        stated = entry.pop("hash")
        text = json.dumps(entry, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        assert hashlib.sha256(text.encode("ascii")).hexdigest() == stated
        assert (entry["sequence"], entry["previous"]) == (number, before)
        before = stated


def test_every_change_of_one_byte_is_found(ten: Ten) -> None:
    data = b"".join(ten[0])
    for place in range(len(data)):
        before, byte, after = data[:place], data[place], data[place + 1 :]
        assert found(before + bytes([byte ^ 1]) + after), f"byte {place} changed"
        assert found(before + after), f"byte {place} deleted"
        assert found(before + bytes([byte]) * 2 + after), f"byte {place} doubled"


def test_the_same_entry_written_another_way_is_found(ten: Ten) -> None:
    """Other spaces, order or escapes leave the hash of the content alone; the line must be as written."""
    lines, links = ten
    for place, line in enumerate(lines):
        entry = json.loads(line)
        backwards = dict(sorted(entry.items(), reverse=True))
        for other in (
            json.dumps(entry, sort_keys=True).encode(),
            json.dumps(backwards, separators=(",", ":")).encode(),
            line[:-1].replace(b'"kind"', b'"\\u006bind"'),
            line[:-1].replace(b'"kind":', b'"kind":"x","kind":'),
            b" " + line[:-1],
            line[:-1] + b"\r",
        ):
            assert json.loads(other) == entry
            assert found([*lines[:place], other + b"\n", *lines[place + 1 :]], links[-1])


def test_a_number_out_of_turn_is_found_even_where_the_joint_fits(ten: Ten) -> None:
    lines, links = ten
    forged, _ = sealed({"answers": {}}, Link(7, links[4].hash))
    (problem,) = check_chain(b"".join([*lines[:5], forged]), "log").problems
    assert problem.code == "wrong-sequence"


def test_every_deletion_of_entries_is_found(ten: Ten) -> None:
    """All 1,023 ways to leave entries out; only a cut tail needs the printed head."""
    lines, links = ten
    for kept in itertools.product((True, False), repeat=10):
        if all(kept):
            continue
        rest = list(itertools.compress(lines, kept))
        is_cut_tail = list(kept) == sorted(kept, reverse=True)
        assert found(rest, links[-1]), kept
        assert found(rest) is not is_cut_tail, kept


def test_every_insertion_of_an_entry_is_found(ten: Ten) -> None:
    lines, _ = ten
    forged, _ = sealed({"answers": {}, "kind": "decision"}, Link(4, ten[1][3].hash))
    for place, line in itertools.product(range(11), [*lines, forged, b"{}\n", b"\n", b" \n"]):
        assert found([*lines[:place], line, *lines[place:]]), (place, line[:40])


def test_every_swap_and_every_move_is_found(ten: Ten) -> None:
    lines, _ = ten
    for one, other in itertools.combinations(range(10), 2):
        swapped = list(lines)
        swapped[one], swapped[other] = swapped[other], swapped[one]
        assert found(swapped), (one, other)
        moved = [*lines[:one], *lines[one + 1 : other + 1], lines[one], *lines[other + 1 :]]
        assert found(moved), (one, other)
    assert found(lines[::-1])


def test_an_edit_with_its_own_hash_made_anew_is_found(ten: Ten) -> None:
    """Whoever edits an entry and mends its hash breaks the next joint; the last needs the head."""
    lines, links = ten
    for place in range(10):
        entry = json.loads(lines[place])
        body = {k: v for k, v in entry.items() if k not in {"hash", "sequence", "previous"}}
        body["answers"] = {"client.age_years": 99}
        forged, _ = sealed(body, links[place - 1] if place else None)
        log = [*lines[:place], forged, *lines[place + 1 :]]
        assert found(log, links[-1])
        assert found(log) is (place < 9)


def test_a_log_rewritten_from_an_entry_on_is_found_by_every_later_head(ten: Ten) -> None:
    lines, links = ten
    for place in range(10):
        forged, last = list(lines[:place]), links[place - 1] if place else None
        for number in range(place, 10):
            body = json.loads(lines[number])
            body = {k: v for k, v in body.items() if k not in {"hash", "sequence", "previous"}}
            body["note"] = "rewritten"
            line, last = sealed(body, last)
            forged.append(line)
        assert not found(forged), "without a printed head a whole new chain looks sound"
        for number in range(10):
            assert found(forged, links[number]) is (number >= place)


def test_every_cut_in_the_middle_of_a_line_is_found(ten: Ten) -> None:
    data = b"".join(ten[0])
    ends = {0, *itertools.accumulate(len(line) for line in ten[0])}
    for length in set(range(len(data))) - ends:
        assert found(data[:length])


def test_one_damaged_line_is_one_finding_at_its_place(ten: Ten) -> None:
    lines, _ = ten
    damaged = [*lines[:4], lines[4].replace(b":34", b":35"), *lines[5:]]
    (problem,) = check_chain(b"".join(damaged), "log").problems
    assert str(problem).startswith("log:5: changed-line: ")


@pytest.mark.parametrize(
    "text", ["", "12", "12:xyz", "0:" + "a" * 32, "12:" + "a" * 15, "1:" + "a" * 65]
)
def test_a_head_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(InputProblems, match="bad-head"):
        parse_head(text)


def test_a_printed_head_is_read_back(ten: Ten) -> None:
    lines, links = ten
    for link in links:
        assert not check_chain(b"".join(lines), "log", parse_head(str(link))).problems
        other = str(link)[:-1] + ("0" if str(link)[-1] != "0" else "1")
        assert found(lines, parse_head(other))


@pytest.mark.parametrize(
    "line",
    [b"[]", b"1", b'{"sequence":1}', b'{"hash":"x","sequence":1}', b"\xff", b"[" * 5000, b"{" * 5000,
     b'{"hash":"' + b"0" * 64 + b'","sequence":true}', b'{"hash":"' + b"0" * 64 + b'","n":NaN,"sequence":1}'],
)  # fmt: skip
def test_a_line_of_anything_else_is_a_finding_not_a_crash(line: bytes) -> None:
    (problem,) = check_chain(line + b"\n", "log").problems
    assert problem.code == "changed-line"
