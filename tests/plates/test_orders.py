"""From rows to orders: ids, defaults, letters that a font lacks, and every refused row still known."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.errors import FontError
from nameplate.findings import Finding
from nameplate.plates.orders import Orders, make_orders
from nameplate.roster.delimited_text import read_text_table
from nameplate.roster.reader import Roster, Row, fold, rows_of
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import JigKeys, Ticket
from nameplate.ticket.workshop_schema import StockKeys


def lists(*rows):
    return Roster(tuple(Row(number=n, **row) for n, row in enumerate(rows, 2)))


def ids(orders):
    return sorted([(o.row, o.id) for o in (*orders.orders, *orders.refused)])


def test_a_list_without_ids_is_numbered_in_order():
    orders = make_orders(lists(*({"name": f"N{i}"} for i in range(1001))), Ticket())
    assert [o.id for o in orders.orders[:3]] == ["001", "002", "003"]
    assert [o.id for o in orders.orders[-2:]] == ["1000", "1001"]


def test_numbers_that_the_list_gives_away_are_passed_over():
    rows = lists({"name": "A"}, {"name": "B", "id": "002"}, {"name": "C"}, {"name": "D", "id": "4"}, {"name": "E"})
    assert [i for _, i in ids(make_orders(rows, Ticket()))] == ["001", "002", "003", "4", "005"]


@given(st.lists(st.sampled_from(["", "", "", "1", "01", "001", "002", "3", "x", "X", "0"]), max_size=12))
def test_ids_are_unique_whatever_the_list_gives(given_ids):
    rows = lists(*({"name": f"N{i}", "id": plate} for i, plate in enumerate(given_ids)))
    orders = make_orders(rows, Ticket())
    made = [fold(i) for _, i in ids(orders)]
    assert len(set(made)) == len(made) == len(given_ids)


def test_a_rows_own_values_come_before_the_tickets():
    ticket = Ticket(lettering=LetteringKeys(font=("Pacifico", "Playpen Sans ExtraBold")))
    rows = lists(
        {"name": "A"},
        {
            "name": "B",
            "font": "Lobster",
            "line2": "b",
            "copies": 3,
            "size": 20.0,
            "position": "B7",
            "extra": (("t", "x"),),
        },
    )
    a, b = make_orders(rows, ticket).orders
    assert (a.fonts, a.mount, a.size, a.copies) == (("Pacifico", "Playpen Sans ExtraBold"), "applied", None, 1)
    assert b.fonts == ("Lobster", "Playpen Sans ExtraBold")
    assert (b.line2, b.copies, b.size, b.position, b.extra) == ("b", 3, 20.0, "B7", (("t", "x"),))


def test_a_missing_letter_names_row_letter_code_point_and_fonts():
    # Leckerli One has no letter of Polish but ó, Lobster has them all
    orders = make_orders(
        lists({"name": "Jałł"}, {"name": "Bo"}), Ticket(lettering=LetteringKeys(font=("Leckerli One",)))
    )
    (finding,) = orders.findings
    assert (finding.code, finding.severity, finding.row, finding.plate) == ("missing-letter", "error", 2, "001")
    for part in ("Jałł", "ł (Latin small letter l with stroke)", "Lobster"):
        assert part in finding.message
    assert [o.id for o in orders.orders] == ["002"]
    assert [o.id for o in orders.refused] == ["001"]


@pytest.mark.parametrize(
    ("fonts", "advice"),
    [
        ({"α": ("P", "Q"), "ł": ("Q", "R")}, "bundled fonts that have all of them: Q"),
        ({"α": ("P",), "ł": ("R",)}, "no bundled font has all of them (α: P; ł: R)"),
        ({"α": (), "ł": ("R",)}, "no bundled font has α"),
    ],
)
def test_advice_for_several_missing_letters(fonts, advice, monkeypatch):
    monkeypatch.setattr("nameplate.plates.orders.fonts_with", fonts.__getitem__)
    orders = make_orders(lists({"name": "αł"}), Ticket(lettering=LetteringKeys(font=("Leckerli One",))))
    assert advice in orders.findings[0].message


def test_a_letter_that_a_fallback_has_is_not_missing():
    rows = lists({"name": "α"}, {"name": "β", "line2": "α"})
    assert len(make_orders(rows, Ticket()).refused) == 2
    both = Ticket(lettering=LetteringKeys(font=("Pacifico", "Playpen Sans ExtraBold")))
    assert make_orders(rows, both).refused == ()


def test_a_font_that_is_not_there_refuses_its_row_but_the_tickets_stops_the_job():
    orders = make_orders(lists({"name": "A", "font": "Nofont"}, {"name": "B"}), Ticket())
    assert [(f.code, f.row) for f in orders.findings] == [("font", 2)]
    assert len(orders.orders) == 1
    with pytest.raises(FontError):
        make_orders(lists({"name": "B"}), Ticket(lettering=LetteringKeys(font=("Nofont",))))


def test_a_mount_is_checked_like_the_tickets():
    rules = next(f.metadata for f in dataclasses.fields(LetteringKeys) if f.name == "mount")
    rows = lists(
        {"name": "A", "mount": "sideways"},
        {"name": "B", "mount": "applied"},
        *({"name": m, "mount": m} for m in rules.get("later", ())),
    )
    orders = make_orders(rows, Ticket())
    assert [o.name for o in orders.orders] == ["B"]
    assert "expected one of applied" in orders.findings[0].message
    assert all("not available yet" in f.message for f in orders.findings[1:])


def test_every_row_is_made_or_refused_exactly_once():
    text = "name,id\nAda,1\n,2\nBo,1\nCy,a/b\nAda,5\nשרה,6\nWren,\n"
    roster = rows_of(read_text_table(text.encode(), "list.csv"), "list.csv")
    orders = make_orders(roster, Ticket())
    assert sorted(o.row for o in (*orders.orders, *orders.refused)) == [2, 3, 4, 5, 6, 7, 8]
    assert [o.name for o in orders.orders] == ["Ada", "Ada", "Wren"]
    assert [(o.row, o.id) for o in orders.refused] == [(3, "2"), (4, "1 (row 4)"), (5, "a/b"), (7, "6")]


def test_a_corrected_row_does_not_move_the_numbers_of_the_others():
    bad = lists({"name": "A"}, {"name": ""}, {"name": "C"})
    bad = dataclasses.replace(bad, findings=(Finding("empty-name", "error", "", row=3),))
    good = lists({"name": "A"}, {"name": "B"}, {"name": "C"})
    assert ids(make_orders(bad, Ticket())) == ids(make_orders(good, Ticket()))


def test_real_fonts_are_asked():
    # Greek and Hebrew are absent from Pacifico, which has Latin, Vietnamese and Cyrillic
    roster = rows_of(read_text_table("name\nNguyễn Thị Hạnh\nБорис\nΑθηνά\n".encode(), "list.csv"), "list.csv")
    orders = make_orders(roster, Ticket())
    assert [o.row for o in orders.orders] == [2, 3]
    (finding,) = orders.findings
    assert "has no Α, θ, η, ν, ά;" in finding.message
    assert "Playpen Sans" in finding.message


def test_no_row_no_order():
    assert make_orders(Roster(()), Ticket()) == Orders(())


def test_a_row_of_a_mount_that_has_no_sheet_is_refused_with_what_to_add():
    ticket = Ticket(
        lettering=LetteringKeys(mount="pierced"), jig=JigKeys(style="carrier"), stock=(StockKeys(material="blank"),)
    )
    done = make_orders(lists({"name": "Ada"}, {"name": "Bo", "mount": "applied"}), ticket)
    assert [order.name for order in done.orders] == ["Ada"]
    assert [(f.code, f.row) for f in done.findings] == [("no-stock", 3)] * 3
    told = " ".join(f.message for f in done.findings)
    assert all(f'add a [[stock]] with material = "{m}"' in told for m in ("lettering", "template", "carrier"))
