"""What to order: counted by what it is to the shop, in words and as a table."""

from __future__ import annotations

import csv
import io

from nameplate.nest.layout import SheetLayout
from nameplate.paperwork.order import order_csv, order_sentences, sheets_needed
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
        ("cast acrylic", "3", "600 x 300", "2", "11.50", "23.00"),
        ("'=grey board", "1", "600 x 300", "1", "", ""),
    ]
    assert "and what has no price" in order_sentences(sheets_needed(sheets, MATERIALS))[-1]
    assert order_sentences(sheets_needed([sheet("lettering", on_hand=True)], MATERIALS))[0] == "Nothing to order"
