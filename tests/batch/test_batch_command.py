"""`whyplan batch` as a coach uses it: the same plans as one by one, and clear lines for bad cases."""

import hashlib
import json
import os
import re
import shutil
import sys
from pathlib import Path

import pytest
import yaml
from small_cases import small

from assistant.batch.folder import Folder
from assistant.batch.lines import case_lines
from assistant.cli import batch as command_module
from assistant.cli.main import main

ROOT = Path(__file__).parents[2]
BOOK = str(ROOT / "tests/audit/small_book")
CASES = sorted((ROOT / "cases").glob("*.yaml"))


def batch(capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str, str]:
    code = main(["batch", *more])
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def files(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.name != "batch.jsonl"}


def as_line(path: Path) -> str:
    return json.dumps(yaml.safe_load(path.read_text("utf-8")), default=str)


@pytest.mark.parametrize(
    "how",
    [["--format", "json"], ["--format", "text", "--for", "client", "--imperial"],
     ["--format", "html", "--for", "client"]],
    ids=lambda how: how[1],
)  # fmt: skip
def test_the_plans_are_those_of_the_plan_command(
    how: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    people = [path for path in CASES if path.stem in {"four_days", "refer_first", "stop_today"}]
    assert len(people) == 3
    cases = tmp_path / "cases.jsonl"
    cases.write_text("\n".join(as_line(path) for path in people), "utf-8")
    code, out, err = batch(
        capsys, str(cases), "--out", str(tmp_path / "out"), "--workers", "0", "--no-week", *how
    )
    assert (code, err) == (1, ""), "one of the cases is a stop"
    assert "3 cases: 3 with a plan" in out
    assert "1 is stopped by the screen" in out
    made = files(tmp_path / "out")
    for number, path in enumerate(people, start=1):
        main(["plan", str(path), "--no-week", *how])
        suffix = {"text": "txt"}.get(how[1], how[1])
        shown, kept = capsys.readouterr().out, made[f"{number:06d}.{suffix}"].decode()
        # Under a text the command says what to type next; a file does not.
        under = shown.removeprefix(kept).splitlines() if suffix == "txt" else []
        assert all(row.startswith(("Why", "Next")) for row in under), path.name
        assert shown == kept + "".join(f"{row}\n" for row in under), path.name


@pytest.mark.slow
def test_the_sessions_are_those_of_the_plan_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = ROOT / "cases/two_short_evenings.yaml"
    cases = tmp_path / "cases.jsonl"
    cases.write_text(as_line(path), "utf-8")
    assert batch(capsys, str(cases), "--out", str(tmp_path / "out"))[0] == 0
    main(["plan", str(path)])
    kept = files(tmp_path / "out")["000001.txt"].decode()
    shown = capsys.readouterr().out
    assert "\ntue 1  " in kept
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
    code, told, err = batch(
        capsys, str(cases), "--out", str(out), "--rules", BOOK, "--no-week", "--workers", "0"
    )
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
    assert b"self_harm" not in b"".join(made.values()) + (out / "batch.jsonl").read_bytes()


def test_a_session_only_answer_leaves_no_trace_in_the_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused cases are not in the journal, so it does not tell why one is missing."""
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text("\n".join([BAD["session-only"], BAD["bad-json"], small("Ada")]), "utf-8")
    batch(capsys, str(cases), "--out", str(out), "--rules", BOOK, "--workers", "0", "--no-week")
    journal = (out / "batch.jsonl").read_text("utf-8").splitlines()
    assert [json.loads(line).get("line") for line in journal] == [None, 3]


def test_a_second_run_makes_only_what_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    rows = [small(f"Client {n}", weight_kg=50 + n) for n in range(8)]
    command = [
        str(cases),
        "--out",
        str(out),
        "--rules",
        BOOK,
        "--no-week",
        "--workers",
        "0",
        "--full",
    ]
    cases.write_text("\n".join(rows), "utf-8")
    assert batch(capsys, *command)[0] == 0
    first = files(out)
    assert "there already" not in batch(capsys, *command, "--format", "text")[1].splitlines()[0]
    assert files(out) == first

    rows[1] = small("Client 1", weight_kg=99)  # another answer
    rows[2] = "{}"  # refused now
    (out / "000005.txt").write_bytes(b"half a pl")  # cut by a power failure
    (out / "000006.txt").unlink()  # deleted
    (out / ".000004.txt.part77").write_text("left by a killed worker", "utf-8")
    cases.write_text("\n".join(rows[:7]), "utf-8")  # the last client is gone
    code, told, err = batch(capsys, *command)
    assert code == 1
    assert "7 cases: 6 with a plan" in told
    assert "Plans that were there already: 3." in told
    assert "Removed, since their case is gone or refused: 000003.txt, 000008.txt." in told
    assert f"{cases}:3: missing-field" in err or f"{cases}:3: bad-value" in err
    again = files(out)
    assert set(again) == {f"{n:06d}.txt" for n in (1, 2, 4, 5, 6, 7)}
    assert {name for name, text in again.items() if first[name] != text} == {"000002.txt"}

    fresh = tmp_path / "fresh"
    batch(capsys, *command[:2], str(fresh), *command[3:])
    assert files(fresh) == again, "as if it had been made in one go"


def test_a_file_of_somebody_else_is_never_deleted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    command = [str(cases), "--out", str(out), "--rules", BOOK, "--no-week", "--workers", "0"]
    cases.write_text(small("Ada") + "\n" + small("Ben"), "utf-8")
    batch(capsys, *command)
    (out / "000002.txt").write_text("my own notes on Ben", "utf-8")
    (out / "notes.txt").write_text("mine", "utf-8")
    cases.write_text(small("Ada"), "utf-8")
    code, told, _ = batch(capsys, *command)
    assert code == 0
    assert "Removed" not in told
    assert files(out)["000002.txt"] == b"my own notes on Ben"
    assert files(out)["notes.txt"] == b"mine"


def test_a_journal_cannot_point_at_files_elsewhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines of nonsense in a journal cost a plan made again, and no file outside the folder."""
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    command = [str(cases), "--out", str(out), "--rules", BOOK, "--no-week", "--workers", "0"]
    cases.write_text(small("Ada"), "utf-8")
    batch(capsys, *command)
    before = files(out)
    precious = tmp_path / "precious.txt"
    precious.write_text("mine", "utf-8")
    digest = hashlib.sha256(b"mine").hexdigest()
    told = {"line": 9, "case": "x", "sha256": digest, "level": "none"}
    with (out / "batch.jsonl").open("a", encoding="utf-8") as journal:
        for bad in ({**told, "file": "../precious.txt"}, {**told, "file": str(precious)},
                    {**told, "file": "000001.txt"}, {**told, "line": "9", "file": "000009.txt"},
                    {"line": 1}, [1], {"line": 1, "removed": "yes"}):  # fmt: skip
            journal.write(json.dumps(bad) + "\n")
        journal.write('{"line":2,"case":"cut by a po')
    code, said, _ = batch(capsys, *command)
    assert code == 0
    assert "Plans that were there already: 1." in said
    assert "Removed" not in said
    assert precious.read_text("utf-8") == "mine"
    assert files(out) == before


def test_plans_of_two_kinds_are_not_mixed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = tmp_path / "cases.jsonl", tmp_path / "out"
    cases.write_text(small("Ada"), "utf-8")
    command = [str(cases), "--out", str(out), "--rules", BOOK, "--workers", "0", "--no-week"]
    assert batch(capsys, *command)[0] == 0
    before = files(out)
    other = tmp_path / "book"
    shutil.copytree(BOOK, other)
    words = other / "wording.yaml"
    words.write_text(words.read_text("utf-8").replace("front thighs", "quads"), "utf-8")
    for change, name in (
        (["--for", "client"], "reader"),
        (["--format", "json"], "form"),
        (["--imperial"], "units"),
        (["--as-of", "2026-01-13"], "day"),
        (["--rules", str(other)], "rule book"),
    ):
        code, told, err = batch(capsys, *command, *change)
        assert (code, told) == (2, "")
        assert f"{out}: another-batch: the plans in it were made with another {name}; " in err
        assert len(err.splitlines()) == 1
    assert files(out) == before


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
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/batch.jsonl").write_text("my own diary\n", "utf-8")
    code, _, err = batch(capsys, str(cases), "--out", str(tmp_path / "mine"), "--rules", BOOK)
    assert code == 2
    assert "not-a-batch" in err
    assert (tmp_path / "mine/batch.jsonl").read_text("utf-8") == "my own diary\n"


def test_the_bar_is_for_a_terminal_only(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    cases = tmp_path / "cases.jsonl"
    cases.write_text("\n".join(small(f"Client {n}") for n in range(40)), "utf-8")
    command = [str(cases), "--rules", BOOK, "--no-week", "--workers", "0", "--out"]
    assert batch(capsys, *command, str(tmp_path / "quiet"))[2] == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    _, out, err = batch(capsys, *command, str(tmp_path / "shown"))
    assert re.search(r"\r\x1b\[K\d+ of 40 cases, about \d+ s left", err)
    assert err.endswith("\r\x1b[K"), "the bar is wiped at the end"
    assert "\r" not in out


def test_ctrl_c_is_one_clear_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    cases = tmp_path / "cases.jsonl"
    cases.write_text(small("Ada"), "utf-8")

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(command_module, "run_batch", interrupted)
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
    batch(capsys, str(cases), "--out", str(out), "--rules", BOOK, "--no-week", "--workers", "0")
    assert out.stat().st_mode & 0o077 == 0
    assert {path.stat().st_mode & 0o777 for path in out.iterdir()} == {0o600}
