"""The sentences that the dialogue says by itself, read from its code: where each stands, and its English."""

import ast
from collections.abc import Iterable, Iterator
from pathlib import Path

import assistant
from assistant.intake.checkin.written import KINDS
from assistant.model.knowledge import KnowledgeBase

_ROOM = Path(assistant.__file__).parent / "intake"
# Spreadsheets, drafts and the terminal speak English, and `speech.py` hands sentences on.
_OTHERS = {"speech.py", "drafts.py", "case_file.py", "screen.py", "layout.py"}
_SAYS = {"Refusal", "Sentence", "say", "told"}
# What a call passes on instead of a literal, and what stands behind it.
_HANDED_ON = {
    "template",
    "slot.lines.how",
    "units.value",
    "unknown.template",
    "question.id.replace",
    "family",
}


def own_sentences(kb: KnowledgeBase) -> Iterator[tuple[str, str]]:
    """Yield (where, English) of everything the dialogue can say by itself, in its code and by a book's names."""
    for path in sorted((*_ROOM.glob("*.py"), *(_ROOM / "checkin").glob("*.py"))):
        if path.name not in _OTHERS:
            yield from _of_a_file(path)
    yield from ((f"written.py: {reads}", kind.how) for reads, kind in KINDS.items())
    for system in ("metric", "imperial"):
        yield "quantities.py: units", system
    for question in kb.checkin.questions:
        yield f"checkin {question.id}: label in a list", question.id.replace("_", " ")


def _of_a_file(path: Path) -> Iterator[tuple[str, str]]:
    tree = ast.parse(path.read_text("utf-8"))
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    everywhere = _assigned(tree.body)
    for scope in (*functions, tree):
        inside = scope is not tree
        known = {**everywhere, **(_assigned(ast.walk(scope)) if inside else {})}
        for node in ast.walk(scope) if inside else _outside_functions(tree):
            if isinstance(node, ast.Call) and _called(node.func) in _SAYS and node.args:
                where = f"{path.name}:{node.lineno}"
                yield from ((where, text) for text in _literals(node.args[0], known, where))


def _outside_functions(tree: ast.Module) -> Iterator[ast.AST]:
    for statement in tree.body:
        if not isinstance(statement, (ast.FunctionDef, ast.ClassDef)):
            yield from ast.walk(statement)


def _assigned(nodes: Iterable[ast.AST]) -> dict[str, list[ast.expr]]:
    known: dict[str, list[ast.expr]] = {}
    for node in nodes:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            known.setdefault(node.targets[0].id, []).append(node.value)
    return known


def _called(function: ast.expr) -> str:
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _literals(node: ast.expr, known: dict[str, list[ast.expr]], where: str) -> list[str]:
    match node:
        case ast.Constant(value=str(english)):
            return [english] if english else []
        case ast.IfExp(body=body, orelse=other):
            return [*_literals(body, known, where), *_literals(other, known, where)]
        case ast.Dict(values=values):
            return [text for value in values for text in _literals(value, known, where)]
        case ast.Subscript(value=ast.Name(id=name)) | ast.Name(id=name) if name in known and (
            name not in _HANDED_ON
        ):
            return [text for each in known[name] for text in _literals(each, known, where)]
        case ast.Call(func=ast.Attribute(value=ast.Dict() as words, attr="get"), args=[_, other]):
            return [*_literals(words, known, where), *_literals(other, known, where)]
    plain = ast.unparse(node.func if isinstance(node, ast.Call) else node)
    assert plain in _HANDED_ON, f"{where}: `{plain}` is no sentence of its own"
    return []
