"""Mutants of the package: does any test notice when one operator or number of a room's code is changed?

`python -m tests.benchmarks.mutants --rooms cut jig roster --sample 30` copies the tree, changes one place at a time,
drawn at random, and runs the tests of its room. A mutant that no test feels is told; either a test is missing there, or
the code does nothing, or the change makes no difference.

How: all tests of the rooms run once, under coverage, which says what test reaches which line. One process then
loads the libraries that they used and forks for each mutant; there the module's doctests run, then the tests that reach
its line, those of the quickest file first, until one fails.

Why it is our own: mutmut (BSD) takes no sample and knows only names of functions; cosmic-ray (MIT) changes the working
tree itself and starts anew for each mutant. Known limits: places in f-strings and decorators are left alone; a test is
thought not to reach what it has from a cache that another one filled; needs a system that can fork.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import contextlib
import importlib
import json
import os
import py_compile
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
import types
from collections import Counter, defaultdict
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

import coverage
import psutil
import pytest

ROOT = Path(__file__).parents[2]

#: CPU seconds that tests of a mutant may take: so much, and so often what they took without it. Those that take longer,
#: as in an endless loop, are late.
LIMIT_S, LIMIT_TIMES = 30.0, 4.0

LEAST_S = 0.05  # CPU seconds of other processes by which a test counts as one whose work they do

FAULT = 99  # exit code of a fork that failed before pytest began

LOADED = ("-W", "ignore::pytest.PytestAssertRewriteWarning")  # plugins of pytest are among what is loaded before

MEMORY = 3 << 30  # bytes; a mutant that asks for more gets a MemoryError

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


@dataclass(frozen=True, slots=True)
class Reach:
    """What the tests of a room did without a mutant."""

    #: CPU seconds of each test, in the order in which they ran.
    seconds: dict[str, float]
    #: Tests whose work was done by other processes, which coverage does not see.
    elsewhere: set[str]
    #: Tests by module and line; a test file where what its tests share was made there.
    lines: dict[str, dict[int, set[str]]]

    def tests(self, tree: Path, mutant: Mutant) -> list[str]:
        """Give the tests that may feel a mutant: the quickest file first."""
        found = set(self.elsewhere)
        for path, line in _felt_at(tree, mutant):
            found.add(path)  # where that is a test file
            lines = self.lines.get(path, {})
            by = lines.get(line)
            found |= set().union(*lines.values()) if by == set() else by or set()  # at the top of a module no test is
        tests = [test for test in self.seconds if not found.isdisjoint((test, _file(test)))]
        seconds = defaultdict[str, float](float)
        for test in tests:
            seconds[_file(test)] += self.seconds[test]
        return sorted(tests, key=lambda test: seconds[_file(test)])


def _felt_at(tree: Path, mutant: Mutant) -> Iterator[tuple[str, int]]:
    """Give the lines that a test has to reach to feel a mutant, each with its module.

    They are those of its statement in a function's body, the body for a default, and for what has a name at the top of
    a module or class all that say this name, in tests, too; else the whole module.
    """
    module, start = ast.parse((tree / mutant.path).read_text(encoding="utf-8")), mutant.start[0]
    around = [n for n in ast.walk(module) if isinstance(n, ast.stmt) and n.lineno <= start <= (n.end_lineno or 0)]
    inner, path = around[-1], mutant.path.as_posix()
    first, last, name = 1, module.body[-1].end_lineno or 1, ""
    match inner:
        case ast.FunctionDef():
            first, last = inner.body[0].lineno, inner.end_lineno or 1
        case _ if any(isinstance(statement, ast.FunctionDef) for statement in around):
            first, last = inner.lineno, mutant.end[0]
        case ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name)):
            own = range(inner.lineno, (inner.end_lineno or 0) + 1)
            for other in chain((tree / "nameplate").rglob("*.py"), (tree / "tests").rglob("*.py")):
                at = other.relative_to(tree)
                for line, text in enumerate(other.read_text(encoding="utf-8").splitlines(), 1):
                    if re.search(rf"\b{name}\b", text) and not (
                        (at == mutant.path and line in own) or "import " in text
                    ):
                        yield at.as_posix(), line
    if not name:
        yield from ((path, line) for line in range(first, last + 1))


def _file(test: str) -> str:
    return test.split("::")[0]


class _Watch:
    """A plugin of pytest: coverage and CPU seconds of each test."""

    def __init__(self, data: Path, tree: Path) -> None:
        self.coverage = coverage.Coverage(str(data), include=[f"{tree}/nameplate/*"], config_file=False)
        self.own: dict[str, float] = {}
        self.others: dict[str, float] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        own, others = time.process_time(), _others_s()
        try:
            return (yield)
        finally:
            self.own[item.nodeid] = time.process_time() - own
            self.others[item.nodeid] = _others_s() - others

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        self.coverage.switch_context(_file(item.nodeid))

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_call(self, item: pytest.Item) -> None:
        self.coverage.switch_context(item.nodeid)


def _others_s() -> float:
    """Give CPU seconds of the processes that this one has started."""
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = ended.ru_utime + ended.ru_stime
    for process in psutil.Process().children(recursive=True):
        with contextlib.suppress(psutil.Error):
            seconds += sum(process.cpu_times()[:2])
    return seconds


def reach(tree: Path, room: str) -> Reach:
    """Run all tests of a room once, and load here what libraries they loaded.

    Raises:
        SystemExit: when one fails.
    """
    # by digest, not by time: a mutant is written within the same second as the source before it
    compileall.compile_dir(tree / "nameplate", quiet=2, invalidation_mode=py_compile.PycInvalidationMode.CHECKED_HASH)
    data, told = tree.parent / "coverage", tree.parent / "seconds.json"

    def measure() -> int:
        watch = _Watch(data, tree)
        watch.coverage.start()
        code = _tests([f"tests/{room}"], watch)
        watch.coverage.stop()
        watch.coverage.save()
        told.write_text(json.dumps([watch.own, watch.others, list(sys.modules)]), encoding="utf-8")
        return code

    if _forked(tree, measure)[0]:
        raise SystemExit(_said(tree))
    own, others, modules = json.loads(told.read_text(encoding="utf-8"))
    for name in modules:
        if name.split(".")[0] not in ("nameplate", "tests", "__main__", "__mp_main__"):
            with contextlib.suppress(Exception):
                importlib.import_module(name)
    found = coverage.CoverageData(str(data))
    found.read()
    lines = {
        Path(path).relative_to(tree).as_posix(): {
            line: {*tests} - {""} for line, tests in found.contexts_by_lineno(path).items()
        }
        for path in found.measured_files()
    }
    seconds = {test: own[test] + others[test] for test in own}
    return Reach(seconds, {test for test in others if others[test] > LEAST_S}, lines)


def _tests(arguments: Sequence[str], *plugins: object) -> int:
    return int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *LOADED, *arguments], plugins=plugins))


def _forked(tree: Path, work: Callable[[], int], limit_s: int = resource.RLIM_INFINITY) -> tuple[int, float]:
    """Do work in a fork that stands in the tree and has loaded nothing of the package.

    Returns:
        its exit code, or the signal that it ended by, below 0; and the CPU seconds that it took.
    """
    sys.stdout.flush()
    child = os.fork()
    if not child:
        try:
            os.setsid()  # its workers end with it
            os.chdir(tree)
            output = os.open(tree.parent / "said.txt", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(output, 1), os.dup2(output, 2)
            resource.setrlimit(resource.RLIMIT_CPU, (limit_s, resource.RLIM_INFINITY))
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            for name in [name for name in sys.modules if name.split(".")[0] in ("nameplate", "tests")]:
                del sys.modules[name]
            sys.modules["__main__"] = types.ModuleType("__main__")  # workers of a pool would load ours
            sys.path[:] = [str(tree), *(path for path in sys.path if Path(path).resolve() != ROOT)]
            os.environ.update(PYTHONPATH=str(tree), CI="1")  # CI: hypothesis tries the same twice
            code = work()
        except BaseException:
            traceback.print_exc()
            code = FAULT
        finally:
            sys.stdout.flush(), sys.stderr.flush()
            os._exit(code)
    _, status, used = os.wait4(child, 0)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime


def _said(tree: Path) -> str:
    return (tree.parent / "said.txt").read_text(encoding="utf-8", errors="replace")


def tried(tree: Path, mutant: Mutant, reached: Reach) -> tuple[str, str]:
    """Run the module's doctests and what tests may feel a change on a copy of the tree with it.

    Returns:
        "noticed", "late" or "ALIVE", and a line that tells what was changed, which test failed, and the CPU seconds.
    """
    path, tests = tree / mutant.path, reached.tests(tree, mutant)
    limit_s = LIMIT_S + LIMIT_TIMES * sum(reached.seconds[test] for test in tests)
    source = path.read_text(encoding="utf-8")
    path.write_text(mutant.applied(source), encoding="utf-8")
    try:
        code, seconds = _forked(
            tree, lambda: _tests(["--doctest-modules", mutant.path.as_posix(), *tests]), int(limit_s)
        )
    finally:
        path.write_text(source, encoding="utf-8")
    if code in (pytest.ExitCode.INTERNAL_ERROR, pytest.ExitCode.USAGE_ERROR, FAULT):
        raise SystemExit(_said(tree))
    alive = code in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)
    state = "ALIVE" if alive else "late" if code == -signal.SIGXCPU else "noticed"
    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", _said(tree), re.MULTILINE)
    line = source.splitlines()[mutant.start[0] - 1].strip()
    what = f"{state:7} {mutant.path.as_posix()}:{mutant.start[0]} {mutant.text}   # {line}"
    return state, f"{what}   <- {len(tests)} tests, {seconds:.1f} s {failed[1] if failed else ''}".rstrip()


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
    states = Counter[str]()
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder).resolve() / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".*", "__pycache__", "out", "build"))
        for room in options.rooms:
            reached = reach(tree, room)
            for mutant in (mutant for its_room, mutant in sample if its_room == room):
                state, told = tried(tree, mutant, reached)
                states[state] += 1
                print(told, flush=True)
    print(f"{states['ALIVE']} of {len(sample)} mutants alive, of {len(every)} possible in {', '.join(options.rooms)}")
    return int(states["ALIVE"] > 0)


if __name__ == "__main__":
    sys.exit(main())
