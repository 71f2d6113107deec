"""The house has one-way doors: which room may import which is read from the code itself."""

import ast
from pathlib import Path

import pytest

import assistant

PACKAGE = Path(assistant.__file__).parent

# A room may import the rooms named here, and nothing else of the house.
ALLOWED = {
    "model": set(),
    "knowledge": {"model"},
    "casefiles": {"model", "knowledge"},
    "engine": {"model"},
    "calculate": {"model"},
    "programme": {"model", "calculate"},
    "measure": {"model", "calculate"},
    "plan": {"model", "knowledge", "engine", "calculate", "programme", "measure"},
    "explain": {"model", "engine", "plan"},
    "audit": {"model", "knowledge", "casefiles", "engine", "plan", "programme"},
    "quality": {"model", "knowledge", "engine", "calculate"},
    "records": {"model", "knowledge", "casefiles", "calculate", "measure"},
    "intake": {"model", "knowledge", "casefiles", "calculate"},
    "report": {"model", "calculate", "plan", "explain", "programme", "measure"},
    "exchange": {"model", "knowledge", "casefiles", "plan"},
    "batch": {"model", "knowledge", "casefiles", "plan", "report"},
}
ALLOWED["clients"] = {
    "model", "knowledge", "casefiles", "calculate", "programme", "measure", "plan", "explain", "quality",
    "records", "intake",
}  # fmt: skip
ALLOWED["web"] = {*ALLOWED} - {"batch"}
ALLOWED["cli"] = {*ALLOWED}
PURE_ROOMS = {"model", "engine", "calculate", "programme", "measure", "plan"}
IMPURE_MODULES = {"random", "secrets", "socket", "urllib", "http", "subprocess", "time", "requests"}
IMPURE_CALLS = {"open", "input"}
IMPURE_METHODS = {
    "now", "today", "utcnow", "read_text", "write_text", "read_bytes", "write_bytes",
}  # fmt: skip


def _files() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE)


def _imports(tree: ast.AST) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports name their room in full"
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", _files(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_room_imports_only_what_stands_before_it(path: Path) -> None:
    room = path.relative_to(PACKAGE).parts[0]
    rooms = {
        name.split(".")[1] for name in _imports(ast.parse(path.read_text("utf-8")))
        if name.startswith("assistant.")
    }  # fmt: skip
    assert rooms - {room} <= ALLOWED[room]


@pytest.mark.parametrize("path", _files(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_only_the_screen_knows_the_terminal_library(path: Path) -> None:
    uses = any(n.startswith("prompt_toolkit") for n in _imports(ast.parse(path.read_text("utf-8"))))
    assert not uses or path.relative_to(PACKAGE) == Path("intake/screen.py")


@pytest.mark.parametrize(
    "path",
    [p for p in _files() if p.relative_to(PACKAGE).parts[0] in PURE_ROOMS],
    ids=lambda p: str(p.relative_to(PACKAGE)),
)
def test_the_inner_rooms_have_no_clock_chance_or_files(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    assert not {name.split(".")[0] for name in _imports(tree)} & IMPURE_MODULES
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        if isinstance(node.func, ast.Name):
            assert node.func.id not in IMPURE_CALLS, f"line {node.lineno}"
        elif isinstance(node.func, ast.Attribute):
            assert node.func.attr not in IMPURE_METHODS, f"line {node.lineno}"


def test_every_room_is_known() -> None:
    rooms = {path.relative_to(PACKAGE).parts[0] for path in _files()}
    assert rooms <= set(ALLOWED)
