"""The tree stays tidy: the top level is fixed, nothing unfinished, nothing of one machine."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "assistant", "rules", "tests", "cases"}
UNFINISHED = re.compile(
    "|".join(("TO" + "DO", "FIX" + "ME", "XX" + "X", "NotImplemented" + "Error"))
)


def _tracked() -> list[Path]:
    git = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )  # fmt: skip
    if git.returncode != 0:
        pytest.skip("not a git checkout")
    return [ROOT / name for name in git.stdout.splitlines()]


def test_the_top_level_is_fixed() -> None:
    top = {path.relative_to(ROOT).parts[0] for path in _tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP


def test_nothing_unfinished_and_no_path_of_a_machine() -> None:
    machine = re.compile(r"(?<![\w.])/(?:work|home|Users|root)/\w")
    wrong = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in _tracked()
        if path.suffix in {".py", ".yaml", ".md", ".sh", ".toml"} and path.exists()
        for number, line in enumerate(path.read_text("utf-8").splitlines(), start=1)
        if UNFINISHED.search(line) or machine.search(line)
    ]
    assert wrong == []


def test_no_two_test_files_have_one_name() -> None:
    """Without packages a file is known by its bare name, and the second of a name is not collected."""
    bare = [
        path
        for path in (ROOT / "tests").rglob("*.py")
        if not (path.parent / "__init__.py").exists()
    ]
    names = [path.name for path in bare if path.name != "conftest.py"]
    assert sorted({name for name in names if names.count(name) > 1}) == []
