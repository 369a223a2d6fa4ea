"""What is scored on a template, measured on the lines themselves."""

import numpy as np
import pytest
import shapely

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.jig.labels import MARGIN, place_labels
from nameplate.jig.placing import FreePlaces

OUTLINE = rg.rectangle(0, 0, 110, 80)
WINDOW = rg.rectangle(20, 20, 90, 50)


def boxes(lines):
    """The upright boxes (x0, y0, x1, y1) of lines that belong together: those that touch."""
    joined = shapely.get_parts(shapely.union_all([shapely.LineString(line).buffer(0.05) for line in lines]))
    return [np.add(part.bounds, (0.05, 0.05, -0.05, -0.05)) for part in joined]


def test_all_lines_keep_their_distance_from_window_and_edge():
    labels = place_labels(OUTLINE, WINDOW, ("007 WREN", "007"))
    assert labels.missing == ()
    free = rg.difference(rg.offset(OUTLINE, -MARGIN), rg.offset(WINDOW, MARGIN))
    for line in labels.lines:
        assert shapely.covers(free.buffer(1e-6), shapely.LineString(line))


def test_the_arrow_points_up_and_is_taller_than_wide():
    *_, shaft, head, _ = place_labels(OUTLINE, WINDOW, ("007",)).lines
    assert shaft[:, 0].tolist() == [shaft[0, 0]] * 2 and np.ptp(shaft[:, 1]) == pytest.approx(6.0)
    assert head[1] == pytest.approx(shaft[:, 1].max() * np.array([0, 1]) + [shaft[0, 0], 0])
    assert np.ptp(head[:, 0]) == pytest.approx(3.6) and head[0, 1] == head[2, 1] == pytest.approx(head[1, 1] - 3.0)


def test_the_check_bar_is_ten_millimetres_long():
    bar = place_labels(OUTLINE, WINDOW, ("007",)).lines[-1]
    assert np.ptp(bar, axis=0) == pytest.approx((10.0, 1.5))


def test_the_name_comes_down_to_its_id_and_the_id_to_two_millimetres():
    def height(outline):
        labels = place_labels(outline, rg.EMPTY, ("007 WREN ABARA", "007"))
        return None if "label" in labels.missing else max(box[3] - box[1] for box in boxes(labels.lines[:3]))

    wide, low = rg.rectangle(0, 0, 90, 20), rg.rectangle(0, 0, 90, 6.2)
    assert height(wide) == pytest.approx(3.0, abs=0.01)
    assert height(low) == pytest.approx(2.25, abs=0.01)
    assert height(rg.rectangle(0, 0, 11, 5.8)) == pytest.approx(2.0, abs=0.01)
    assert height(rg.rectangle(0, 0, 11, 4.8)) is None


def test_a_name_in_letters_that_cannot_be_drawn_is_left_to_its_id():
    def drawn(*texts):
        return [line.tolist() for line in place_labels(OUTLINE, WINDOW, texts).lines]

    assert drawn("010 Γιώργος", "010") == drawn("010") != drawn("010 Wren", "010")


def test_a_text_stands_in_the_middle_of_the_face():
    lines = place_labels(rg.rectangle(-55, -40, 55, 40), rg.rectangle(-35, -20, 35, 10), ("007 WREN",)).lines[:-3]
    xs = np.concatenate(lines)[:, 0]
    assert (xs.min() + xs.max()) / 2 == pytest.approx(0, abs=1)


@pytest.mark.parametrize("closed", [(-99.0, -99.0, 20.0, 99.0), (-99.0, -99.0, 99.0, 5.0), (10.0, -99.0, 99.0, 99.0)])
def test_a_rectangle_that_reaches_beyond_the_free_room_closes_all_that_it_covers_of_it(closed):
    free = FreePlaces(rg.rectangle(0, 0, 40, 20))
    free.close(Box(*closed))
    lattice = free._lattice
    rows, columns = np.nonzero(lattice.inside)
    x, y = lattice.x0 + columns * lattice.step, lattice.y0 + rows * lattice.step
    x0, y0, x1, y1 = closed
    assert len(x) and not ((x0 <= x) & (x <= x1) & (y0 <= y) & (y <= y1)).any()
    box = free.take(6, 6)
    assert (box.width, box.height) == (6, 6)
    assert box.x0 >= x1 or box.x1 <= x0 or box.y0 >= y1 or box.y1 <= y0


def test_a_label_beside_a_shape_lies_as_near_as_there_is_room():
    free, shape = FreePlaces(rg.rectangle(-40, -30, 40, 30)), rg.rectangle(20, 10, 24, 12)
    free.close(Box(18, 8, 26, 14))
    found = list(free.near(4, 2, shape, 5))
    apart = [rg.distance(shape, rg.rectangle(*box)) for box in found]
    assert len(found) > 10 and apart[0] == pytest.approx(2, abs=0.5) and max(apart) <= 5


def test_labels_lie_apart():
    lines = place_labels(OUTLINE, WINDOW, ("007 WREN", "007")).lines
    text, arrow, bar = (shapely.MultiLineString(list(some)) for some in (lines[:-3], lines[-3:-1], lines[-1:]))
    assert min(shapely.distance(a, b) for a, b in ((text, arrow), (text, bar), (arrow, bar))) > 0.4


def test_without_room_all_is_missing():
    labels = place_labels(rg.rectangle(0, 0, 4, 4), rg.EMPTY, ("1",))
    assert labels.lines == () and labels.missing == ("label", "arrow")


def test_the_first_place_beside_a_shape_is_the_nearest_of_all_on_the_lattice():
    rng, found = np.random.default_rng(7), 0
    for corner in np.array([(0, 0), (30, 40), (-30, -40), (30, -40), (-30, 40), (0, 0)]):
        at = np.stack(np.meshgrid(*(np.arange(0, 14, 0.5) + low for low in corner)), axis=-1)
        sides = [(0, 0, 8.25, 6.25), *(np.sort(rng.integers(0, 11, (2, 2, 2)), axis=1).reshape(2, 4) + 0.25)]
        allowed = rg.moved(rg.union(*(rg.rectangle(x0, y0, x1 + 2, y1 + 2) for x0, y0, x1, y1 in sides)), *corner)
        free = at[
            shapely.covers(allowed, shapely.box(*np.moveaxis(at, -1, 0), *np.moveaxis(np.add(at, (4, 2)), -1, 0)))
        ]
        low = rng.integers(-4, 8, 2) + corner
        # from the middles of these boxes of 4 x 2 to a rectangle of 3 x 2
        far = np.hypot(*np.maximum(abs(free - low + (0.5, 0)) - (1.5, 1), 0).T)
        for reach in (3, 100):
            first = next(FreePlaces(allowed).near(4, 2, rg.rectangle(*low, *np.add(low, (3, 2))), reach), None)
            if far.min() <= reach:
                assert far[(free == first[:2]).all(axis=1)].tolist() == pytest.approx([far.min()])
                found += 1
    assert found > 8


def test_the_check_bar_is_an_upright_bracket():
    bar = place_labels(OUTLINE, WINDOW, ("007",)).lines[-1]
    assert bar - bar.min(axis=0) == pytest.approx(np.array([(0, 1.5), (0, 0), (10, 0), (10, 1.5)]))
