"""Lines that are scored on the plaque: where they lie and how large, against outlines that fontTools draws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import uharfbuzz as hb
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

from nameplate.geometry import region as rg
from nameplate.plates.make import PlateContext, make_work
from nameplate.plates.orders import make_orders
from nameplate.roster.delimited_text import read_text_table
from nameplate.roster.reader import rows_of
from nameplate.ticket.lettering_schema import LetteringKeys, LineKeys
from nameplate.ticket.schema import JigKeys, Ticket
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS
from nameplate.typesetting.fonts import load_font

from .contexts import FACE, draft_once, face_of, plate_once

CUT = replace(FACE, cut=True)
LINES = (
    LineKeys(text="In memory of", font=("Satisfy",), scale=0.45, operation="score"),
    LineKeys(text="{name}"),
    LineKeys(text="{dates}", scale=0.4, operation="score"),
)
LIST = "name,dates,mount\nWren Abara,1931 to 2012,\n"
SMALLER = "name,dates,size{0}\nWren Abara,1931 to 2012,17{1}\n"


def made(lines=LINES, *, face=CUT, text=LIST, jig="none", draft=False, words="tie", strengthen=False, **keys):
    ticket = Ticket(
        face=face,
        lettering=LetteringKeys(words=words, strengthen=strengthen, **keys),
        jig=JigKeys(style=jig),
        line=lines,
    )
    ticket = replace(ticket, material=DEFAULT_MATERIALS)
    roster = rows_of(read_text_table(text.encode(), "list.csv"), "list.csv", lettered=("dates",))
    (order,) = make_orders(roster, ticket).orders
    context = PlateContext.of(ticket, face_of(face), cuts=not draft)
    return draft_once(context, order).plate if draft else plate_once(context, order)[0]


def part(plate, kind):
    return next(p for p in plate.parts if p.kind == kind)


def drawn_box(font, text):
    """Give the box of a line of text, in em from its first pen position, as HarfBuzz and fontTools have it."""
    path = load_font(font).path
    face, buffer, pen_x = hb.Face(hb.Blob.from_file_path(str(path))), hb.Buffer(), 0
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(hb.Font(face), buffer)
    with TTFont(path) as file:
        glyphs, names = file.getGlyphSet(), file.getGlyphOrder()
        bounds = BoundsPen(glyphs)
        for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
            glyphs[names[info.codepoint]].draw(TransformPen(bounds, (1, 0, 0, 1, pen_x + at.x_offset, at.y_offset)))
            pen_x += at.x_advance
    return [value / face.upem for value in bounds.bounds]


@pytest.mark.parametrize("mark", ["outline", "hatch"])
def test_scored_lines_are_the_fonts_outlines_at_their_size_and_place(mark):
    lines = (replace(LINES[0], text="Memory"), LINES[1], replace(LINES[2], text="1931"))
    plate = made(lines, mark=mark)
    lettering, marks = plate.lettering, part(plate, "blank").marks
    for number, font, text in ((0, "Satisfy", "Memory"), (2, "Pacifico", "1931")):
        place, baseline = lettering.line_places[number], lettering.baselines[number]
        assert place.scored and place.font == font
        x0, y0, x1, y1 = (place.size * value for value in drawn_box(font, text))
        low, high = baseline + y0, baseline + y1
        mine = [line for line in marks if low - 0.5 < line[:, 1].mean() < high + 0.5]
        box = [*np.vstack(mine).min(axis=0), *np.vstack(mine).max(axis=0)]
        # joins of a script may be closed by a twentieth of an em each; the height and the foot are the font's own
        assert box[1] == pytest.approx(low, abs=0.02) and box[3] == pytest.approx(high, abs=0.02)
        assert x1 - x0 - 0.05 * place.size * len(text) <= box[2] - box[0] <= x1 - x0 + 0.02
        assert (box[0] + box[2]) / 2 == pytest.approx(place.x, abs=0.05)
    closed = [line for line in marks if np.array_equal(line[0], line[-1])]
    assert len(closed) >= 8 and (len(closed) == len(marks)) == (mark == "outline")


def test_the_block_keeps_its_proportions_and_what_is_cut_is_tied_to_nothing_scored():
    plate, tied = made(), made(tuple(replace(line, operation="cut") for line in LINES))
    assert len(rg.solids(plate.lettering.region)) == 1
    small, name, dates = plate.lettering.line_places
    heights = load_font("Satisfy").x_height / load_font("Pacifico").x_height
    assert small.size * heights / name.size == pytest.approx(0.45) and dates.size / name.size == pytest.approx(0.4)
    assert rg.distance(plate.lettering.region, plate.lettering.scored) > 1.0
    assert rg.covers(face_of(CUT).zone, plate.lettering.whole)
    assert rg.bounds(plate.lettering.region).height < 0.7 * rg.bounds(tied.lettering.region).height
    # the font's hairlines stay as they are where they are scored
    assert plate.lettering.scored.area < 0.8 * (tied.lettering.region.area - plate.lettering.region.area)


def test_a_template_has_a_window_for_the_name_alone():
    plate = made(jig="template")
    (window,) = [shape for name, shape in part(plate, "template").features if name == "window"]
    region = plate.lettering.region
    assert rg.covers(window, rg.offset(region, 0.19)) and rg.covers(rg.offset(rg.filled(region), 0.9), window)
    assert not rg.intersects(window, plate.lettering.scored)


def test_a_pierced_plate_is_cut_through_and_scored():
    plate = made(face=FACE, text="name,dates,mount\nBo,1931,\n", mount="pierced")
    (blank,) = plate.parts
    assert blank.kind == "blank" and len(rg.solids(blank.region)) == 1
    inside = rg.offset(plate.lettering.scored, 1e-6)
    assert blank.marks and all(rg.covers(inside, rg.capsule(line, 1e-7)) for line in blank.marks)
    assert rg.covers(blank.region, plate.lettering.scored)


def test_a_plate_with_scored_lines_is_burned_true():
    ticket = Ticket(face=CUT, lettering=LetteringKeys(arc=90.0), line=LINES, material=DEFAULT_MATERIALS)
    roster = rows_of(read_text_table(LIST.encode(), "list.csv"), "list.csv", lettered=("dates",))
    (order,) = make_orders(roster, ticket).orders
    work = make_work(PlateContext.of(ticket, face_of(CUT)), order)
    assert not [f for f in work.plate.findings if f.severity == "error"]
    assert {path.kind for path in work.toolpaths} == {"lettering", "blank", "template"}
    assert next(path for path in work.toolpaths if path.kind == "blank").marks


def test_a_backing_that_would_cover_a_line_is_refused_with_a_gap_that_does():
    plate = made(mount="backed")
    (finding,) = [f for f in plate.findings if f.severity == "error"]
    assert finding.code == "score-covered" and "under the backing" in finding.message
    gap = float(finding.message.split("gap = ")[1].split(" ")[0])
    plate = made(tuple(replace(line, gap=gap) for line in LINES), mount="backed", min_web=1.2)
    assert plate.lettering is not None
    assert not rg.intersects(part(plate, "backing").region, plate.lettering.scored)


def test_of_a_marked_plate_all_lines_are_scored_alike():
    one, other = (
        made(lines, face=FACE, mount="marked") for lines in (LINES, [replace(x, operation="cut") for x in LINES])
    )
    assert one.lettering.region.equals(other.lettering.region) and one.lettering.scored.is_empty


def test_a_scored_line_may_be_smaller_than_one_that_is_cut_and_is_still_judged():
    lines = (replace(LINES[0], scale=0.2), LINES[1])
    assert made(lines).lettering is not None
    assert made(tuple(replace(line, operation="cut") for line in lines)).lettering is None
    (finding,) = [f for f in made((replace(LINES[0], scale=0.06), LINES[1])).findings if f.severity == "error"]
    assert finding.code == "letters-too-small" and "In memory of" in finding.message
    small = [f for f in made(lines).findings if f.code == "small-text"]
    assert any("“In memory of”" in f.message for f in small)


def test_a_name_moved_by_hand_takes_its_scored_lines_along():
    plate, there = (made(text=SMALLER.format(*row)) for row in (("", ""), (",dx", ",1.5")))
    assert rg.hausdorff(rg.moved(plate.lettering.scored, 1.5), there.lettering.scored) < 1e-9
    # the name alone would have room so far up, and the line above it has not
    fits = [dy for dy in range(1, 30) if rg.covers(face_of(CUT).zone, rg.moved(plate.lettering.region, 0, dy))]
    off = made(text=SMALLER.format(",dy", f",{fits[-1]}"))
    assert off.lettering is None and off.findings[0].code == "moved-out"


def test_a_draft_is_about_as_large_and_counts_only_what_is_cut():
    draft, plate = (made(draft=draft, jig="template", strengthen=True).lettering for draft in (True, False))
    assert draft.lines == plate.lines and draft.size == pytest.approx(plate.size, rel=0.03)
    assert draft.region.area == pytest.approx(plate.region.area, rel=0.12)


def test_rows_that_cannot_have_their_scored_lines_are_refused_with_what_to_do():
    ticket = Ticket(face=FACE, lettering=LetteringKeys(mount="pierced"), line=LINES)
    text = "name,dates,mount\nWren,1931,applied\nBo,1940,pierced\n"
    roster = rows_of(read_text_table(text.encode(), "list.csv"), "list.csv", lettered=("dates",))
    found = [f for f in make_orders(roster, ticket).findings if f.code == "no-plaque"]
    assert [f.row for f in found] == [2] and "write cut = true below [face]" in found[0].message
    lines = (LINES[0], replace(LINES[1], text="{dates}"))
    roster = rows_of(read_text_table(b"name,dates\nWren,\n", "list.csv"), "list.csv", lettered=("dates",))
    (finding,) = [f for f in make_orders(roster, replace(ticket, line=lines)).findings if f.severity == "error"]
    assert finding.code == "no-text" and finding.row == 2 and "scored" in finding.message
