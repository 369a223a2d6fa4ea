import re
from pathlib import Path

import pytest

from nameplate.nest.layout import placed
from nameplate.nest.verify import too_near
from tests.benchmarks.__main__ import print_nests
from tests.benchmarks.packing import BEST_KNOWN, published_layout, read_problem, run, solve

# the data sets of ESICUP (CC0): pieces, published lengths and layouts with coordinates
DATA = Path(__file__).parents[3] / "shared/data"
needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the packing data files are not beside the project")

#: Published lengths of complete layouts: Gomes and Oliveira, EJOR 171 (2006).
LENGTHS = {"shapes0": 60.0, "shapes1": 56.0, "fu": 31.333, "marques": 78.48, "albano": 9957.4, "blaz": 25.839}


def overlap_share(problem, number):
    """The overlaps our collision test finds in a published layout, as a share of the pieces' area."""
    layout, pieces = published_layout(problem, number, mirror_y=problem.name == "shapes0")
    regions = [placed(p, at) for p, at in zip(pieces, layout.sheets[0].placements, strict=True)]
    return sum(-apart for _, _, apart in too_near(regions, 0.0, overlap_share=0.0)) / problem.area


@needs_data
@pytest.mark.parametrize("name", ["fu", "shapes0", "shapes1", "marques", "dighe1", "albano", "blaz"])
def test_published_layouts_are_accepted_except_the_one_that_overlaps(name):
    problem = read_problem(DATA / f"{name}.json")
    assert problem.published
    for number, row in enumerate(problem.published):
        if name == "marques" and row["Algorithm"] == "Beam Search":
            # this published layout really overlaps, by 1.0e-4 of the pieces' area
            assert overlap_share(problem, number) == pytest.approx(1.01e-4, rel=0.02)
        else:
            assert overlap_share(problem, number) <= 1e-5, row["Algorithm"]


@needs_data
@pytest.mark.parametrize("name", ["fu", "shapes1", "jakobs1"])
def test_our_nests_are_correct_and_not_denser_than_the_best_known(name):
    row = solve(read_problem(DATA / f"{name}.json"))
    assert row.faults == 0
    assert row.density <= BEST_KNOWN[name]
    assert row.density > 0.7 * BEST_KNOWN[name]
    assert row.length >= 0.95 * LENGTHS.get(name, 0.0)


def test_an_empty_folder_gives_no_rows(tmp_path):
    assert run(tmp_path) == ()


def test_the_series_of_nests_tells_sheets_time_and_memory(capsys):
    print_nests([3], workers=1)
    (line,) = capsys.readouterr().out.splitlines()
    assert re.match(r" +3 names +1 sheets \(boxes +1\) +density 0\.\d+ .* a sheet, .* ms a name", line)
