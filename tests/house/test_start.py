"""A command imports what it needs and no more: counted in a process of its own."""

import subprocess
import sys

import pytest

CASE = "cases/four_days.yaml"
DATABASE, PAGE, CALENDAR, SOLVER, PARTS = (
    "sqlalchemy",
    "assistant.report.page.whole",
    "icalendar",
    "ortools",
    "pyarrow",
)
NEVER = {
    f"plan {CASE} --no-week": (
        DATABASE,
        PAGE,
        CALENDAR,
        SOLVER,
        PARTS,
        "jinja2",
        "assistant.audit",
    ),
    f"plan {CASE} --no-week --format json": (DATABASE, PAGE, CALENDAR, SOLVER, PARTS, "jinja2"),
    f"why {CASE} calories": (DATABASE, PAGE, CALENDAR, SOLVER, PARTS, "jinja2"),
    "--version": ("pydantic", "assistant.model.knowledge", "assistant.knowledge", DATABASE),
    **dict.fromkeys(
        (
            "why --help",
            "plan --help",
            "client add --help",
            "serve --help",
            "batch --help",
            "completion bash",
            "man",
        ),
        ("pydantic", "assistant.model.knowledge", "assistant.knowledge", DATABASE),
    ),
    "exercise goblet squat": (PARTS,),
    "check --only schema": (PARTS,),
}


@pytest.mark.parametrize("typed", NEVER)
def test_a_command_leaves_alone_what_it_does_not_need(typed: str) -> None:
    code = (
        "import contextlib, io, sys\n"
        "from assistant.cli.main import main\n"
        "with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):\n"
        "    assert main(sys.argv[2:]) == 0\n"
        "print([name for name in sys.argv[1].split(',') if name in sys.modules])"
    )
    command = [sys.executable, "-c", code, ",".join(NEVER[typed]), *typed.split()]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
