import textwrap
from pathlib import Path

from .mutants import mutants_of, tried

SOURCE = '"""A module."""\n\nLEAST = 0.5\n\n\ndef far(x, *, wide=True):\n    return x > LEAST and not wide\n'


def test_every_operator_and_number_is_changed_where_it_stands():
    mutants = mutants_of(Path("a.py"), SOURCE)
    assert [m.text for m in mutants] == ["(0.75)", "(False)", "(x > LEAST or not wide)", "(x >= LEAST)", "(wide)"]
    assert mutants[3].applied(SOURCE) == SOURCE.replace("x > LEAST", "(x >= LEAST)")
    for mutant in mutants:
        compile(mutant.applied(SOURCE), "a.py", "exec")


def test_a_change_counts_as_noticed_only_where_a_test_fails(tmp_path):
    (tmp_path / "nameplate" / "room").mkdir(parents=True)
    (tmp_path / "tests" / "room").mkdir(parents=True)
    module = Path("nameplate/room/a.py")
    (tmp_path / module).write_text(SOURCE, encoding="utf-8")
    test = """
        import runpy
        def test_far():
            far = runpy.run_path("nameplate/room/a.py")["far"]
            assert far(1, wide=False) and not far(1) and not far(0.5, wide=False)
    """
    (tmp_path / "tests" / "room" / "test_a.py").write_text(textwrap.dedent(test), encoding="utf-8")
    mutants = mutants_of(module, SOURCE)
    assert [tried(tmp_path, mutants[k], "room") for k in (0, 3)] == ["ALIVE", "noticed"]
    assert (tmp_path / module).read_text(encoding="utf-8") == SOURCE
