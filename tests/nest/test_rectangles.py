import json
from itertools import combinations
from pathlib import Path

import pytest

from nameplate.geometry.region import intersection, rectangle
from nameplate.nest.layout import Layout, placed
from nameplate.nest.rectangles import pack_boxes
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify
from tests.nest.letters import piece

QUARTERS = (0.0, 90.0)


def pieces_of_sizes(sizes):
    return [piece(str(i), rectangle(0, 0, w, h)) for i, (w, h) in enumerate(sizes)]


def blank(width, height, rules):
    return with_usable(Blank("lettering", width, height, 0), rules)


def test_boxes_that_tile_a_sheet_exactly_fit_it():
    rules = Rules(gap=1.5, edge=5)
    pieces = pieces_of_sizes([(20, 10)] * 12)
    sheet = blank(10 + 4 * 20 + 3 * 1.5, 10 + 3 * 10 + 2 * 1.5, rules)
    packed = pack_boxes(pieces, [sheet], rules)
    assert packed.left == ()
    assert verify(Layout((sheet.sheet(packed.placements[0]),)), pieces, rules) == ()


def test_boxes_whose_corners_lie_between_units_never_overlap_by_rounding():
    rules = Rules(gap=0, edge=0)
    third = 1 / 3
    pieces = [piece(str(i), rectangle(third, third, 10 + third, 5 + third)) for i in range(8)]
    packed = pack_boxes(pieces, [blank(20.1, 20.1, rules)], rules)
    assert packed.left == ()
    lying = [placed(own, at) for own, at in zip(pieces, packed.placements[0], strict=True)]
    assert max(intersection(a, b).area for a, b in combinations(lying, 2)) == pytest.approx(0, abs=1e-9)


def test_what_finds_no_place_is_left_over():
    rules = Rules(gap=0, edge=0)
    packed = pack_boxes(pieces_of_sizes([(10, 10)] * 3), [blank(10, 20, rules)], rules)
    assert len(packed.placements[0]) == 2
    assert len(packed.left) == 1


@pytest.mark.parametrize("turns", [(0.0, 90.0), (90.0, 180.0), (0.0, 270.0)])
def test_boxes_lie_both_ways_where_turns_a_quarter_apart_are_allowed(turns):
    # three lie on one another and the fourth stands beside them: neither way alone has room for more than three
    rules = Rules(gap=0, edge=0, turns=turns)
    packed = pack_boxes(pieces_of_sizes([(20, 10)] * 4), [blank(30, 30, rules)], rules)
    assert packed.left == ()
    assert len({at.turn % 180 for at in packed.placements[0]}) == 2


@pytest.mark.parametrize("name", ["C1P1", "C2P1", "C3P1"])
def test_hopper_and_turtons_rectangles_never_pack_below_their_optimum(name):
    # Hopper and Turton, EJOR 128 (2001) 34-57: the optimal heights are known by construction
    path = Path(__file__).parents[3] / "shared/data/hopper_turton_C1_C4.json"
    if not path.exists():
        pytest.skip("the packing data files are not beside the project")
    (instance,) = [i for i in json.loads(path.read_text(encoding="utf-8"))["instances"] if i["name"] == name]
    pieces = pieces_of_sizes(instance["rects"])
    rules = Rules(gap=0, edge=0, turns=QUARTERS)
    optimum, width = instance["optimal_height"], instance["strip_width"]
    for height, whole in ((optimum - 1, False), (1.5 * optimum, True)):
        sheet = blank(width, height, rules)
        packed = pack_boxes(pieces, [sheet], rules)
        assert (packed.left == ()) == whole
        lying = [p for i, p in enumerate(pieces) if i not in packed.left]
        assert verify(Layout((sheet.sheet(packed.placements[0]),)), lying, rules) == ()
