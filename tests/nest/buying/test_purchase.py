import itertools
import random
import subprocess
import sys

import pytest

from nameplate.geometry.region import rectangle
from nameplate.nest.buying import counts
from nameplate.nest.buying import quote as quoting
from nameplate.nest.buying.proof import Proof, prove
from nameplate.nest.buying.purchase import Buyer, cheapest_counts, total_cost
from nameplate.nest.buying.quote import MoreNames, RoomLeft, quote, room_left, typical_plate
from nameplate.nest.groups import GROUP, dealt, pack_groups
from nameplate.nest.layout import Layout, Piece
from nameplate.nest.rectangles import pack_boxes
from nameplate.nest.request import NestRequest
from nameplate.nest.search.budget import NEST
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys

from ..letters import nested, piece, squares, words

RULES = Rules(gap=0, edge=0)
BOXES = NestKeys(engine="rectangle", gap=0, edge_margin=0)


def size(stock, width, height, price):
    return with_usable(Blank("lettering", width, height, stock, price), RULES)


def by_boxes(pieces, blanks, rules, budget):
    return pack_boxes(pieces, blanks, rules)


def buyer(sizes, engine=by_boxes, **more):
    return Buyer(sizes, RULES, engine, **more)


def quoted(layout, pieces, stock, keys, **more):
    return quote(layout, NestRequest(pieces, stock, keys), **more)


def test_the_mix_is_the_cheapest_of_all_that_hold_the_squares():
    # squares of a tenth: a sheet of 20 x 20 holds four of them, one of 30 x 30 nine
    sizes = [size(0, 20, 20, 4.0), size(1, 30, 30, 7.5)]
    pieces = squares(14)
    best = min(4.0 * a + 7.5 * b for a, b in itertools.product(range(5), range(4)) if 4 * a + 9 * b >= len(pieces))
    assert total_cost(buyer(sizes).buy(pieces))[0] == best


@pytest.mark.parametrize("n", [1, 5, 10, 13, 17, 22])
def test_mixes_agree_with_trying_every_combination(n):
    sizes = [size(0, 20, 20, 4.0), size(1, 30, 30, 8.0), size(2, 50, 20, 8.8)]
    holds, prices = (4, 9, 10), (4.0, 8.0, 8.8)
    best = min(
        sum(c * p for c, p in zip(counts, prices, strict=True))
        for counts in itertools.product(range(7), repeat=3)
        if sum(c * h for c, h in zip(counts, holds, strict=True)) >= n
    )
    assert total_cost(buyer(sizes).buy(squares(n)))[0] == pytest.approx(best)


def test_a_refused_combination_rules_out_all_smaller_ones():
    sizes = [size(0, 10, 10, 1.0), size(1, 20, 10, 1.9)]
    assert cheapest_counts(sizes, 300.0, [], 100.0) == (1, 1)
    assert cheapest_counts(sizes, 300.0, [(1, 1)], 100.0) == (3, 0)
    assert cheapest_counts(sizes, 300.0, [(1, 1), (3, 0)], 100.0) == (0, 2)
    assert cheapest_counts(sizes, 300.0, [], 2.0) is None


@pytest.mark.parametrize("most_combinations", [counts.MOST_COMBINATIONS, 0])
def test_of_equal_costs_the_smaller_purchase_is_taken(most_combinations, monkeypatch):
    monkeypatch.setattr(counts, "MOST_COMBINATIONS", most_combinations)
    sizes = [size(0, 20, 10, 1.0), size(1, 10, 10, 1.0)]
    assert cheapest_counts(sizes, 100.0, [], 100.0) == (0, 1)
    assert cheapest_counts(sizes, 150.0, [], 100.0) == (1, 0)


def test_nothing_is_changed_when_there_is_one_size_or_no_price():
    pieces, one = squares(3), [size(0, 20, 20, 4.0)]
    start = buyer(one).buy(pieces)
    assert buyer(one).cheaper_mix(pieces, start) == start


@pytest.mark.parametrize("n", [3, 9, 20])
def test_the_proof_is_never_above_what_was_bought(n):
    sizes = [size(0, 20, 20, 4.0), size(1, 30, 30, 7.5)]
    bought = buyer(sizes).buy(squares(n))
    proof = prove(squares(n), sizes, RULES, bought)
    assert proof.sheets <= len(bought)
    assert proof.cost <= total_cost(bought)[0]


def test_the_proof_has_a_sheet_for_each_part_that_covers_the_centre_of_every_size():
    # 3 squares of 15 mm take 675 mm2, for which two sheets of 20 x 20 have room; but no two lie on one
    sizes = [size(0, 20, 20, 4.0)]
    proof = prove(squares(3, 15), sizes, RULES, buyer(sizes).buy(squares(3, 15)))
    assert (proof.sheets, proof.cost) == (3, 12.0)
    # on a larger size, too, three of them lie side by side
    assert prove(squares(3, 15), [*sizes, size(1, 50, 20, 9.0)], RULES, []).sheets == 1


def test_the_certificate_names_the_density_anything_cheaper_would_need():
    # 8 squares of 100 mm2 on two sheets of 400 mm2 for 8.0; the most for less is one sheet: density 2, impossible
    sizes = [size(0, 20, 20, 4.0)]
    assert prove(squares(8), sizes, RULES, buyer(sizes).buy(squares(8))) == Proof(2, 8.0, 2.0)
    assert prove(squares(2), sizes, RULES, buyer(sizes).buy(squares(2))).needed_density is None


def test_a_quote_counts_what_still_fits_and_what_more_costs():
    # 3 squares on a sheet of 4: one more fits, the next needs a second sheet, ten more need three
    stock = [StockKeys(width=20, height=20, price=4.0)]
    pieces = squares(3)
    found = quoted(nested(pieces, stock, BOXES), pieces, stock, BOXES)
    (more,) = found.more
    assert (found.cost, more.names, more.one, more.ten) == (4.0, 1, 0.0, 4.0 * 3)
    (material,) = found.materials
    assert [(a.sheets, a.cost, a.exact) for a in material.alone] == [(1, 4.0, True)]
    assert material.density == pytest.approx(0.75)


def test_each_size_alone_is_quoted_and_one_too_small_is_left_out():
    stock = [
        StockKeys(width=20, height=20, price=4.0),
        StockKeys(width=30, height=30, price=7.5),
        StockKeys(width=9, height=9, price=0.1),
    ]
    pieces = squares(8)
    found = quoted(nested(pieces, stock, BOXES), pieces, stock, BOXES)
    assert [(a.stock, a.sheets) for a in found.materials[0].alone] == [(0, 2), (1, 1)]
    assert found.cost == 7.5
    assert found.materials[0].least_sheets == 1


def test_a_quote_of_names_nested_by_shape_agrees_with_nesting_one_more():
    stock, keys = [StockKeys(width=150, height=80, price=5.0)], NestKeys()
    pieces = words(6)
    layout = nested(pieces, stock, keys)
    found = quoted(layout, pieces, stock, keys)
    assert found.cost == 5.0 * len(layout.sheets)
    (more,) = found.more
    assert 0 <= more.names < 20 and more.ten >= more.one


def test_the_typical_plate_has_the_median_area():
    pieces = [Piece(str(n), "lettering", 1, 1, "m", rectangle(0, 0, n, 1)) for n in (5, 1, 9, 7, 3)]
    assert [p.plate for p in typical_plate(pieces)] == ["5"]


def test_very_many_pieces_are_nested_in_groups_and_none_is_lost():
    rules = Rules(gap=1, edge=2)
    sheet = with_usable(Blank("lettering", 120, 60, 0, 1.0), rules)
    shape = words(1, width=20)[0].region
    pieces = [piece(f"{i:04d}", shape) for i in range(GROUP + 50)]
    groups = dealt(pieces, sheet)
    assert len(groups) > 1
    assert sorted(p.plate for g in groups for p in g) == [p.plate for p in pieces]
    assert max(len(g) for g in groups) <= GROUP
    said = []
    rows = pack_groups(pieces, sheet, rules, workers=1, say=said.append)
    assert said == []
    assert verify(Layout(tuple(sheet.sheet(r) for r in rows)), pieces, rules) == ()


def test_groups_that_fill_no_sheet_come_to_an_end():
    rules = Rules(gap=1, edge=2)
    sheet = with_usable(Blank("lettering", 900, 900, 0, 1.0), rules)
    pieces = words(12)
    assert len(dealt(pieces, sheet)) == 1
    assert len(pack_groups(pieces, sheet, rules, workers=1, say=print)) == 1


def test_a_group_that_fails_is_nested_by_boxes_and_that_is_said(monkeypatch, in_this_process):
    def broken(shared, group):
        raise RuntimeError("no")

    monkeypatch.setattr("nameplate.nest.groups.nest_group", broken)
    monkeypatch.setattr("nameplate.nest.groups.SHEETS", 0.5)
    monkeypatch.setattr("nameplate.nest.groups.GROUP", 2)
    rules = Rules(gap=1, edge=2)
    sheet = with_usable(Blank("lettering", 150, 60, 0, 1.0), rules)
    pieces, said = words(9), []
    rows = pack_groups(pieces, sheet, rules, workers=1, say=said.append)
    assert len(said) >= 1
    assert "nested by boxes" in said[0].message
    assert verify(Layout(tuple(sheet.sheet(r) for r in rows)), pieces, rules) == ()


@pytest.mark.parametrize("seed", range(12))
def test_looking_at_all_combinations_agrees_with_the_integer_programme(seed, monkeypatch):
    """HiGHS, through scipy, solves the same programmes on its own."""
    rng = random.Random(seed)
    sizes = [
        size(i, rng.randint(10, 60), rng.randint(10, 60), rng.randint(2, 40) / 2) for i in range(rng.randint(1, 3))
    ]
    pieces = squares(rng.randint(3, 15), 9.0)
    bought = [(sizes[0], ())] * rng.randint(2, 9)
    area, most = rng.uniform(500, 20_000), rng.uniform(5, 200)
    refused = [tuple(rng.randint(0, 3) for _ in sizes) for _ in range(rng.randint(0, 2))]

    def answers():
        found = cheapest_counts(sizes, area, refused, most)
        cost = None if found is None else sum(n * s.price for n, s in zip(found, sizes, strict=True))
        proof = prove(pieces, sizes, RULES, bought)
        return cost, proof.sheets, proof.cost, proof.needed_density

    quick = answers()
    monkeypatch.setattr(counts, "MOST_COMBINATIONS", 0)
    assert answers() == pytest.approx(quick)


def test_a_job_with_few_sizes_needs_no_solver():
    """Loading it takes half a second of an estimate's three."""
    code = (
        "import sys\n"
        "from nameplate.geometry.region import rectangle\n"
        "from nameplate.nest.layout import Piece\n"
        "from nameplate.nest.nesting import nest\n"
        "from nameplate.nest.request import NestRequest\n"
        "from nameplate.nest.buying.quote import quote\n"
        "from nameplate.ticket.schema import NestKeys\n"
        "from nameplate.ticket.workshop_schema import StockKeys\n"
        "stock = [StockKeys(width=60, height=60, price=2), StockKeys(width=90, height=60, price=2.5)]\n"
        "pieces = [Piece(str(n), 'lettering', 1, 1, 'lettering', rectangle(0, 0, 20, 9)) for n in range(9)]\n"
        "request = NestRequest(pieces, stock, NestKeys())\n"
        "assert quote(nest(request), request).cost > 0\n"
        "assert 'scipy' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_quote_with_the_stores_of_its_nest_is_the_same():
    stock = [StockKeys(width=90, height=60, price=2), StockKeys(width=120, height=60, price=2.5)]
    pieces = words(3)
    stores = {}
    layout = nested(pieces, stock, NestKeys(), stores=stores)
    assert layout == nested(pieces, stock, NestKeys())
    assert quoted(layout, pieces, stock, NestKeys(), stores=stores) == quoted(layout, pieces, stock, NestKeys())


def test_what_still_fits_is_found_by_hand():
    # 3 x 3 squares of 10 on a sheet of 30 x 30, five of them laid: four more of the same still fit, the fifth does not
    stock, keys = [StockKeys(width=30, height=30, price=1)], NestKeys(gap=0, edge_margin=0)
    pieces = squares(5)
    (offer,) = quoted(nested(pieces, stock, keys), pieces, stock, keys).more
    assert offer == MoreNames("", 4, False, "", one=0.0, ten=1.0)


def test_room_is_told_for_each_design_by_hand():
    # a banner of 20 x 20 and 36 squares of 10 leave 1000 of 100 x 50: for ten squares, or two banners at most
    stock = [StockKeys(width=100, height=50, price=1)]
    banner = Piece("big", "lettering", 1, 1, "lettering", rectangle(0, 0, 20, 20))
    pieces = [banner, *squares(36)]
    designs = {"big": "gold"} | {f"{n:02d}": "silver" for n in range(36)}
    layout = nested(pieces, stock, BOXES)
    assert len(layout.sheets) == 1
    gold, silver = quoted(layout, pieces, stock, BOXES, designs=designs).more
    assert (gold.design, silver.design) == ("gold", "silver")
    assert (silver.names, silver.one, silver.ten) == (10, 0.0, 0.0)
    assert 1 <= gold.names <= 2 and gold.one == 0.0 and gold.ten == 1.0
    told = room_left(layout, NestRequest(pieces, stock, BOXES), designs=designs)
    assert told == tuple(RoomLeft(m.design, m.names, m.more, m.full_first) for m in (gold, silver))


def test_what_a_batch_shares_is_no_name_of_any_design():
    shared = Piece("carrier", "carrier", 1, 1, "lettering", rectangle(0, 0, 30, 30))
    pieces, stock = [*squares(1), shared], [StockKeys(width=50, height=30, price=1)]
    (more,) = quoted(nested(pieces, stock, BOXES), pieces, stock, BOXES, designs={"00": ""}).more
    assert more.names == 5  # of the 20 x 30 beside the carrier one of six squares is taken


def test_a_combination_on_which_nearly_all_found_a_place_is_nested_harder():
    # a sheet of 20 x 20 holds four of the squares, one of 30 x 30 nine: 3 x 7.5 for 27 is cheaper than 7 x 4
    sizes = [size(0, 20, 20, 4.0), size(1, 30, 30, 7.5)]
    pieces = squares(27)
    dear = buyer(sizes).fill(pieces, sizes[0])

    def loses_one(pieces, blanks, rules, budget):
        packed = pack_boxes(pieces, blanks, rules)
        return packed if budget is NEST else pack_boxes(pieces[1:], blanks, rules)._replace(left=(0,))

    assert total_cost(dear)[0] == 28
    assert buyer(sizes, loses_one).cheaper_mix(pieces, dear) == dear
    assert total_cost(buyer(sizes, loses_one, again=NEST).cheaper_mix(pieces, dear))[0] == 22.5


def test_after_a_combination_that_is_far_too_small_those_that_need_as_dense_a_nest_are_passed_over():
    sizes = [size(0, 20, 20, 4.0), size(1, 30, 30, 7.5)]
    pieces = squares(27)
    tried = []

    def holds_half(pieces, blanks, rules, budget):
        tried.append(sum(blank.width * blank.height for blank in blanks))
        return pack_boxes(pieces[:13], blanks, rules)._replace(left=tuple(range(13, len(pieces))))

    dear = buyer(sizes).fill(pieces, sizes[0])
    assert buyer(sizes, holds_half).cheaper_mix(pieces, dear) == dear
    assert tried == [2700]  # 13 of 2700 is 0.48 of it: what costs less than 28 has at most 3400, too little for 27


def test_ten_more_names_cost_nothing_of_a_material_that_has_room_for_them():
    # squares of 100 with margins of 5: one fills a sheet of 110 of lettering, eleven more go on one of template
    def part(kind):
        return Piece("1", kind, 1, 1, kind, rectangle(0, 0, 100, 100))

    stock = [
        StockKeys(material="lettering", width=110, height=110, price=3),
        StockKeys(material="template", width=1300, height=110, price=50),
    ]
    pieces, keys = [part("lettering"), part("template")], NestKeys(gap=1, edge_margin=5)
    (found,) = quoted(nested(pieces, stock, keys), pieces, stock, keys).more
    assert (found.names, found.one, found.ten) == (0, 3, 30)


def test_a_purchase_that_must_be_a_little_denser_than_the_first_is_tried():
    # four squares fill the smaller sheet wholly, and 99.5 % of the larger one
    sizes = [size(0, 20.1, 20, 5.0), size(1, 20, 20, 4.0)]
    bought = buyer(sizes)
    assert total_cost(bought.cheaper_mix(squares(4), bought.fill(squares(4), sizes[0])))[0] == 4.0


def test_a_combination_is_nested_on_its_largest_sheets_first():
    sizes, tried = [size(0, 20, 20, 4.0), size(1, 30, 30, 7.5)], []

    def noting(pieces, blanks, rules, budget):
        tried.append([blank.width for blank in blanks])
        return pack_boxes(pieces, blanks, rules)

    bought = buyer(sizes, noting)
    assert total_cost(bought.cheaper_mix(squares(13), bought.fill(squares(13), sizes[0])))[0] == 11.5
    assert any(len(set(widths)) > 1 for widths in tried)
    assert all(widths == sorted(widths, reverse=True) for widths in tried)


@pytest.mark.parametrize("most", [8, 7])
def test_sheets_of_one_size_alone_are_estimated_for_many_parts_and_said_to_be(most, monkeypatch):
    monkeypatch.setattr(quoting, "EXACT", most)
    stock = [StockKeys(width=20, height=20, price=4.0), StockKeys(width=30, height=30, price=7.5)]
    pieces = squares(8)
    alone = quoted(nested(pieces, stock, BOXES), pieces, stock, BOXES).materials[0].alone
    # 8 squares lie on one sheet of 30 x 30, 8 / 9 full; as full a sheet of 20 x 20 holds 3.56 of them
    assert [(a.sheets, a.exact) for a in alone] == [(2, True) if most == 8 else (3, False), (1, True)]
