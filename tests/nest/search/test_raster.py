import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from nameplate.geometry.region import from_ring, rectangle
from nameplate.nest.search.raster import part_mask, part_shape, quarter_turned, rasterise


def test_cells_are_those_whose_centres_lie_inside():
    mask = rasterise(from_ring([(0, 0), (3, 0), (0, 3)]), 0, 0, 1, 3, 3)
    assert mask.astype(int).tolist() == [[1, 1, 0], [1, 0, 0], [0, 0, 0]]


def test_a_hole_is_empty():
    ring = from_ring([(0, 0), (9, 0), (9, 9), (0, 9)], [[(3, 3), (6, 3), (6, 6), (3, 6)]])
    mask = rasterise(ring, 0, 0, 1, 9, 9)
    assert int(mask.sum()) == 81 - 9
    assert not mask[4, 4]


def test_parts_of_a_shape_outside_the_grid_do_not_count():
    mask = rasterise(from_ring([(-5, -5), (2, -5), (2, 20), (-5, 20)]), 0, 0, 1, 4, 4)
    assert int(mask.sum()) == 8


@settings(max_examples=30, deadline=None)
@given(st.floats(5, 30), st.floats(5, 30), st.floats(0, 360), st.sampled_from([0.0, 0.75]))
def test_the_cells_have_the_area_of_the_grown_part(width, height, turn, reach):
    # Steiner's formula for the area; each boundary cell may err by less than itself
    part = part_mask(part_shape(rectangle(0, 0, width, height), reach), turn, cell=0.25)
    exact = width * height + 2 * (width + height) * reach + math.pi * reach**2
    edge = 2 * (width + height) + 2 * math.pi * reach
    assert abs(part.cells.sum() * 0.25**2 - exact) < edge * 0.25
    assert part.width <= math.hypot(width, height) + 1e-9


def covered(part):
    """The cells that a mask's squares cover."""
    cells = np.zeros_like(part.cells)
    for side, spots in part.squares:
        for x, y in spots:
            cells[x : x + side, y : y + side] = True
    return cells


def test_squares_cover_the_mask_and_nothing_else():
    part = part_mask(part_shape(from_ring([(0, 0), (30, 0), (30, 5), (5, 25), (0, 25)]), 0.75), 30, cell=0.5)
    assert np.array_equal(covered(part), part.cells)


def test_a_mask_may_lie_between_cells():
    shape = part_shape(rectangle(0, 0, 2, 2), 0.0)
    assert part_mask(shape, 0, cell=1.0).cells.tolist() == [[True, True], [True, True]]
    assert int(part_mask(shape, 0, cell=1.0, shift=(0.6, 0.0)).cells[0].sum()) == 0


@settings(max_examples=30, deadline=None)
@given(st.floats(3, 20), st.floats(3, 20), st.floats(0, 89), st.sampled_from([0.0, 0.75]))
def test_a_mask_turned_by_a_quarter_is_the_one_rasterised_at_that_turn(width, height, turn, reach):
    shape = part_shape(from_ring([(0, 0), (width, 0), (width, height), (width / 3, height / 2)]), reach)
    part = part_mask(shape, turn, cell=0.5)
    for quarter in range(1, 5):
        part = quarter_turned(part)
        other = part_mask(shape, turn + 90 * quarter, cell=0.5)
        assert np.isclose(part.turn, other.turn)
        # a cell whose centre lies on the outline, but for rounding, may go either way
        assert (part.cells != other.cells).sum() <= 2
        assert np.allclose([part.x0, part.y0, *part.shift], [other.x0, other.y0, *other.shift], atol=1e-9)
        assert np.allclose([part.width, part.height, part.centre], [other.width, other.height, other.centre], atol=0.1)
        assert np.array_equal(covered(part), part.cells)


def test_a_part_that_covers_no_cells_middle_has_one_all_the_same_and_others_just_theirs():
    assert part_mask(part_shape(rectangle(0, 0, 0.2, 0.2), 0.0), 0, cell=1.0, shift=(0.0, 0.0)).cells.tolist() == [
        [True]
    ]
    clamp = from_ring([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (3, 2), (3, 3), (0, 3)])
    assert part_mask(part_shape(clamp, 0.0), 0, cell=1.0).cells.sum() == 7


def test_a_part_lies_in_the_middle_of_its_cells_so_that_its_turns_do():
    part = part_mask(part_shape(rectangle(0, 0, 10.2, 4.4), 0.75), 0, cell=0.5)
    assert np.allclose(part.shift, [(12.0 - 11.7) / 2, (6.0 - 5.9) / 2])
