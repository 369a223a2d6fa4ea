"""Every regular expression of the package takes steps in proportion to the text, in the way in which it is used."""

from __future__ import annotations

import ast
import importlib
import re
from pathlib import Path

import pytest

import nameplate

from .linear import slow_parts

ROOT = Path(nameplate.__file__).parent
SEARCHING = {"search", "findall", "finditer", "sub", "subn", "split"}
ALWAYS_MATCHING = {"match", "fullmatch", "pattern", "flags", "groups"}
FLAGS = {"VERBOSE", "IGNORECASE", "I", "DOTALL", "MULTILINE"}


def modules():
    """The path, the module and the syntax tree of each module with expressions."""
    for path in sorted(ROOT.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if re.search(r"\bre\b", text) and path.name != "__main__.py":
            name = ".".join((ROOT.name, *path.relative_to(ROOT).with_suffix("").parts)).removesuffix(".__init__")
            yield path, importlib.import_module(name), ast.parse(text)


def is_of_re(node):
    return (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and ast.unparse(node.func.value) == "re"
        and node.func.attr != "escape"
    )


def names_of_patterns(tree):
    """Names that a module gives to expressions, and the calls that make them."""
    return {
        node.targets[0].id: node.value
        for node in tree.body
        if isinstance(node, ast.Assign) and is_of_re(node.value) and node.value.func.attr == "compile"
    }


def written(call):
    """The expression of a call; what is put into it, which `re.escape` makes plain letters, counts as one of those."""
    expression = call.args[0]
    parts = expression.values if isinstance(expression, ast.JoinedStr) else [expression]
    put_in = [ast.unparse(part.value) for part in parts if isinstance(part, ast.FormattedValue)]
    plain = all(isinstance(part, ast.Constant | ast.FormattedValue) for part in parts)
    if not plain or not all(text.startswith("re.escape(") for text in put_in):
        return None
    flags = {node.attr for node in ast.walk(call) if isinstance(node, ast.Attribute)} & FLAGS
    values = (part.value if isinstance(part, ast.Constant) else "x" for part in parts)
    text = "".join(value.decode("latin-1") if isinstance(value, bytes) else value for value in values)
    return re.compile(text, sum((getattr(re, flag) for flag in flags), re.NOFLAG))


def ways(module, tree):
    """Each place where a pattern of the module, or one that it imports, is used: line, pattern, whether it is searched.

    One that is handed on, or made within a function and kept, counts as searched.
    """
    named = {name for name, value in vars(module).items() if isinstance(value, re.Pattern)}
    made = set(map(id, names_of_patterns(tree).values()))
    owners = {id(node.value): node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    for node in ast.walk(tree):
        if is_of_re(node) and id(node) not in made:
            yield node.lineno, written(node), node.func.attr in {*SEARCHING, "compile"}
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in named:
            yield node.lineno, getattr(module, node.id), owners.get(id(node)) not in ALWAYS_MATCHING


@pytest.fixture(scope="module")
def uses():
    """Each use of a pattern, by its module and line: the pattern, and whether it is searched."""
    return {
        (path.relative_to(ROOT).as_posix(), line, getattr(pattern, "pattern", None), search): (pattern, search)
        for path, module, tree in modules()
        for line, pattern, search in ways(module, tree)
    }


def test_every_pattern_is_linear_as_it_is_used(uses):
    unread = [where for where, (pattern, _) in uses.items() if pattern is None]
    assert unread == [], "write the expression where it is used, as one text, or give it a name in the module"
    slow = {where: slow_parts(pattern, search=search) for where, (pattern, search) in uses.items()}
    assert {where: parts for where, parts in slow.items() if parts} == {}


def test_no_pattern_is_missed(uses):
    """What a module keeps under a name is used by that name; no module gives `re` or its functions another name."""
    used = {id(pattern) for pattern, _ in uses.values()}
    for path, module, tree in modules():
        assert not [n for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.module == "re"], path
        assert not [n for n in ast.walk(tree) if isinstance(n, ast.alias) and n.name == "re" and n.asname], path
        for name in names_of_patterns(tree):
            assert id(getattr(module, name)) in used, f"{path.name}: {name}"
    assert len(uses) >= 50
