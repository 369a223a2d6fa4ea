import pytest

from nameplate.geometry.region import bounds, from_ring, offset, sheared, solids, union
from nameplate.typesetting import metrics
from nameplate.typesetting.fonts import bundled_fonts, load_font
from nameplate.typesetting.glyph_outlines import letter_region

#: Measured with other code before this module was written: least width at which the main stroke splits, in em.
NECKS = {
    "Pacifico": 0.058,
    "Leckerli One": 0.052,
    "Lobster": 0.038,
    "Lobster Two Bold": 0.044,
    "Sacramento": 0.032,
    "Satisfy": 0.032,
    "Dancing Script Bold": 0.024,
    "Great Vibes": 0.014,
    "Oleo Script Bold": 0.060,
    "Playpen Sans ExtraBold": 0.090,
}
SLANTS = {"Pacifico": 6, "Great Vibes": 26.5, "Dancing Script Bold": 21, "Lobster": 12}


@pytest.mark.parametrize(("name", "neck"), NECKS.items())
def test_necks_of_the_bundled_fonts(name, neck):
    assert load_font(name).neck == pytest.approx(neck, abs=0.003)


@pytest.mark.parametrize(("name", "slant"), SLANTS.items())
def test_slants_of_slanted_fonts(name, slant):
    assert load_font(name).slant == pytest.approx(slant, abs=1.0)


def test_slant_of_stems_of_known_lean(monkeypatch):
    stems = union(*(from_ring([(x, 0), (x + 0.1, 0), (x + 0.1, 0.7), (x, 0.7)]) for x in (0.0, 0.3)))
    for lean in (-5.0, 0.0, 7.0, 18.5, 33.0):
        monkeypatch.setattr(metrics, "_letters", lambda source, alphabets, lean=lean: [sheared(stems, lean)])
        assert metrics.slant.__wrapped__(None) == pytest.approx(lean, abs=0.51)


def test_neck_of_a_dumb_bell_of_known_neck(monkeypatch):
    for width in (0.02, 0.05, 0.1):
        blocks = [from_ring([(x, 0), (x + 0.3, 0), (x + 0.3, 0.3), (x, 0.3)]) for x in (0.0, 0.5)]
        bar = from_ring(
            [(0.2, 0.15 - width / 2), (0.6, 0.15 - width / 2), (0.6, 0.15 + width / 2), (0.2, 0.15 + width / 2)]
        )
        shape = union(*blocks, bar)
        monkeypatch.setattr(metrics, "_bodies", lambda source, shape=shape: [shape])
        assert metrics.neck.__wrapped__(None) == pytest.approx(width, abs=2 * metrics.NECK_STEP)


@pytest.mark.parametrize("than", ["Pacifico", "Sacramento"])
def test_a_font_is_sturdier_than_another_when_its_neck_is_wider(than):
    fonts, other = [load_font(info.name) for info in bundled_fonts()], load_font(than)
    assert [font.is_sturdier(other) for font in fonts] == [font.neck > other.neck for font in fonts]


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_at_the_least_cap_height_every_small_letter_holds_the_web(info):
    font = load_font(info.name)
    em = font.least_cap_height(1.5) / font.cap_height
    for letter in "aeghnors":
        shape = letter_region(font.source, letter)
        body = max(solids(shape), key=lambda s: s.area)
        inner = offset(body, -0.5 * 1.5 / em * 0.98)
        assert sum(1 for s in solids(inner) if s.area > metrics.GRAIN_EM) == 1, letter


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_heights_are_those_of_the_drawn_letters(info):
    font = load_font(info.name)
    capital, small = (letter_region(font.source, c) for c in "Hx")
    assert font.cap_height == pytest.approx(bounds(capital).y1, rel=0.2)
    assert font.x_height == pytest.approx(bounds(small).y1, rel=0.2)
    assert font.x_height < font.cap_height


def test_a_wrong_stated_height_is_not_believed():
    # the OS/2 table of this font says 0.521; its capitals stand 0.75 high
    assert load_font("Leckerli One").cap_height == pytest.approx(0.75, abs=0.02)


def test_a_font_without_known_letters_still_has_heights(make_font):
    from fontTools.ttLib import TTFont

    path = make_font()
    font = TTFont(path)
    for table in font["cmap"].tables:
        table.cmap = {0x20: "space", 0x2460: "A"}
    font.save(path)
    loaded = load_font(str(path))
    assert 0 < loaded.x_height < loaded.cap_height
    assert loaded.slant == 0.0
