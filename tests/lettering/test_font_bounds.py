"""Fonts that are broken, or larger than anything can work on: refused by name before a plate is made."""

import os
import random
import string
import struct
import warnings

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.misc.psCharStrings import T2CharString
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib.tables._g_l_y_f import Glyph, GlyphComponent

from nameplate.errors import FontError
from nameplate.plates.orders import make_orders
from nameplate.roster.reader import Roster, Row
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import Ticket
from nameplate.typesetting.fonts import load_font, load_fonts


def box(pen, letter):
    top = 700 if letter.isupper() else 500
    pen.moveTo((50, 0))
    for corner in ((50, top), (400, top), (400, 0)):
        pen.lineTo(corner)
    pen.closePath()


def built(letters=string.ascii_letters, *, cff=False, draw=box, space=True):
    """Give a builder of a font of blocks; `draw` draws the letters A and n."""
    fb = FontBuilder(1000, isTTF=not cff)
    names = [".notdef", *(["space"] if space else []), *letters]
    fb.setupGlyphOrder(names)
    fb.setupCharacterMap({**({0x20: "space"} if space else {}), **{ord(c): c for c in letters}})
    glyphs = {}
    for name in names:
        pen = T2CharStringPen(450, None) if cff else TTGlyphPen(None)
        if name in letters:
            (draw if name in "An" else box)(pen, name)
        glyphs[name] = pen.getCharString() if cff else pen.glyph()
    fb.setupCFF("Blocks", {"FullName": "Blocks"}, glyphs, {}) if cff else fb.setupGlyf(glyphs)
    fb.setupHorizontalMetrics(dict.fromkeys(names, (450, 50)))
    fb.setupHorizontalHeader(ascent=800, descent=-200)
    fb.setupNameTable({"familyName": "Blocks", "styleName": "Regular"})
    fb.setupOS2(fsType=0, sTypoAscender=800, sCapHeight=700, sxHeight=500)
    fb.setupPost(keepGlyphNames=False)
    return fb


def saved(fb, tmp_path):
    """Save in a folder of its own: what was read of a file is kept by its path."""
    folder = tmp_path / str(len(list(tmp_path.iterdir())))
    folder.mkdir()
    path = folder / "mine.ttf"
    fb.save(path)
    return path


def patched(path, tag, offset, data):
    """Overwrite bytes of a table of a saved font."""
    font = bytearray(path.read_bytes())
    for i in range(struct.unpack(">H", font[4:6])[0]):
        name, _, start, _ = struct.unpack(">4sLLL", font[12 + 16 * i : 28 + 16 * i])
        if name.decode() == tag:
            font[start + offset : start + offset + len(data)] = data
    path.write_bytes(font)


def refusal(path):
    """Give why a job with this font is refused; it must be before any plate is made, and without a warning."""
    ticket = Ticket(lettering=LetteringKeys(font=(path.name,)), folder=path.parent)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(FontError) as caught:
            make_orders(Roster((Row(2, "Ann"),)), ticket)
    assert all("mine.ttf" in p and len(p) < 500 for p in caught.value.problems)
    return str(caught.value)


@pytest.mark.parametrize("letters", [string.ascii_uppercase, "B", "αβγ", string.ascii_letters.replace("n", "")])
def test_a_font_without_a_small_n_is_refused(tmp_path, letters):
    assert "does not draw a small n, by which words are spaced" in refusal(saved(built(letters), tmp_path))


def test_a_font_without_a_space_or_with_a_blank_n_is_refused(tmp_path):
    assert "does not draw a space" in refusal(saved(built(space=False), tmp_path))
    assert "does not draw a small n" in refusal(saved(built(draw=lambda pen, letter: None), tmp_path))


def test_a_fallback_may_draw_the_n(tmp_path):
    path = saved(built("αβγ"), tmp_path)
    assert load_fonts([str(path), "Pacifico"])[0].name == "Blocks"


@pytest.mark.parametrize("letters", [string.ascii_letters.replace(c, "") for c in "xH"])
def test_other_letters_may_be_missing(tmp_path, letters):
    font = load_font(str(saved(built(letters), tmp_path)))
    assert 0.6 < font.cap_height < 0.8
    assert 0.4 < font.x_height < 0.6


@pytest.mark.parametrize("units", [0, 1, 15, 16385, 65535])
def test_units_in_the_em_must_be_what_the_standard_allows(tmp_path, units):
    # 16 to 16384: OpenType specification, table head, unitsPerEm (from memory)
    path = saved(built(), tmp_path)
    patched(path, "head", 18, struct.pack(">H", units))
    assert f"{units} units in the em" in refusal(path)


def scribble(lines):
    def draw(pen, letter):
        at = random.Random(2)
        pen.moveTo((0, 0))
        for _ in range(lines):
            pen.lineTo((at.randrange(500), at.randrange(700)))
        pen.closePath()

    return draw


def specks(count):
    def draw(pen, letter):
        for i in range(count):
            x, y = i % 25 * 20, i // 25 * 20
            pen.moveTo((x, y))
            for corner in ((x, y + 9), (x + 9, y + 9), (x + 9, y)):
                pen.lineTo(corner)
            pen.closePath()

    return draw


@pytest.mark.parametrize(
    ("draw", "why"),
    [
        (scribble(20_000), "more than 6000 points"),
        (scribble(2000), "crosses itself 1000 times or more"),
        (specks(61), "61 separate outlines, and a letter has at most 60"),
    ],
)
def test_letters_that_are_drawings_are_refused_with_a_figure(tmp_path, draw, why):
    assert why in refusal(saved(built(draw=draw), tmp_path))


def test_parts_that_hold_themselves_or_multiply_end(tmp_path):
    fb = built()
    fb.font.recalcBBoxes = False
    table = fb.font["glyf"]
    for name, of in [("n", "n"), *zip("ABCDEFG", "BCDEFGH", strict=True)]:
        glyph = Glyph()
        glyph.numberOfContours, glyph.components = -1, []
        glyph.xMin = glyph.yMin = glyph.xMax = glyph.yMax = 0
        for _ in range(40):
            part = GlyphComponent()
            part.glyphName, part.x, part.y, part.flags = of, 0, 0, 0x204
            glyph.components.append(part)
        table.glyphs[name] = glyph
    fb.font["maxp"].recalc = lambda font: None
    assert "small n" in refusal(saved(fb, tmp_path))


def _with_routines(fb, routines):
    fb.font.recalcBBoxes = False
    cff = fb.font["CFF "].cff
    for code in routines:
        string_ = T2CharString(bytecode=bytes(code))
        string_.globalSubrs = cff.GlobalSubrs
        cff.GlobalSubrs.append(string_)
    for name in "An":
        # 0 0 rmoveto, call routine 0, endchar (Adobe Technical Note 5177, from memory)
        cff.topDictIndex[0].CharStrings[name].setBytecode(bytes([139, 139, 21, 32, 29, 14]))
    return fb


def test_routines_that_call_themselves_or_multiply_end(tmp_path):
    assert "small n" in refusal(saved(_with_routines(built(cff=True), [[32, 29] * 3]), tmp_path))
    calls = [[32 + k + 1, 29] * 60 + [11] for k in range(8)]
    lines = [148, 148, 5, 130, 144, 5, 11]  # 9 9 rlineto, -9 5 rlineto, return
    assert "more than 6000 points" in refusal(saved(_with_routines(built(cff=True), [*calls, lines]), tmp_path))


def test_rules_that_multiply_letters_end(tmp_path):
    fb = built()
    many = " ".join("a" * 8)
    fb.addOpenTypeFeatures("feature ccmp {" + f"lookup M {{ sub a by {many}; }} M;" + "} ccmp;")
    wild = load_font(str(saved(fb, tmp_path)))
    assert wild.missing("ab") == ()
    fb = built()
    rules = "".join(f"lookup M{i} {{ sub a by {many}; }} M{i};" for i in range(12))
    calls = "".join(f"lookup M{i};" for i in range(12))
    fb.addOpenTypeFeatures(f"{rules} feature ccmp {{ {calls} }} ccmp;")
    assert load_font(str(saved(fb, tmp_path))).missing("ab") == ("a",)


@pytest.mark.parametrize("tag", ["loca", "glyf", "cmap", "hhea", "maxp", "OS/2", "hmtx", "name", "post"])
def test_tables_full_of_rubbish_are_refused_or_do_no_harm(tmp_path, tag):
    path = saved(built(), tmp_path)
    patched(path, tag, 12 if tag == "OS/2" else 4, b"\x7f\xff" * 20)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            font = load_fonts([str(path)])[0]
        except FontError as error:
            assert "mine.ttf" in str(error)
        else:
            assert font.x_height > 0
            assert font.cap_height > 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with a name")
def test_a_pipe_and_an_endless_device_are_refused(tmp_path):
    os.mkfifo(tmp_path / "mine.ttf")
    assert "is not an ordinary file" in refusal(tmp_path / "mine.ttf")


def test_the_folder_of_a_user_who_is_not_there():
    with pytest.raises(FontError, match="no such user's folder"):
        load_font("~nosuchuser/mine.ttf")


def test_a_rows_own_font_without_an_n_costs_that_row_only(tmp_path):
    folder = saved(built("B"), tmp_path).parent
    rows = (Row(2, "B", font="mine.ttf"), Row(3, "B", font="mine.ttf"), Row(4, "Bob"))
    orders = make_orders(Roster(rows), Ticket(folder=folder))
    assert [o.row for o in orders.orders] == [4]
    assert [f.row for f in orders.findings if "small n" in f.message] == [2, 3]
