"""Lines in styles of their own: what they say, what is refused, and that a plate has them as they were asked for."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from nameplate.errors import TicketError
from nameplate.geometry.region import bounds, solids
from nameplate.plates.make import PlateContext
from nameplate.plates.orders import make_orders
from nameplate.roster.delimited_text import read_text_table
from nameplate.roster.reader import rows_of
from nameplate.ticket.lettering_schema import LetteringKeys, LineKeys
from nameplate.ticket.schema import JigKeys, Ticket
from nameplate.typesetting.fonts import load_font

from .contexts import FACE, draft_once, face_of, plate_once

LIST = "name,born,died,Given by\nWren Abara,1931,2012,the choir\nZoë,1990,,\nBo,,,\n"
DEDICATED = (
    LineKeys(text="In memory of", font=("Satisfy",), scale=0.45),
    LineKeys(text="{name}"),
    LineKeys(text="{born} - {died}", scale=0.4),
)


def ordered(lines, text=LIST, **keys):
    ticket = Ticket(
        face=FACE, lettering=LetteringKeys(strengthen=False, **keys), jig=JigKeys(style="none"), line=tuple(lines)
    )
    columns = [c for line in lines for c in ("born", "died", "given by") if c in line.text]
    roster = rows_of(read_text_table(text.encode(), "list.csv"), "list.csv", lettered=columns)
    return ticket, roster, make_orders(roster, ticket)


def said(orders):
    return [[line.text for line in order.styled] for order in orders.orders]


def made(order, ticket):
    context = PlateContext.of(ticket, face_of(FACE), cuts=False)
    plate, _ = plate_once(context, order)
    return plate


def test_a_line_says_its_text_and_columns_and_is_left_out_where_they_are_empty():
    _, _, orders = ordered([*DEDICATED, LineKeys(text="given by {given_by}")])
    assert said(orders) == [
        ["In memory of", "Wren Abara", "1931 - 2012", "given by the choir"],
        ["In memory of", "Zoë", "1990"],
        ["In memory of", "Bo"],
    ]


def test_separators_beside_an_empty_column_go_with_it():
    def filled(text, rows):
        _, _, orders = ordered([LineKeys(text="{name}"), LineKeys(text=text)], "name,born,died,given by\n" + rows)
        return [line[1] if len(line) > 1 else "" for line in said(orders)]

    rows = "Ada,1938,2011,oak\nBo,1938,,oak\nCy,,2011,\nDi,,,\n"
    assert filled("{born} – {died}", rows) == ["1938 – 2011", "1938", "2011", ""]
    assert filled("{born}, {died}, {given_by}", rows) == ["1938, 2011, oak", "1938, oak", "2011", ""]
    assert filled("{given_by} ({born})", rows) == ["oak (1938)", "oak (1938)", "", ""]
    assert filled("{given_by} ({died})", rows) == ["oak (2011)", "oak", "(2011)", ""]
    assert filled("born {born}, died {died}", rows)[0] == "born 1938, died 2011"


def test_a_name_broken_in_its_cell_is_broken_in_every_line_that_shows_it():
    ticket, _, orders = ordered([LineKeys(text="Dr {name} and friends")], "name\nAna Maria | Pell\n")
    (order,) = orders.orders
    assert (order.styled[0].text, order.styled[0].lines) == (
        "Dr Ana Maria Pell and friends",
        ("Dr Ana Maria", "Pell and friends"),
    )
    assert made(order, ticket).lettering.lines == ("Dr Ana Maria", "Pell and friends")
    _, _, alone = ordered([LineKeys(text="{name}")], "name\nAna Maria | Pell\n")
    assert alone.orders[0].styled[0].lines == ("Ana Maria", "Pell")


def test_a_column_that_the_list_has_not_is_a_problem_of_the_ticket():
    with pytest.raises(TicketError) as caught:
        ordered([LineKeys(text="{name}"), LineKeys(text="{dates} {tree}")])
    both = caught.value.problems
    assert [p.split(":")[0] for p in both] == ['the ticket\'s [[line]] 2, text = "{dates} {tree}"'] * 2
    assert '"dates"' in both[0] and "expected one of name, line2, id, position, born, died, Given by" in both[0]


def test_what_cannot_be_lettered_is_refused_in_the_ticket_and_in_every_column_shown():
    with pytest.raises(TicketError, match="a picture cannot be lettered"):
        ordered([LineKeys(text="for {name} 🍎")])
    _, roster, orders = ordered(DEDICATED, "name,born,died\nWren,שנה,2\nBo,1,2\n")
    assert [f.row for f in roster.findings if f.severity == "error"] == [2]
    assert [order.name for order in orders.refused] == ["Wren"]


def test_letters_are_looked_up_in_the_font_of_each_line(monkeypatch):
    def font(spec, folder):
        lacking = {"Satisfy": "e", "Pacifico": "W"}[spec]
        return SimpleNamespace(missing=lambda text: tuple(c for c in text if c in lacking))

    monkeypatch.setattr("nameplate.plates.orders.load_font", font)
    _, _, orders = ordered(DEDICATED[:2])
    messages = [f.message for f in orders.findings]
    assert len(orders.refused) == 3 and len(messages) == 4  # "In memory of" thrice, and "Wren Abara"
    assert all("Satisfy has no" in m for m in messages if "Pacifico" not in m)


def test_a_row_without_any_text_is_refused_with_the_columns_to_fill():
    _, _, orders = ordered([LineKeys(text="{born}")])
    (finding,) = [f for f in orders.findings if f.severity == "error"]
    assert finding.row == 4 and "fill the column born" in finding.message


def test_a_plate_is_one_piece_with_its_lines_under_one_another_at_their_scales():
    ticket, _, orders = ordered(DEDICATED)
    plate = made(orders.orders[1], ticket)
    lettering = plate.lettering
    assert lettering.lines == ("In memory of", "Zoë", "1990") and len(solids(lettering.region)) == 1
    assert [place.font for place in lettering.line_places] == ["Satisfy", "Pacifico", "Pacifico"]
    small, name, dates = (place.size for place in lettering.line_places)
    # Satisfy's letters against Pacifico's, by the x-heights of the fonts; the em of one font by the scale itself
    heights = load_font("Satisfy").x_height / load_font("Pacifico").x_height
    assert small * heights / name == pytest.approx(0.45) and dates / name == pytest.approx(0.4)
    assert name == lettering.size
    ys = [place.y for place in lettering.line_places]
    assert ys == sorted(ys, reverse=True) and list(lettering.baselines) == sorted(lettering.baselines, reverse=True)
    for place in lettering.line_places:
        box = bounds(lettering.region)
        assert box.x0 < place.x < box.x1 and box.y0 < place.y < box.y1


def test_small_lines_are_judged_by_themselves_and_named():
    lines = [replace(DEDICATED[0], scale=0.25), *DEDICATED[1:]]
    ticket, _, orders = ordered(lines)
    plate = made(orders.orders[0], ticket)
    (error,) = [f for f in plate.findings if f.severity == "error"]
    assert error.code == "letters-too-small" and "on its line “In memory of”" in error.message
    (error,) = [f for f in made(replace(orders.orders[0], size=12.0), ticket).findings if f.severity == "error"]
    assert error.code == "letters-too-small" and "the letters of “In memory of” would be" in error.message
    weak, _, orders = ordered([replace(DEDICATED[0], scale=0.38), *DEDICATED[1:]])
    (small,) = [f.message for f in made(orders.orders[0], weak).findings if f.code == "small-letters"]
    assert small.startswith("the letters of “In memory of” are") and "the 1st o" in small and "are not clear" in small


def test_a_size_of_a_line_sets_the_others_with_it():
    lines = [replace(DEDICATED[0], size=12.0, scale=1.0), LineKeys(text="{name}", size=20.0), DEDICATED[2]]
    ticket, _, orders = ordered(lines, min_web=0.8)
    sizes = [place.size for place in made(orders.orders[1], ticket).lettering.line_places]
    assert sizes == pytest.approx([12.0, 20.0, 8.0])
    lines = [LineKeys(text="{died}", size=20.0), LineKeys(text="{name}", scale=0.8)]
    ticket, _, orders = ordered(lines, min_web=0.8)
    assert orders.orders[2].texts == ("Bo",)
    (place,) = made(orders.orders[2], ticket).lettering.line_places  # the line that is left out still gives the size
    assert place.size == pytest.approx(16.0)


def test_a_name_may_break_among_other_lines_and_as_its_cell_does():
    ticket, _, orders = ordered(DEDICATED, "name,born,died\nMaximilian Oakfield,1922,2001\nAnn | Bo,1,2\n")
    long, forced = (made(order, ticket).lettering for order in orders.orders)
    assert long.lines == ("In memory of", "Maximilian", "Oakfield", "1922 - 2001")
    assert forced.lines == ("In memory of", "Ann", "Bo", "1 - 2")


def test_a_column_below_a_name_goes_on_two_lines_where_letters_get_larger():
    lines = [LineKeys(text="{name}"), LineKeys(text="{kind}", scale=0.8)]
    ticket, _, orders = ordered(lines, "name,kind\nLukas Brand,Mirabelle de Nancy\nWren Abara,Pear\n")
    (long, short) = (made(order, ticket).lettering for order in orders.orders)
    assert long.lines == ("Lukas", "Brand", "Mirabelle", "de Nancy")
    assert short.lines[-1] == "Pear"
    tied, _, orders = ordered(lines, "name,kind\nLukas Brand,Mirabelle de Nancy\n", words="tie")
    assert made(orders.orders[0], tied).lettering.lines == ("Lukas Brand", "Mirabelle de Nancy")


def test_a_batch_of_one_size_stands_on_the_baseline_of_the_largest_lines():
    ticket, _, orders = ordered(DEDICATED, size="uniform", words="tie", min_web=0.8)
    font = load_font("Pacifico")
    for order in orders.orders:  # a row without dates has its name where the others have theirs
        lettering = made(replace(order, size=17.0), ticket).lettering
        sizes = [place.size for place in lettering.line_places]
        line = sizes.index(max(sizes))
        assert lettering.baselines[line] + (font.cap_height + font.x_height) / 4 * 17.0 == pytest.approx(0.0, abs=1e-5)


def test_a_draft_is_about_as_large_as_the_plate():
    ticket, _, orders = ordered(DEDICATED)
    context = PlateContext.of(ticket, face_of(FACE), cuts=False)
    draft, whole = draft_once(context, orders.orders[1]).plate.lettering, made(orders.orders[1], ticket).lettering
    assert draft.lines == whole.lines and draft.size == pytest.approx(whole.size, rel=0.03)


def test_the_name_and_its_second_line_as_lines_are_what_a_plate_without_lines_is():
    text = "name,line2\nWren Abara,\nZoë,and Tilo\n"
    styled, _, orders = ordered([LineKeys(text="{name}"), LineKeys(text="{line2}")], text)
    plain = replace(styled, line=())
    for order in orders.orders:
        one, other = made(order, styled).lettering, made(replace(order, styled=()), plain).lettering
        assert one.region.equals(other.region) and one == replace(other, region=one.region)
