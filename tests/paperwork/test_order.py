"""What to order: counted by what it is to the shop, in words and as a table."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from nameplate.nest.layout import SheetLayout
from nameplate.paperwork.order import (
    asked_sentence,
    burning_sentence,
    order_csv,
    order_sentences,
    plate_sentence,
    sheets_needed,
)
from nameplate.ticket.workshop_schema import MaterialKeys

MATERIALS = {
    "lettering": MaterialKeys(name="cast acrylic", thickness=3),
    "carrier": MaterialKeys(name="cast acrylic", thickness=3),
    "template": MaterialKeys(name="=grey board", thickness=1),
}


def sheet(material, price=0.0, **more):
    return SheetLayout(material, 600, 300, 0, price, (), **more)


def test_one_material_of_two_uses_is_one_line_and_the_shops_own_is_taken_first_of_all():
    sheets = [
        sheet("lettering", 11.5),
        sheet("carrier", 11.5),
        sheet("template", 2.1),
        sheet("template", 2.1, on_hand=True),
    ]
    assert order_sentences(sheets_needed(sheets, MATERIALS)) == (
        "Order 2 sheets cast acrylic 3 mm, 600 x 300: 23.00 (11.50 each)",
        "Order 1 sheet =grey board 1 mm, 600 x 300: 2.10",
        "Take from the shop 1 sheet =grey board 1 mm, 600 x 300",
        "Together 25.10",
    )


def test_without_prices_there_is_no_money():
    sheets = [sheet("lettering"), sheet("template", on_hand=True, offcut="offcut 600 x 300")]
    said = order_sentences(sheets_needed(sheets, MATERIALS))
    assert said == (
        "Order 1 sheet cast acrylic 3 mm, 600 x 300",
        "Take from the shop 1 offcut =grey board 1 mm, 600 x 300",
    )
    assert "0.00" not in order_csv(sheets_needed(sheets, MATERIALS))


def test_the_table_has_what_to_buy_and_no_cell_is_a_formula():
    sheets = [sheet("lettering", 11.5), sheet("lettering", 11.5), sheet("template"), sheet("lettering", on_hand=True)]
    text = order_csv(sheets_needed(sheets, MATERIALS))
    rows = list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))
    assert [tuple(row.values()) for row in rows] == [
        ("cast acrylic", "3", "600 x 300", "2", "11.50", "23.00", "0.118", "23.62 x 11.81"),
        ("'=grey board", "1", "600 x 300", "1", "", "", "0.039", "23.62 x 11.81"),
    ]
    assert "and what has no price" in order_sentences(sheets_needed(sheets, MATERIALS))[-1]
    assert order_sentences(sheets_needed([sheet("lettering", on_hand=True)], MATERIALS))[0] == "Nothing to order"


def test_sheets_of_inches_are_told_as_they_are_sold():
    ply = MaterialKeys(name="birch plywood", thickness=3.175)
    sheets = [SheetLayout("blank", 609.6, 304.8, 0, 6.5, ()), SheetLayout("blank", 114.8, 90.5, -1, 0, (), offcut="x")]
    needed = sheets_needed(sheets, {"blank": ply})
    assert order_sentences(needed, inches=True) == (
        "Order 1 sheet birch plywood 3.175 mm (1/8 in), 609.6 x 304.8 (24 x 12 in): 6.50",
        "Take the offcut “x” (birch plywood 3.175 mm (1/8 in), 114.8 x 90.5 (4.51 x 3.56 in))",
    )
    assert " in" not in "".join(order_sentences(needed))
    said = asked_sentence(needed, needed, inches=True)
    assert said.startswith(
        "The last run asked for 1 sheet birch plywood 3.175 mm (1/8 in), 609.6 x 304.8 (24 x 12 in) of"
    )
    (row,) = csv.DictReader(io.StringIO(order_csv(needed).removeprefix("\ufeff")))
    assert (row["thickness"], row["size"]) == ("3.175", "609.6 x 304.8")
    assert (row["thickness_in"], row["size_in"]) == ("0 1/8", "24 x 12")


def test_what_the_last_run_asked_for_counts_whatever_its_price():
    asked = sheets_needed([sheet("lettering", 11.5), sheet("lettering", 11.5), sheet("carrier")], MATERIALS)
    needed = sheets_needed([sheet("lettering", 12.0), *[sheet("carrier")] * 4, sheet("template")], MATERIALS)
    said = "The last run asked for 3 sheets cast acrylic 3 mm, 600 x 300 of these"
    assert asked_sentence(needed, asked).startswith(said)
    assert asked_sentence(asked, needed).startswith(said) and asked_sentence(needed[-1:], asked) == ""


def test_an_estimate_says_how_many_to_take_where_it_may_be_wrong():
    sheets = [sheet("lettering", 11.5), sheet("template", 2.1), sheet("template", 2.1, on_hand=True)]
    said = order_sentences(sheets_needed(sheets, MATERIALS, {"lettering": 1, "template": 0}), off=0.05)
    assert said[0] == "Order 1 sheet cast acrylic 3 mm, 600 x 300 (take 2: the estimate may be 5 % off): 11.50"
    assert "take" not in "".join(said[1:2])
    # a carrier of the same acrylic is the same line to the shop
    both = sheets_needed([*sheets, sheet("carrier", 11.5)], MATERIALS, {"lettering": 1, "carrier": 1})
    assert "Order 2 sheets cast acrylic 3 mm, 600 x 300 (take 4:" in order_sentences(both, off=0.05)[0]


def test_many_sheets_have_their_burning_time_by_material_and_one_without_speeds_is_named():
    sheets = [replace(sheet("lettering"), number=n) for n in range(1, 11)] + [sheet("template")]
    said = burning_sentence(sheets, [600.0] * 10 + [None])
    assert said == "Burning takes about 1 h 40 min: 10 lettering sheets 1 h 40 min; template: no cut_speed is known"


def test_what_a_plate_costs_is_worked_out_by_hand():
    # 48 plates of sheets for 17.80; 90 minutes at 40 an hour are 60: (17.80 + 60) / 48 = 1.6208
    assert plate_sentence(48, material=17.8, machine=60.0, rate=40) == (
        "A plate costs 0.37 of material, 1.62 with the machine at 40 an hour"
    )
    assert "0.00" not in plate_sentence(48, material=0.0, machine=0.0, rate=0.0)
