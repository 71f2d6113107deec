"""What a shell completes, what the manual says, and the exit codes both name.

Outside sources: bash itself (a completion function fills COMPREPLY from COMP_WORDS and COMP_CWORD), groff and
mandoc, which warn of what they cannot read.
"""

import argparse
import shutil
import subprocess
from pathlib import Path

import pytest
import shtab
from test_takes import COMMANDS

from assistant.cli import options
from assistant.cli.main import main
from assistant.cli.registry import EXIT_CODES, build_parser

ROOT = Path(__file__).parents[2]


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(words) == 0
    told = capsys.readouterr()
    assert told.err == ""
    return told.out


@pytest.fixture
def script(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Path:
    path = tmp_path / "whyplan.bash"
    path.write_text(printed(capsys, "completion", "bash"), "utf-8")
    return path


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("pl", {"plan"}),
        ("client a", {"add", "away"}),
        ("plan --no", {"--no-week"}),
        ("plan --format ", {"text", "json", "html", "ics"}),
        ("rules new f", {"flag"}),
        ("edit somebody re", {"replace", "remove", "repetitions"}),
        ("plan cases/four_d", {"cases/four_days.yaml"}),
        ("plan --rules rul", {"rules"}),
        ("checkin --from READ", {"README.md"}),
        ("plan --engine x", set()),
    ],
)
def test_bash_completes(script: Path, typed: str, offered: set[str]) -> None:
    if shutil.which("bash") is None:
        pytest.skip("bash is not installed")
    words = typed.split(" ")
    ask = (
        f'source "{script}"; COMP_WORDS=(whyplan "$@"); COMP_CWORD={len(words)}; '
        '_shtab_whyplan 2>/dev/null; printf "%s\\n" "${COMPREPLY[@]}"; complete -p whyplan'
    )
    command = ["bash", "--norc", "-c", ask, "bash", *words]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    *found, registered = done.stdout.splitlines()
    assert "-F _shtab_whyplan whyplan" in registered
    assert set(found) - {""} == offered


def test_zsh_reads_its_script(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "_whyplan"
    path.write_text(printed(capsys, "completion", "zsh"), "utf-8")
    assert path.read_text("utf-8").startswith("#compdef whyplan\n")
    if shutil.which("zsh") is None:
        pytest.skip("zsh is not installed")
    subprocess.run(["zsh", "-n", str(path)], check=True)


def test_files_are_marked_as_the_library_marks_them() -> None:
    assert (options.FILES["bash"], options.FILES["zsh"]) == (shtab.FILE["bash"], shtab.FILE["zsh"])
    assert options.FOLDERS["bash"] == shtab.DIRECTORY["bash"]
    assert options.FOLDERS["zsh"] == shtab.DIRECTORY["zsh"]


def test_the_manual_names_every_option_and_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    page = printed(capsys, "man")
    parts = dict(part.split("\n", 1) for part in page.split(".SS ")[1:])
    for name, parser in COMMANDS.items():
        heading = f'"whyplan {name}"' if not name.startswith("edit ") else (
            f'"whyplan edit CLIENT-OR-CASE {name.removeprefix("edit ")}"'
        )  # fmt: skip
        part = parts[heading.replace("-", "\\-")]
        for action in parser._actions:
            if not isinstance(action, argparse._HelpAction):
                for flag in action.option_strings:
                    assert ".B " + flag.replace("-", "\\-") in part, (name, flag)
    after = page.partition(".SH EXIT STATUS")[2]
    assert all(f".B {code}\n{what}" in after for code, what in EXIT_CODES.items())


@pytest.mark.parametrize("reader", ["groff -ww -man -Tutf8", "mandoc -T lint -W error"])
def test_the_manual_is_read_without_a_warning(
    reader: str, capsys: pytest.CaptureFixture[str]
) -> None:
    command = reader.split()
    if shutil.which(command[0]) is None:
        pytest.skip(f"{command[0]} is not installed")
    page = printed(capsys, "man")
    done = subprocess.run(command, input=page, capture_output=True, text=True, check=False)
    told = done.stderr if command[0] == "groff" else done.stdout + done.stderr
    assert (done.returncode, told) == (0, "")


def test_help_names_the_exit_codes() -> None:
    said = " ".join(build_parser().format_help().split())
    assert all(f"{code} {what}" in said for code, what in EXIT_CODES.items())


@pytest.mark.parametrize(
    ("code", "typed"),
    [
        (0, "plan cases/four_days.yaml --no-week"),
        (1, "plan cases/stop_today.yaml --no-week"),
        (2, "plan cases/nobody.yaml"),
        (130, "where"),
    ],
)
def test_a_command_ends_with_the_code_named(
    code: int, typed: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(_: argparse.Namespace) -> int:
        raise KeyboardInterrupt

    monkeypatch.chdir(ROOT)
    monkeypatch.setattr("assistant.cli.where.run", stopped)
    assert code in EXIT_CODES
    assert main(typed.split()) == code
    told = capsys.readouterr().err
    assert len(told.splitlines()) == (1 if code == 2 else 0)
