"""The places of a wall against an independent transform, in exact arithmetic."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.geometry.box import Box
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.grid import make_grid, place_name
from tests.wall.walls import wall

CELL = Box(-55, -40, 55, 40)


def from_the_corner(keys, row, column):
    """A place from the wall's lower left corner: margins first, then steps, as one would walk along a tape."""
    across, up = (Fraction(str(v)) for v in keys.pitch)
    aside = Fraction(str(keys.stagger)) * across
    span = (keys.columns - 1) * across + aside
    left = (Fraction(str(keys.width)) - span) / 2
    bottom = (Fraction(str(keys.height)) - (keys.rows - 1) * up) / 2
    return left + column * across + (aside if row % 2 else 0), bottom + (keys.rows - 1 - row) * up


def times(matrix, x, y):
    (a, b, c), (d, e, f) = matrix
    return a * x + b * y + c, d * x + e * y + f


def test_a_staggered_wall_of_ten_by_ten_agrees_with_an_independent_transform():
    keys = wall()
    # an affine map from the corner to the datums: the wall's middle is where the lines cross
    to_datums = ((1, 0, -Fraction(3600) / 2), (0, 1, -Fraction(1800) / 2))
    places = make_grid(keys, CELL).places
    assert len(places) == 100
    for place in places:
        x, y = times(to_datums, *from_the_corner(keys, place.row, place.column))
        assert (Fraction(place.x), Fraction(place.y)) == (x, y), place
    assert [p.name for p in places[:11]] == [*(f"A{k}" for k in range(1, 11)), "B1"]
    # by hand: ten places take 2700 mm and the other row stands 150 aside, so A1 is 1425 left, B1 1275 left; 675 up
    assert [(p.x, p.y) for p in (places[0], places[10], places[99])] == [(-1425, 675), (-1275, 525), (1425, -675)]


def test_rows_are_named_like_the_columns_of_a_spreadsheet():
    letters = [chr(65 + k) for k in range(26)]
    names = [*letters, *(a + b for a in letters for b in letters)]
    assert [place_name(row, 4) for row in range(200)] == [f"{name}5" for name in names[:200]]


def test_lines_that_are_not_in_the_middle_take_the_grid_with_them_and_leave_the_wall_where_it_is():
    grid = make_grid(wall(centre=1500.0, level=1400.0, above_floor=500.0), CELL)
    assert grid.wall == Box(-1500, -900, 2100, 900)
    assert grid.floor == -1400
    assert (grid.places[0].x, grid.places[0].y) == (-1425, 675)


def test_a_wall_too_high_for_the_level_line_in_its_middle_stands_on_the_floor():
    assert make_grid(wall(height=4000.0, pitch=(300.0, 300.0)), CELL).wall == Box(-1800, -1500, 1800, 2500)


def spaces(keys, row, grid):
    """The spaces of one row from edge to edge: wall, plates, wall."""
    xs = sorted(place.x for place in grid.places if place.row == row)
    plates = [(x + grid.cell.x0, x + grid.cell.x1) for x in xs]
    ends = [grid.wall.x0, *(v for plate in plates for v in plate), grid.wall.x1]
    return [b - a for a, b in zip(ends[::2], ends[1::2], strict=True)]


@given(
    st.integers(1, 8), st.integers(1, 8), st.floats(0, 0.9), st.floats(1000, 4000), st.floats(800, 2500), st.booleans()
)
def test_a_wall_that_is_filled_evenly_has_the_same_space_everywhere(columns, rows, stagger, width, height, off):
    keys = WallKeys(
        width=width,
        height=height,
        columns=columns,
        rows=rows,
        fit=True,
        stagger=stagger,
        centre=width / 3 if off else None,
    )
    grid = make_grid(keys, CELL)
    first = spaces(keys, 0, grid)
    assert first[:-1] == pytest.approx([first[0]] * (len(first) - 1), abs=1e-4)
    # the other row ends where the first has room for it, and begins where that begins
    last = spaces(keys, 1, grid) if rows > 1 else first
    assert last[-1] == pytest.approx(first[0], abs=1e-4)
    ys = sorted({place.y for place in grid.places})
    down = [
        grid.wall.y1 - ys[-1] - 40,
        *(b - a - 80 for a, b in pairwise(ys)),
        ys[0] - 40 - grid.wall.y0,
    ]
    assert down == pytest.approx([down[0]] * len(down), abs=1e-4)


@given(st.integers(1, 12), st.integers(1, 12), st.floats(0, 0.99), st.floats(110, 400), st.floats(80, 300))
def test_plates_no_larger_than_the_pitch_never_lie_over_one_another(columns, rows, stagger, across, up):
    keys = wall(columns=columns, rows=rows, stagger=stagger, pitch=(across, up))
    places = make_grid(keys, CELL).places
    assert len(places) == columns * rows
    for k, a in enumerate(places):
        for b in places[:k]:
            assert abs(a.x - b.x) >= 110 - 1e-5 or abs(a.y - b.y) >= 80 - 1e-5


def test_places_in_a_keep_out_are_shut_and_those_beside_it_are_not():
    # the middle of the lowest row: its places are at -75 and 225, 225 mm above the wall's lower edge
    keys = wall(keep_out=((1700.0, 150.0, 200.0, 100.0),))
    grid = make_grid(keys, CELL)
    assert [place.name for place in grid.shut] == ["J5"]
    assert len(grid.places) == 99
    touching = make_grid(wall(keep_out=((1800.0 - 75 + 55, 0.0, 90.0, 1800.0),)), CELL)
    assert "J5" not in [place.name for place in touching.shut]


def test_a_hole_outside_its_face_is_kept_out_too():
    box = ((1800.0 - 85, 900.0 - 675 + 60, 20.0, 20.0),)
    assert not make_grid(wall(keep_out=box), CELL).shut
    assert [p.name for p in make_grid(wall(keep_out=box), CELL, ((0.0, 70.0),)).shut] == ["J5"]
