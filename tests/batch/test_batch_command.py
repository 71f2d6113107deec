"""`whyplan batch` as a coach uses it: the same plans as one by one, and clear lines for bad cases."""

import hashlib
import json
import os
import re
import shutil
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from small_cases import small

from assistant.batch import run as batch_module
from assistant.batch.folder import LOG, Folder, parts_in
from assistant.batch.lines import case_lines, partitions
from assistant.batch.part import columns, made_of, part_at, rows
from assistant.calculate.registry import CALCULATORS
from assistant.cli import progress
from assistant.cli.main import main
from assistant.knowledge import load_knowledge

ROOT = Path(__file__).parents[2]
BOOK = str(ROOT / "tests/audit/small_book")
CASES = sorted((ROOT / "cases").glob("*.yaml"))


def batch(capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str, str]:
    code = main(["batch", *more])
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def alone(cases: Path, out: Path) -> list[str]:
    """What a run of the small book takes that makes no sessions and starts no process."""
    return [str(cases), "--out", str(out), "--rules", BOOK, "--no-week", "--workers", "0"]


def files(folder: Path) -> dict[str, bytes]:
    """The files of `--each`."""
    made = [p for p in folder.iterdir() if p.suffix != ".parquet" and p.name != LOG]
    return {p.name: p.read_bytes() for p in made}


def parts(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.glob("*.parquet")}


def rows_of(folder: Path) -> list[dict[str, Any]]:
    return [row for name in parts_in(folder) for row in rows(folder / name)]


def as_line(path: Path) -> str:
    return json.dumps(yaml.safe_load(path.read_text("utf-8")), default=str)


@pytest.mark.parametrize(
    "how",
    [["json"], ["text", "--for", "client", "--imperial"], ["html", "--for", "client"]],
    ids=lambda how: how[0],
)  # fmt: skip
def test_the_plans_are_those_of_the_plan_command(
    how: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    people = [path for path in CASES if path.stem in {"four_days", "refer_first", "stop_today"}]
    assert len(people) == 3
    cases = tmp_path / "cases.jsonl"
    cases.write_text("\n".join(as_line(path) for path in people), "utf-8")
    code, out, err = batch(
        capsys,
        str(cases),
        "--out",
        str(tmp_path / "out"),
        "--workers",
        "0",
        "--no-week",
        "--each",
        *how,
    )
    assert (code, err) == (1, ""), "one of the cases is a stop"
    assert "3 cases: 3 with a plan" in out
    assert "1 is stopped by the screen" in out
    made = files(tmp_path / "out")
    for number, path in enumerate(people, start=1):
        main(["plan", str(path), "--no-week", "--format", *how])
        suffix = {"text": "txt"}.get(how[0], how[0])
        shown, kept = capsys.readouterr().out, made[f"{number:06d}.{suffix}"].decode()
        # Under a text the command says what to type next; a file does not.
        under = shown.removeprefix(kept).splitlines() if suffix == "txt" else []
        assert all(row.startswith(("Why", "Next")) for row in under), path.name
        assert shown == kept + "".join(f"{row}\n" for row in under), path.name
        main(["plan", str(path), "--no-week", "--format", "json", *how[1:]])
        shown = capsys.readouterr().out
        row = rows_of(tmp_path / "out")[number - 1]
        assert row["plan"] == shown
        assert row["file_sha256"] == hashlib.sha256(kept.encode()).hexdigest()
        facts = json.loads(shown)["facts"]
        assert row["level"] == facts["screen.level"]["value"]
        for fact, column in (
            ("protein.g_per_day",) * 2,
            ("dose.sets_per_week[lats]", "dose.sets_per_week"),
        ):
            told = row[column] if fact == column else (row[column] or {}).get("lats")
            assert told == pytest.approx(facts[fact]["value"] if fact in facts else None)
        referrals = [
            {"id": e["to"], "how": e["urgency"]} for e in facts["screen.referrals"]["value"]
        ]
        assert row["referrals"] == referrals


@pytest.mark.slow
def test_the_sessions_are_those_of_the_plan_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = ROOT / "cases/two_short_evenings.yaml"
    cases = tmp_path / "cases.jsonl"
    cases.write_text(as_line(path), "utf-8")
    assert batch(capsys, str(cases), "--out", str(tmp_path / "out"), "--each", "text")[0] == 0
    main(["plan", str(path)])
    kept = files(tmp_path / "out")["000001.txt"].decode()
    shown = capsys.readouterr().out
    assert "\ntue 1 " in kept  # and a mark where a warm-up stands
    assert shown.startswith(kept)
    assert {row[:4] for row in shown.removeprefix(kept).splitlines()} == {"Why,", "Next"}


BAD = {
    "bad-json": '{"name": "Ada"',
    "repeated-field": small("Ada").replace('"as_of"', '"name": "Ben", "as_of"'),
    "bad-value": small("Ada").replace("61.7", "NaN"),
    "unknown-fact": small("Ada", wieght_kg=60),
    "out-of-range": small("Ada", weight_kg=700),
    "unknown-field": small("Ada").replace('"as_of"', '"nmae": "x", "as_of"'),
    "bad-type": "[1, 2]",
    "bad-character": small("Ada").replace("Ada", "A\\u202eda"),
    "too-deep": '{"answers": ' + "[" * 60 + "]" * 60 + "}",
    "bad-json again": "[" * 100_000,
    "too-big": small("A" * 1_000_100),
    "session-only": small("Ada").replace('"client.age_years"', '"screen.self_harm_thoughts": true, "client.age_years"'),
}  # fmt: skip


def test_a_bad_case_is_one_clear_line_and_the_others_get_their_plans(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    rows = [small("First")]
    for bad in BAD.values():
        rows += ["", bad, small("Next")]
    cases.write_bytes("\r\n".join(rows).encode() + b"\n\xff\xfe{}")
    code, told, err = batch(capsys, *alone(cases, out), "--each", "text")
    assert code == 1
    good = 1 + len(BAD)
    assert (
        f"{good + len(BAD) + 1} cases: {good} with a plan in {out}, {len(BAD) + 1} without." in told
    )
    lines = err.splitlines()
    assert len(lines) == len(BAD) + 1
    for number, (name, line) in enumerate(zip(BAD, lines, strict=False)):
        place = f"{cases}:{3 * number + 3}: "
        code_of = {"bad-json again": ("too-deep", "bad-json")}.get(name, (name,))
        assert line.startswith(tuple(f"{place}{code}: " for code in code_of)), line[:200]
        assert len(line) < 400
    assert lines[-1].startswith(f"{cases}:{3 * len(BAD) + 2}: bad-encoding: ")
    made = files(out)
    assert len(made) == good
    told_of = [row["line"] for row in rows_of(out) if row["problem"]]
    assert told_of == [3 * number + 3 for number in range(len(BAD) - 1)] + [
        3 * len(BAD),
        3 * len(BAD) + 2,
    ]
    again = batch(capsys, *alone(cases, out), "--each", "text")
    assert again[2] == err, "why a case has no plan is told again, though its part is there"
    assert f"there already: {good}." in again[1]


def test_a_session_only_answer_leaves_no_trace_in_the_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All refused cases leave the same row, so it does not tell why one has no plan."""
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text("\n".join([BAD["session-only"], BAD["bad-json"], small("Ada")]), "utf-8")
    batch(capsys, *alone(cases, out))
    told = [{key: value for key, value in row.items() if value is not None} for row in rows_of(out)]
    assert told[:2] == [{"line": 1, "problem": "refused"}, {"line": 2, "problem": "refused"}]
    assert told[2]["line"] == 3


def test_a_second_run_makes_only_what_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    rows = [small(f"Client {n}", weight_kg=50 + n) for n in range(8)]
    command = [*alone(cases, out), "--full", "--each", "text", "--lines", "2"]
    cases.write_text("\n".join(rows), "utf-8")
    assert batch(capsys, *command)[0] == 0
    first, all_parts = files(out), parts(out)
    assert "there already: 8." in batch(capsys, *command)[1]
    assert (files(out), parts(out)) == (first, all_parts)

    rows = [*rows, *(small(f"Client {n}") for n in range(8, 12))]
    cases.write_text("\n".join(rows), "utf-8")
    assert "there already: 8." in batch(capsys, *command)[1], "more cases at the end cost no more"
    rows[1] = small("Client 1", weight_kg=99)  # another answer
    rows[2] = "{}"  # refused now
    (out / "000005.txt").write_bytes(b"half a pl")  # cut by a power failure
    (out / "000007.txt").unlink()  # deleted
    for left in (
        ".000004.txt.x7",
        ".00000003-00000004.parquet.x7",
        "..00000003-00000003.parquet.x",
        ".00000003-00000004.parquet.at",
    ):
        (out / left).write_text("left by a killed worker", "utf-8")
    cases.write_text("\n".join(rows[:9]), "utf-8")  # the last clients are gone
    code, told, err = batch(capsys, *command)
    assert code == 1
    assert "9 cases: 8 with a plan" in told
    assert "there already" not in told, "each part has something of its own"
    assert (
        "Removed, since their case is gone or refused: 00000011-00000012.parquet, 000003.txt, 000010.txt, 000011.txt, 000012.txt."
        in told
    )
    assert f"{cases}:3: missing-field" in err or f"{cases}:3: bad-value" in err
    again = files(out)
    assert set(again) == {f"{n:06d}.txt" for n in (1, 2, 4, 5, 6, 7, 8, 9)}
    assert {name for name, text in first.items() if again.get(name, text) != text} == {"000002.txt"}
    assert not [p.name for p in out.iterdir() if p.name.startswith(".") and p.name != LOG]

    fresh = tmp_path / "fresh"
    batch(capsys, *command[:2], str(fresh), *command[3:])
    assert files(fresh) == again, "as if it had been made in one go"
    assert parts(fresh) == parts(out)


def test_a_file_of_somebody_else_is_never_deleted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    command = [*alone(cases, out), "--each", "text"]
    cases.write_text(small("Ada") + "\n" + small("Ben"), "utf-8")
    batch(capsys, *command)
    (out / "000002.txt").write_text("my own notes on Ben", "utf-8")
    (out / "notes.txt").write_text("mine", "utf-8")
    (out / "00000901-00000902.parquet").write_bytes(b"PAR1 of somebody else")
    cases.write_text(small("Ada"), "utf-8")
    code, told, _ = batch(capsys, *command)
    assert code == 0
    assert "Removed" not in told
    assert (out / "00000901-00000902.parquet").exists()
    assert files(out)["000002.txt"] == b"my own notes on Ben"
    assert files(out)["notes.txt"] == b"mine"


def test_a_part_cannot_point_at_files_elsewhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A part that names a file that no batch writes costs no file outside the folder."""
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    command = [*alone(cases, out), "--each", "text"]
    cases.write_text(small("Ada"), "utf-8")
    batch(capsys, *command)
    before = parts(out)
    precious = tmp_path / "precious.txt"
    precious.write_text("mine", "utf-8")
    (name,) = before
    found = made_of(out / name)
    (row,) = rows_of(out)
    sha256 = hashlib.sha256(b"mine").hexdigest()
    kb = load_knowledge(Path(BOOK), calculators=CALCULATORS)
    partition = replace(next(partitions(cases, 25)), first=26, last=50)
    with part_at(out / partition.name, columns(kb), found["header"], partition) as part:
        for file in ("../precious.txt", str(precious), "000001.txt"):
            part.add({**row, "file": file, "file_sha256": sha256})
    code, said, _ = batch(capsys, *command)
    assert code == 0
    assert f"Removed, since their case is gone or refused: {partition.name}." in said
    assert precious.read_text("utf-8") == "mine"
    assert parts(out) == before
    assert list(files(out)) == ["000001.txt"]


@pytest.mark.parametrize("length", [0, -99], ids=["empty", "cut"])
def test_a_part_that_is_not_whole_is_made_again(
    length: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text("\n".join(small(f"Client {n}") for n in range(9)), "utf-8")
    command = [*alone(cases, out), "--lines", "5"]
    batch(capsys, *command)
    before = parts(out)
    path = out / "00000001-00000005.parquet"
    path.write_bytes(before[path.name][:length])
    code, said, _ = batch(capsys, *command)
    assert code == 0
    assert "there already: 4." in said
    assert parts(out) == before


def test_a_bit_that_turned_is_found_by_whoever_reads(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text(small("Ada"), "utf-8")
    batch(capsys, *alone(cases, out))
    ((name, whole),) = parts(out).items()
    middle = len(whole) // 4
    (out / name).write_bytes(whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :])
    with pytest.raises(OSError, match=r"(?i)crc"):
        list(rows(out / name))


def test_plans_of_two_kinds_are_not_mixed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text(small("Ada"), "utf-8")
    command = [*alone(cases, out)]
    assert batch(capsys, *command)[0] == 0
    before = parts(out)
    other = tmp_path / "book"
    shutil.copytree(BOOK, other)
    words = other / "wording.yaml"
    words.write_text(words.read_text("utf-8").replace("front thighs", "quads"), "utf-8")
    for change, name in (
        (["--for", "client"], "reader"),
        (["--each", "json"], "form"),
        (["--lines", "9"], "number of lines a part"),
        (["--imperial"], "units"),
        (["--as-of", "2026-01-13"], "day"),
        (["--rules", str(other)], "rule book"),
    ):
        code, told, err = batch(capsys, *command, *change)
        assert (code, told) == (2, "")
        assert f"{out}: another-batch: the plans in it were made with another {name}; " in err
        assert len(err.splitlines()) == 1
    assert parts(out) == before


def test_one_batch_at_a_time_in_a_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text(small("Ada"), "utf-8")
    with Folder(out, {}):
        code, _, err = batch(capsys, str(cases), "--out", str(out), "--rules", BOOK)
    assert code == 2
    assert "folder-in-use" in err


@pytest.mark.parametrize(
    ("more", "code"),
    [(["--workers", "-1"], "bad-value"), (["--workers", "65"], "bad-value"), (["--seed", "-1"], "bad-value"),
     (["--seconds-per-case", "0"], "bad-value"), (["--seconds-per-case", "nan"], "bad-value"),
     (["--lines", "0"], "bad-value"), (["--cluster", "local", "--workers", "0"], "bad-value"),
     (["--as-of", "soon"], "bad-date")],
    ids=" ".join,
)  # fmt: skip
def test_bad_options_are_one_line_and_exit_two(
    more: list[str], code: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases = tmp_path / "cases.jsonl"
    cases.write_text(small("Ada"), "utf-8")
    result, out, err = batch(
        capsys, str(cases), "--out", str(tmp_path / "out"), "--rules", BOOK, *more
    )
    assert (result, out) == (2, "")
    assert f": {code}: " in err
    assert len(err.splitlines()) == 1
    assert not (tmp_path / "out").exists()


def test_a_missing_file_and_a_folder_that_is_a_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases = tmp_path / "cases.jsonl"
    assert "missing-file" in batch(capsys, str(cases), "--out", str(tmp_path / "out"))[2]
    cases.write_text(small("Ada"), "utf-8")
    code, _, err = batch(capsys, str(cases), "--out", str(cases), "--rules", BOOK)
    assert code == 2
    assert "not-writable" in err


def test_the_bar_is_for_a_terminal_only(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    cases = tmp_path / "cases.jsonl"
    cases.write_text("\n".join(small(f"Client {n}") for n in range(40)), "utf-8")
    command = [str(cases), "--rules", BOOK, "--no-week", "--workers", "0", "--out"]
    assert batch(capsys, *command, str(tmp_path / "quiet"))[2] == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(progress, "_FIRST_SECONDS", 0.0)
    monkeypatch.setattr(progress, "_EVERY_SECONDS", 0.01)
    _, out, err = batch(capsys, *command, str(tmp_path / "shown"), "--lines", "4")
    assert re.search(r"\r\x1b\[K\d+ of 40 cases, (about \d+ s left|nearly done)", err)
    assert err.endswith("\r\x1b[K"), "the bar is wiped at the end"
    assert "\r" not in out


def test_ctrl_c_is_one_clear_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    cases = tmp_path / "cases.jsonl"
    cases.write_text(small("Ada"), "utf-8")

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(batch_module, "run_batch", interrupted)
    code, out, err = batch(capsys, str(cases), "--out", str(tmp_path / "out"), "--rules", BOOK)
    assert (code, out) == (130, "")
    assert err == "Stopped. The same command goes on from here.\n"


def test_an_empty_file_is_an_empty_batch(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases = tmp_path / "cases.jsonl"
    cases.write_text("\n\n", "utf-8")
    code, out, err = batch(capsys, str(cases), "--out", str(tmp_path / "out"), "--rules", BOOK)
    assert (code, err) == (0, "")
    assert out.startswith("0 cases: 0 with a plan")


def test_lines_are_read_whatever_ends_them(tmp_path: Path) -> None:
    path = tmp_path / "cases.jsonl"
    path.write_bytes(b"\xef\xbb\xbfone\r\n\n  \ntwo\n" + b"x" * 3_000_000 + b"\nlast")
    lines = list(case_lines(path))
    assert [(line.number, len(line.raw)) for line in lines] == [
        (1, 3), (4, 3), (5, 1_000_001), (6, 4),
    ]  # fmt: skip


def test_only_the_owner_may_read_the_plans(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if os.name != "posix":
        pytest.skip("POSIX modes")
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text(small("Ada"), "utf-8")
    batch(capsys, *alone(cases, out), "--each", "text")
    assert len(list(out.iterdir())) == 3
    assert out.stat().st_mode & 0o077 == 0
    assert {path.stat().st_mode & 0o777 for path in out.iterdir()} == {0o600}


def test_a_report_counts_what_stands_in_the_plans(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Counted a second time from the plans as JSON."""
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    people = [*map(as_line, CASES[:4]), BAD["bad-json"], as_line(ROOT / "cases/stop_today.yaml")]
    cases.write_text("\n".join(people), "utf-8")
    command = [str(cases), "--out", str(out), "--no-week", "--workers", "0", "--lines", "4"]
    batch(capsys, *command)
    code, told, err = batch(capsys, "report", str(out))
    assert (code, err) == (0, "")
    lines = told.splitlines()
    assert lines[0] == "5 plans in 2 parts, 1 lines without one."
    assert lines[1:3] == ["Without a plan", f"  {1:>7}  refused"]
    assert re.fullmatch(
        r"Processor time: \d+\.\d s, \d+\.\d ms a plan \(read .*, write .*\)", lines[-1]
    )
    facts = [json.loads(row["plan"])["facts"] for row in rows_of(out) if row["plan"]]
    counted: Counter[str] = Counter()
    for each in facts:
        counted[each["screen.level"]["value"]] += 1
        for flag in each["screen.flags"]["value"]:
            counted[f"{flag['id']} ({flag['severity']})"] += 1
        for referral in each["screen.referrals"]["value"]:
            counted[f"{referral['to']} ({referral['urgency']})"] += 1
    shown = {name: int(n) for n, name in re.findall(r"^ +(\d+)  (\S.*)$", told, re.MULTILINE)}
    assert {name: n for name, n in shown.items() if name in counted} == counted
    assert len(counted) > 4
    batch(capsys, *command)
    assert batch(capsys, "report", str(out))[1] == told, (
        "what is there already costs and counts no second time"
    )


@pytest.mark.parametrize("damage", ["nothing there", "a bit turned"])
def test_a_report_of_no_parts_or_damaged_ones_is_one_clear_line(
    damage: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    if damage == "a bit turned":
        cases.write_text(small("Ada"), "utf-8")
        batch(capsys, *alone(cases, out))
        ((name, whole),) = parts(out).items()
        at = whole.index(b"clips")
        (out / name).write_bytes(whole[:at] + b"X" + whole[at + 1 :])
    code, told, err = batch(capsys, "report", str(out))
    assert (code, told) == (2, "")
    assert len(err.splitlines()) == 1
    assert (": no-parts: " if damage == "nothing there" else ": damaged-part: ") in err


def test_a_change_of_the_book_is_tried_on_a_population(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another energy for a kilogram moves whose weight is known, and nobody else."""
    cases, out, other = tmp_path / "cases.jsonl", tmp_path / "out", tmp_path / "book"
    people = [small("Ada"), "{}", small("Ben", weight_kg="unknown"), small("Cleo")]
    cases.write_text("\n".join(people), "utf-8")
    batch(capsys, *alone(cases, out))
    shutil.copytree(BOOK, other)
    (numbers,) = (other / "parameters").iterdir()
    text = numbers.read_text("utf-8")
    numbers.write_text(text.replace("value: 33.3}", "value: 34.3}"), "utf-8")
    command = [
        "check",
        "--only",
        "against",
        "--rules",
        str(other),
        "--against",
        BOOK,
        "--on",
        str(out),
    ]
    assert main(command) == 1
    told = capsys.readouterr().out
    assert "1 plans are the same, 2 move; 0 rules and 1 numbers differ" in told
    assert "2 plans move, for example line 1: energy.target_kcal_per_day: 205" in told
    assert main([*command[:-1], str(tmp_path)]) == 2
    assert ": no-parts: " in capsys.readouterr().err
