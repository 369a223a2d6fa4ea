"""Mutants of the package: does any test notice when one operator or number of a room's code is changed?

`python -m tests.benchmarks.mutants --rooms cut jig roster --sample 30` copies the tree, changes one place at a time,
drawn at random, and runs the tests of its room: first those of the module, then all of the room's. A mutant that no
test feels is told; either a test is missing there, or the code does nothing, or the change makes no difference.

Why it is our own: mutmut (BSD) runs all tests once to learn which of them reach what, and takes no sample; cosmic-ray
(MIT) changes the working tree itself. Known limit: places in f-strings and decorators are left alone.
"""

from __future__ import annotations

import argparse
import ast
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]

LIMIT_S = 1200.0  # for the tests of one mutant; one that takes longer, as in an endless loop, is late

#: What stands in for each operator.
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: lines and columns (bytes) of what is replaced, and by what."""

    path: Path
    start: tuple[int, int]
    end: tuple[int, int]
    text: str

    def applied(self, source: str) -> str:
        """Give the source with the change."""
        lines = source.encode("utf-8").splitlines(keepends=True)
        head = b"".join(lines[: self.start[0] - 1]) + lines[self.start[0] - 1][: self.start[1]]
        tail = lines[self.end[0] - 1][self.end[1] :] + b"".join(lines[self.end[0] :])
        return (head + self.text.encode("utf-8") + tail).decode("utf-8")


def mutants_of(path: Path, source: str) -> list[Mutant]:
    """Give every change of one operator or number of a module.

    >>> [m.text for m in mutants_of(Path("a.py"), "def f(x): return -x < 2")]
    ['(-x <= 2)', '(x)', '(3)']
    """
    found = []
    for node in _touched(ast.parse(source)):
        for other in _changes(node):
            start, end = (node.lineno, node.col_offset), (node.end_lineno or 0, node.end_col_offset or 0)
            found.append(Mutant(path, start, end, f"({ast.unparse(other)})"))
    return found


def _touched(node: ast.AST) -> Iterator[ast.expr]:
    """Give the expressions that may be changed, outermost first."""
    for name, value in ast.iter_fields(node):
        if name in ("decorator_list", "annotation", "returns") or isinstance(node, ast.JoinedStr):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.keyword) and child.arg == "strict":
                continue  # of zip: its lengths agree, or a test would have failed before
            if isinstance(child, ast.expr):
                yield child
            if isinstance(child, ast.AST):
                yield from _touched(child)


def _changes(node: ast.expr) -> Iterator[ast.expr]:
    match node:
        case ast.Compare(ops=[operator]) if type(operator) in SWAPS:
            yield _with(node, ops=[SWAPS[type(operator)]()])
        case ast.BinOp(op=operator) | ast.BoolOp(op=operator) if type(operator) in SWAPS:
            yield _with(node, op=SWAPS[type(operator)]())
        case ast.UnaryOp(op=ast.USub() | ast.Not(), operand=operand):
            yield operand
        case ast.Constant(value=bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(value=int() as value):
            yield ast.Constant(value + 1)
        case ast.Constant(value=float() as value):
            yield ast.Constant(value * 1.5 if value else 1.0)


def _with(node: ast.expr, **fields: object) -> ast.expr:
    return type(node)(**{name: getattr(node, name) for name in node._fields} | fields)


def tried(tree: Path, mutant: Mutant, room: str) -> str:
    """Say what the room's tests make of a copy of the tree with this change: "noticed", "late" or "ALIVE"."""
    path = tree / mutant.path
    source = path.read_text(encoding="utf-8")
    own = tree / "tests" / Path(*mutant.path.parts[1:-1]) / f"test_{mutant.path.name}"
    path.write_text(mutant.applied(source), encoding="utf-8")
    try:
        for tests in filter(Path.exists, (own, tree / "tests" / room)):
            command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", str(tests)]
            if subprocess.run(command, cwd=tree, capture_output=True, timeout=LIMIT_S).returncode:
                return "noticed"
        return "ALIVE"
    except subprocess.TimeoutExpired:
        return "late"
    finally:
        path.write_text(source, encoding="utf-8")


def main(arguments: Sequence[str] | None = None) -> int:
    """Try a sample; 1 when one was not noticed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.mutants", description=__doc__)
    parser.add_argument("--rooms", nargs="+", required=True, help="folders of the package, like cut or nest/search")
    parser.add_argument("--sample", type=int, default=30, help="changes to try, of all rooms together")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    every = [
        (room, mutant)
        for room in options.rooms
        for path in sorted((ROOT / "nameplate" / room).rglob("*.py"))
        for mutant in mutants_of(path.relative_to(ROOT), path.read_text(encoding="utf-8"))
    ]
    sample = random.Random(options.seed).sample(every, min(options.sample, len(every)))
    alive = 0
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".*", "__pycache__", "out", "build"))
        for room, mutant in sample:
            state = tried(tree, mutant, room)
            alive += state == "ALIVE"
            line = (tree / mutant.path).read_text(encoding="utf-8").splitlines()[mutant.start[0] - 1].strip()
            print(f"{state:7} {mutant.path.as_posix()}:{mutant.start[0]} {mutant.text}   # {line}", flush=True)
    print(f"{alive} of {len(sample)} mutants alive, of {len(every)} possible in {', '.join(options.rooms)}")
    return int(alive > 0)


if __name__ == "__main__":
    sys.exit(main())
