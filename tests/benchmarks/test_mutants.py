import os
import textwrap
from pathlib import Path

import pytest

if not hasattr(os, "fork"):
    pytest.skip("mutants are tried in forks", allow_module_level=True)

from .mutants import Reach, mutants_of, reach, tried

SOURCE = '"""A module."""\n\nLEAST = 0.5\n\n\ndef far(x, *, wide=True):\n    return x > LEAST and not wide\n'
MODULE = Path("nameplate/room/a.py")
TEST = """
    import pytest
    from nameplate.room.a import far

    @pytest.fixture(scope="module")
    def shared():
        return far(1, wide=False)

    def test_far(shared):
        assert far(1, wide=False) and not far(1) and not far(0.5, wide=False)

    def test_nothing():
        pass
"""


@pytest.fixture
def tree(tmp_path):
    tree = tmp_path / "tree"
    for path, text in (MODULE, SOURCE), (Path("tests/room/test_a.py"), textwrap.dedent(TEST)):
        (tree / path).parent.mkdir(parents=True)
        (tree / path).write_text(text, encoding="utf-8")
    return tree


def test_every_operator_and_number_is_changed_where_it_stands():
    mutants = mutants_of(Path("a.py"), SOURCE)
    assert [m.text for m in mutants] == ["(0.75)", "(False)", "(x > LEAST or not wide)", "(x >= LEAST)", "(wide)"]
    assert mutants[3].applied(SOURCE) == SOURCE.replace("x > LEAST", "(x >= LEAST)")
    for mutant in mutants:
        compile(mutant.applied(SOURCE), "a.py", "exec")


def test_a_change_counts_as_noticed_only_where_a_test_fails(tree):
    reached = Reach({"tests/room/test_a.py::test_far": 0.1}, set(), {MODULE.as_posix(): {7: {"tests/room/test_a.py"}}})
    states = [tried(tree, mutant, reached)[0] for mutant in mutants_of(MODULE, SOURCE)[::2]]
    assert states == ["ALIVE", "noticed", "noticed"]
    assert (tree / MODULE).read_text(encoding="utf-8") == SOURCE


def test_the_tests_that_run_are_those_that_reach_the_change(tree):
    found = reach(tree, "room")
    assert {*found.seconds} == {"tests/room/test_a.py::test_far", "tests/room/test_a.py::test_nothing"}
    own = Reach(found.seconds, set(), {MODULE.as_posix(): {7: {"tests/room/test_a.py::test_far"}}})
    for mutant in mutants_of(MODULE, SOURCE):  # a constant, a default and a body
        assert own.tests(tree, mutant) == ["tests/room/test_a.py::test_far"]
        assert found.tests(tree, mutant) == [*found.seconds]  # for what the file's tests share is made by it, too
        assert not Reach(found.seconds, set(), {}).tests(tree, mutant)


def test_a_test_that_reads_a_constant_itself_may_feel_its_change(tree):
    say = "from nameplate.room import a\n\n\ndef test_least():\n    assert a.LEAST == 0.5\n"
    (tree / "tests/room/test_least.py").write_text(say, encoding="utf-8")
    reached = Reach({"tests/room/test_least.py::test_least": 0.1, "tests/room/test_a.py::test_far": 0.1}, set(), {})
    least, wide, *_ = mutants_of(MODULE, SOURCE)
    assert reached.tests(tree, least) == ["tests/room/test_least.py::test_least"]
    assert reached.tests(tree, wide) == []
