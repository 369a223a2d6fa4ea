import pytest

from nameplate.geometry.region import bounds, distance, intersection, intersects, rectangle, solids, union
from nameplate.typesetting.fonts import bundled_fonts, load_font
from nameplate.typesetting.underline import CLEAR, DESCENDER_CLEAR, FOOTING, THICKEST, THINNEST
from tests.typesetting.ways import settings


def parts(setting):
    letters = [g for g in setting.glyphs if g.text]
    bar = [g for g in setting.glyphs if not g.text]
    return letters, bar


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_the_bar_holds_the_words_of_every_font(info):
    (setting,) = settings("Ada Lorne", "", load_font(info.name), words="bar")
    letters, bar = parts(setting)
    assert setting.mode == "bar" and bar
    first, second = (union(*(g.region for g in letters if g.word == w)) for w in (0, 1))
    gap_middle = (bounds(first).x1 + bounds(second).x0) / 2
    under_gap = [g for g in bar if bounds(g.region).x0 < gap_middle < bounds(g.region).x1]
    assert len(under_gap) == 1
    held = under_gap[0].region
    assert intersects(held, first) and intersects(held, second)
    for piece in bar:
        box = bounds(piece.region)
        assert len(solids(piece.region)) == 1
        assert box.y1 == pytest.approx(FOOTING, abs=0.002)
        assert THINNEST - 0.002 <= box.height <= THICKEST + 0.002


def test_the_bar_leaves_room_round_descenders():
    (setting,) = settings("Maggie", "", load_font("Pacifico"), words="bar")
    letters, bar = parts(setting)
    assert len(bar) >= 2
    below = -THICKEST
    for g in letters:
        if g.text == "g":
            box = bounds(g.region)
            tail = intersection(g.region, rectangle(box.x0, box.y0, box.x1, below))
            assert min(distance(tail, piece.region) for piece in bar) >= DESCENDER_CLEAR - 0.003


def test_a_line_without_descenders_has_one_bar():
    (setting,) = settings("Anna", "", load_font("Pacifico"), words="bar")
    assert len(parts(setting)[1]) == 1


def test_each_line_has_its_bar_and_they_do_not_touch():
    (setting,) = settings("Anna Lee", "Orchard", load_font("Pacifico"), words="bar")
    assert setting.lines == ("Anna Lee", "Orchard")
    by_line = [union(*(g.region for g in setting.glyphs if g.line == line)) for line in (0, 1)]
    assert all(any(not g.text and g.line == line for g in setting.glyphs) for line in (0, 1))
    assert distance(*by_line) > 0.05


def test_the_bar_does_not_hang_out_under_a_swash():
    font = load_font("Great Vibes")
    (setting,) = settings("Yves Fay", "", font, words="bar")  # the swash of the Y curls up left of its foot
    letters, bar = parts(setting)
    capital = bounds(letters[0].region)
    foot = intersection(letters[0].region, rectangle(capital.x0, 0.0, capital.x1, 0.3 * font.x_height))
    assert bounds(foot).x0 > capital.x0 + 0.2
    assert min(bounds(g.region).x0 for g in bar) >= bounds(foot).x0


def test_a_bar_that_holds_nothing_is_a_line_of_its_own():
    font = load_font("Great Vibes")
    (setting,) = settings("Peggy Fay", "", font, words="bar", holding=False)
    letters, bar = parts(setting)
    assert len(bar) >= 3  # it lets the descenders pass
    ink, line = (union(*(g.region for g in glyphs)) for glyphs in (letters, bar))
    assert distance(ink, line) >= DESCENDER_CLEAR - 0.003
    assert bounds(line).y1 == pytest.approx(-CLEAR, abs=0.002)
