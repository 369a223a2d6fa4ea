"""Which codes of findings there are in the package, read from its source.

A code is the text at the head of a `Finding`, or at the head of a call of what hands its own `code` on to one: a
function with such a parameter, a class with such a field. Codes of drawings are the keys of the table of their
sentences.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "nameplate"

#: The one table whose keys are codes, and its module.
TABLE = ("notes.py", "_SENTENCES")

_FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)

#: What stands in every module that has a carrier, and in few others: most need not be read.
_SAYS_CODE = re.compile(r"\bcode\b")


def codes_of(sources: Mapping[str, str]) -> frozenset[str]:
    """Give every code that a finding of some modules can have; ValueError where one cannot be told from their text.

    >>> sorted(codes_of({"a.py": 'def f(code): return Finding(code, "note", "")', "b.py": 'f("x" if y else "z")'}))
    ['x', 'z']
    >>> codes_of({})
    frozenset()
    """
    trees = {name: ast.parse(text) for name, text in sources.items() if _SAYS_CODE.search(text)}
    carriers = {"Finding"} | {name for tree in trees.values() for name in _carriers(tree)}
    called = re.compile(rf"\b(?:{'|'.join(map(re.escape, carriers))})\s*\(|\b{TABLE[1]}\b")
    return frozenset(
        code
        for name, text in sources.items()
        if called.search(text)
        for code in _codes_in(name, trees.get(name) or ast.parse(text), carriers)
    )


def codes_of_package() -> frozenset[str]:
    """Give every code that a finding of the package can have."""
    return codes_of({str(path): path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.py"))})


def _carriers(tree: ast.Module) -> Iterator[str]:
    """Yield the names of functions that hand a parameter `code` on to a finding, and of classes with such a field."""
    for node in ast.walk(tree):
        if isinstance(node, _FUNCTIONS) and _hands_on(node):
            yield node.name
        elif isinstance(node, ast.ClassDef):
            fields = (line.target for line in node.body if isinstance(line, ast.AnnAssign))
            yield from (node.name for field in fields if getattr(field, "id", "") == "code")


def _hands_on(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    made = (n for n in ast.walk(node) if isinstance(n, ast.Call) and _called(n) == "Finding")
    return "code" in _parameters(node) and any(ast.unparse(_head(call)) == "code" for call in made)


def _codes_in(name: str, tree: ast.Module, carriers: set[str]) -> Iterator[str]:
    nodes = list(ast.walk(tree))
    handed_on = {
        id(inner) for node in nodes if isinstance(node, _FUNCTIONS) and _hands_on(node) for inner in ast.walk(node)
    }
    table = _table(tree) if Path(name).name == TABLE[0] else ()
    yield from table
    for node in nodes:
        if isinstance(node, ast.Call) and _called(node) in carriers:
            for code in _choices(_head(node)):
                said = ast.unparse(code)
                if isinstance(code, ast.Constant) and isinstance(code.value, str):
                    yield code.value
                elif not (said.endswith(".code") or (said == "code" and (table or id(code) in handed_on))):
                    raise ValueError(f"{name}, line {node.lineno}: the code {said} cannot be read from the source")


def _table(tree: ast.Module) -> tuple[str, ...]:
    tables = [n.value for n in tree.body if isinstance(n, ast.Assign) and getattr(n.targets[0], "id", "") == TABLE[1]]
    return tuple(key.value for table in tables for key in table.keys)  # type: ignore[attr-defined]


def _parameters(node: ast.FunctionDef | ast.AsyncFunctionDef) -> set[str]:
    return {argument.arg for argument in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)}


def _called(node: ast.Call) -> str:
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


def _head(node: ast.Call) -> ast.expr:
    return (node.args or [k.value for k in node.keywords if k.arg == "code"])[0]


def _choices(code: ast.expr) -> tuple[ast.expr, ...]:
    """Give what an expression can be: itself, or either side of a choice."""
    return (*_choices(code.body), *_choices(code.orelse)) if isinstance(code, ast.IfExp) else (code,)
