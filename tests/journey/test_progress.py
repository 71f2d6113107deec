"""The line of progress: on a terminal alone, with the time left, wiped at the end; and colour where it is wanted.

Outside source: no-color.org (NO_COLOR, present and not empty, means no colour), from memory.
"""

import os
import pty
import re
import select
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from assistant.cli import progress
from assistant.cli.main import main
from assistant.clients.week import _solved

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "cases/four_days.yaml")
COLOURED = re.compile(rb"\x1b\[[0-9;]*[34]8;5;")
WIPE = "\r\x1b[K"


def on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw the line at once. Called in each test: pytest changes the streams between a fixture and its test."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(progress, "_FIRST_SECONDS", 0.0)
    monkeypatch.setattr(progress, "_EVERY_SECONDS", 0.01)


def test_what_is_counted_is_told_with_the_time_left(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    on_a_terminal(monkeypatch)
    with progress.offered(wanted=True):
        for _ in progress.counted(range(4), "cases"):
            time.sleep(0.6)
    err = capsys.readouterr().err
    told = re.findall(r"\r\x1b\[K(\d) of 4 cases, (about (\d) s left|nearly done)", err)
    assert [*dict.fromkeys(done for done, _, _ in told)] == ["1", "2", "3"]
    assert (told[0][1], told[-1][1]) == ("about 2 s left", "nearly done")
    assert err.endswith(WIPE)


def test_a_part_of_a_part_shows_none(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    on_a_terminal(monkeypatch)
    with progress.offered(wanted=True), progress.Line() as whole:
        whole.at("the whole", 5)
        with progress.doing("a part", 1000.0):
            time.sleep(0.1)
        progress.say("a line that stays")
        time.sleep(0.1)
    err = capsys.readouterr().err
    assert "a part" not in err
    assert f"{WIPE}a line that stays\n" in err
    assert err.count("the whole, about 5 s left") > 2


def test_time_spent_typing_is_no_time_of_the_work(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    on_a_terminal(monkeypatch)
    monkeypatch.setattr(progress, "_BEGUN", time.monotonic() - 3600)
    with progress.offered(wanted=True), progress.doing("work", 2 / time.process_time()):
        time.sleep(0.1)
    assert "work, about 6 s left" in capsys.readouterr().err


@pytest.mark.parametrize("wanted", [True, False])
def test_elsewhere_there_is_none(
    wanted: bool, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progress, "_FIRST_SECONDS", 0.0)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: not wanted)
    with progress.offered(wanted=wanted), progress.doing("work", 1000.0):
        time.sleep(0.05)
    assert capsys.readouterr().err == ""


def test_a_command_that_breaks_off_leaves_no_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    on_a_terminal(monkeypatch)
    # The generator lives on in the traceback, as it does where a command fails.
    with pytest.raises(ZeroDivisionError) as kept, progress.offered(wanted=True):  # noqa: PT012
        for number in progress.counted((2, 1, 0), "numbers"):
            time.sleep(0.05)
            print(1 // number)
    assert kept.value
    assert capsys.readouterr().err.endswith(WIPE)
    assert not [each for each in threading.enumerate() if each.name == "_draw"]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (["week", CASE], "arranging the week, about "),
        (["plan", CASE, CASE, "--no-week"], "1 of 2 plans, "),
        (["evidence", CASE], r"\d+ of \d+ rules, "),
        (["check", "--only", "tests"], "tests, "),
    ],
)
def test_what_takes_seconds_says_how_long(
    typed: list[str],
    told: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    on_a_terminal(monkeypatch)
    _solved.clear()
    main([*typed, "--quiet"])
    quiet = capsys.readouterr()
    assert quiet.err == ""
    _solved.clear()  # a week is solved once in a process
    main(typed)
    shown = capsys.readouterr()
    assert re.search(re.escape(WIPE) + told, shown.err)
    assert shown.err.endswith(WIPE)
    assert re.sub(r" \(\d+ s\)", "", shown.out) == re.sub(r" \(\d+ s\)", "", quiet.out)


@pytest.mark.parametrize("no_color", ["", "1"])
def test_no_colour_where_none_is_wanted(no_color: str, tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    own = {
        **os.environ,
        "XDG_DATA_HOME": str(tmp_path),
        "TERM": "xterm-256color",
        "NO_COLOR": no_color,
    }
    start = (
        "import sys; from assistant.cli.main import main; sys.exit(main(['intake', '--name', 'X']))"
    )
    screen = subprocess.Popen([sys.executable, "-c", start], stdin=theirs, stdout=theirs, stderr=theirs, env=own, cwd=ROOT)  # fmt: skip
    shown = b""
    try:
        # Until a menu of what may be typed opens, which has a ground of its own.
        for keys in (b"", b"m\t", b"\r", b"y\t", b"\r", b"35\r", b"\t"):
            os.write(ours, keys)
            while select.select([ours], [], [], 1.5 if shown else 60)[0]:
                shown += os.read(ours, 65536)
        while not (no_color or COLOURED.search(shown)) and select.select([ours], [], [], 30)[0]:
            shown += os.read(ours, 65536)
    finally:
        screen.kill()
        screen.wait()
        os.close(ours)
        os.close(theirs)
    assert b"\x1b[0m" in shown
    assert (COLOURED.search(shown) is None) == bool(no_color)
