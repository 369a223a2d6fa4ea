import pickle
import unicodedata

import pytest

from nameplate.errors import FontError
from nameplate.geometry.region import bounds, distance, hausdorff, solids, union
from nameplate.typesetting import spacing
from nameplate.typesetting.fonts import bundled_fonts, load_font
from nameplate.typesetting.setting import SWASH, borrowed_letters
from nameplate.typesetting.ways import MOST_CANDIDATES
from tests.typesetting.ways import settings

PACIFICO = load_font("Pacifico")
#: Parts after welding in Pacifico, counted with other code before this module was written.
PARTS = {"Anna": 1, "Łukasz": 2, "Elizabeth": 2, "François": 3, "Müller": 3, "Jean-Luc": 4, "Maximilian": 4}


def ink(setting):
    return union(*(g.region for g in setting.glyphs))


def line_ink(setting, line):
    return union(*(g.region for g in setting.glyphs if g.line == line))


def word_ink(setting, word):
    return union(*(g.region for g in setting.glyphs if g.word == word))


@pytest.mark.parametrize(("name", "parts"), PARTS.items())
def test_parts_of_welded_names(name, parts):
    (setting,) = settings(name, "", PACIFICO, words="tie")
    assert len(solids(ink(setting))) == parts


def test_a_letter_and_its_marks_are_one_glyph():
    (setting,) = settings("Thị", "", PACIFICO, words="tie")
    assert [g.text for g in setting.glyphs] == ["T", "h", "ị"]
    assert len(solids(setting.glyphs[2].region)) == 3  # stem, dot above and dot below, kept together


def test_marks_set_by_the_shaper_are_kept_with_their_letter(make_font):
    font = load_font(str(make_font()))
    (setting,) = settings("ao\u0301", "", font, words="tie")
    assert [g.text for g in setting.glyphs] == ["a", unicodedata.normalize("NFC", "o\u0301")]
    assert len(solids(setting.glyphs[1].region)) == 2


def test_overlapping_strokes_are_united_but_letters_are_not_welded(make_font):
    font = load_font(str(make_font()))
    (setting,) = settings("AA", "", font, words="tie")
    assert [len(solids(g.region)) for g in setting.glyphs] == [1, 1]
    # two blocks 0.5 x 0.7 em, advance 0.6: the second starts 0.1 em after the first ends
    assert ink(setting).area == pytest.approx(2 * 0.5 * 0.7)
    assert distance(setting.glyphs[0].region, setting.glyphs[1].region) == pytest.approx(0.1)


def test_auto_offers_one_line_and_the_best_of_several():
    found = settings("Nguyễn Thị Ánh", "", PACIFICO, words="auto")
    broken = [("Nguyễn", "Thị Ánh"), ("Nguyễn Thị", "Ánh"), ("Nguyễn", "Thị", "Ánh")]
    assert [s.lines for s in found] == [("Nguyễn Thị Ánh",), *broken]
    assert [s.mode for s in found] == ["tie", "stack", "stack", "stack"]
    assert len(settings("Ab Cd Ef Gh Ij Kl Mn", "Op Qr", PACIFICO, words="auto")) <= MOST_CANDIDATES


@pytest.mark.parametrize(
    ("name", "line2", "words", "lines"),
    [
        ("Anna Lee", "", "tie", [("Anna Lee",)]),
        ("Anna Lee", "", "loose", [("Anna Lee",)]),
        ("Anna Lee", "", "stack", [("Anna", "Lee")]),
        ("Anna", "", "auto", [("Anna",)]),
        ("Jean-Luc", "", "auto", [("Jean-Luc",), ("Jean-", "Luc")]),
        ("Ida Ek-Torre", "", "stack", [("Ida", "Ek-Torre")]),
        ("J-P - Q", "", "auto", [("J-P - Q",)]),
        ("van Dael", "", "auto", [("van Dael",)]),
        ("Wm. Dael", "", "auto", [("Wm. Dael",), ("Wm.", "Dael")]),
        ("van Dael", "", "stack", [("van", "Dael")]),
        ("Anna", "of the Orchard", "tie", [("Anna", "of the Orchard")]),
        ("  Anna   Lee ", "", "tie", [("Anna Lee",)]),
    ],
)
def test_lines_by_words(name, line2, words, lines):
    assert [s.lines for s in settings(name, line2, PACIFICO, words=words)] == lines


def test_line2_always_starts_a_line():
    for setting in settings("Anna Lee", "Old Orchard", PACIFICO, words="auto"):
        joined = [line.split() for line in setting.lines]
        starts = [sum(len(x) for x in joined[:i]) for i in range(len(joined))]
        assert 2 in starts


def test_words_and_lines_are_numbered_over_the_whole_setting():
    (setting,) = settings("Wm. Fitzgerald III", "", PACIFICO, words="stack")
    assert setting.lines == ("Wm.", "Fitzgerald III")
    text = {w: "".join(g.text for g in setting.glyphs if g.word == w) for w in range(3)}
    assert text == {0: "Wm.", 1: "Fitzgerald", 2: "III"}
    assert {g.line for g in setting.glyphs if g.word > 0} == {1}


def test_punctuation_belongs_to_its_word():
    (setting,) = settings("Jean-Luc O’Brien", "", PACIFICO, words="tie")
    assert {g.word for g in setting.glyphs if g.text in "’Brien" and g.word} == {1}
    assert [g.word for g in setting.glyphs if g.text == "-"] == [0]
    assert [g.word for g in setting.glyphs if g.text == "’"] == [1]


@pytest.mark.parametrize(("align", "side"), [("left", "x0"), ("right", "x1")])
def test_lines_are_flush_where_they_align(align, side):
    (setting,) = settings("Peggy Abernathy", "in memory of Jo", PACIFICO, words="stack", align=align)
    assert len(setting.lines) == 3
    assert [getattr(bounds(ink), side) for ink in setting.inks] == pytest.approx([0.0] * 3, abs=1e-6)


def test_ink_that_hangs_out_past_the_small_letters_is_no_part_of_the_body():
    (setting,) = settings("no", "", PACIFICO, words="tie")
    small = bounds(setting.shape)
    assert setting.body == (pytest.approx(small.x0 - SWASH, abs=0.02), pytest.approx(small.x1 + SWASH, abs=0.02))


def test_the_first_baseline_is_zero_and_lines_are_centred():
    found = settings("Peggy Young", "", PACIFICO, words="auto")
    for setting in found:
        first = line_ink(setting, 0)
        assert bounds(first).y0 < 0 < bounds(first).y1
        for line in range(len(setting.lines)):
            assert abs(spacing.aligned(line_ink(setting, line), "centre")) < 1e-3


def test_three_lines_stand_nearly_as_far_apart_whatever_hangs_down():
    (setting,) = settings("Maria Peggy Lee", "", PACIFICO, words="stack")
    first, second, third = setting.baselines
    assert min(first - second, second - third) >= spacing.EVEN * max(first - second, second - third) - 1e-9
    assert distance(line_ink(setting, 1), setting.inks[2]) >= spacing.LINE_GAP - 2 * spacing.STEP
    assert hausdorff(setting.inks[2], line_ink(setting, 2)) < 0.005


@pytest.mark.parametrize("font", [i.name for i in bundled_fonts()])
@pytest.mark.parametrize("name", ["Peggy Young", "Jean-Luc O'Brien", "Ada Flynn"])
def test_stacked_lines_are_near_but_never_touch(font, name):
    (setting,) = settings(name, "", load_font(font), words="stack")
    gap = distance(line_ink(setting, 0), line_ink(setting, 1))
    assert gap >= spacing.LINE_GAP - 2 * spacing.STEP
    upper, lower = line_ink(setting, 0), line_ink(setting, 1)
    baseline = bounds(lower).y0 - min(
        0.0, bounds(line_ink(settings(setting.lines[1], "", load_font(font), words="tie")[0], 0)).y0
    )
    assert bounds(upper).y0 >= baseline + setting.x_height + spacing.DESCENDER_GAP - 1e-6


@pytest.mark.parametrize("font", [i.name for i in bundled_fonts()])
def test_tied_words_keep_their_share_of_the_fonts_space_and_stand_apart(font):
    (tied,) = settings("Ada Young", "", load_font(font), words="tie")
    (loose,) = settings("Ada Young", "", load_font(font), words="loose")
    (wide,) = settings("Ada Young", "", load_font(font), words="tie", word_space=1.5)
    assert bounds(ink(wide)).width >= bounds(ink(loose)).width >= bounds(ink(tied)).width - spacing.WORD_SPACE
    assert distance(word_ink(tied, 0), word_ink(tied, 1)) >= spacing.WORD_GAP - 0.002
    assert distance(word_ink(loose, 0), word_ink(loose, 1)) >= spacing.LOOSE_GAP - 0.002


def test_metrics_of_the_font_travel_with_the_setting():
    (setting,) = settings("Anna", "", PACIFICO, words="tie")
    assert (setting.cap_height, setting.x_height, setting.slant) == (
        PACIFICO.cap_height,
        PACIFICO.x_height,
        PACIFICO.slant,
    )
    assert pickle.loads(pickle.dumps(setting)) == setting


def test_what_cannot_be_set_is_said():
    with pytest.raises(FontError, match="U\\+03BB"):
        settings("Eλ", "", PACIFICO, words="tie")


def test_finer_flatness_gives_more_points_and_the_same_letters():
    (coarse,) = settings("Anna", "", PACIFICO, words="tie", flatness=1e-3)
    (fine,) = settings("Anna", "", PACIFICO, words="tie", flatness=1e-5)
    count = [sum(len(s.exterior.coords) for g in s0.glyphs for s in solids(g.region)) for s0 in (coarse, fine)]
    assert count[1] > 5 * count[0]
    assert ink(coarse).area == pytest.approx(ink(fine).area, rel=0.01)


def test_fallback_letters_match_in_height_and_are_named():
    main, other = load_font("Leckerli One"), load_font("Pacifico")
    (setting,) = settings("Łukasz", "", main, words="tie", fallbacks=[other])
    (note,) = borrowed_letters("Łukasz", setting)
    assert (note.code, note.severity) == ("fallback-font", "note")
    assert "Leckerli One has no Ł; taken from Pacifico" in note.message
    (small,) = settings("ý", "", other, words="tie")
    (scaled,) = settings("ěx", "", main, words="tie", fallbacks=[other])
    ratio = main.x_height / other.x_height
    assert bounds(scaled.glyphs[0].region).y1 == pytest.approx(
        bounds(settings("ě", "", other, words="tie")[0].glyphs[0].region).y1 * ratio, abs=1e-6
    )
    assert list(borrowed_letters("x", small)) == []


def test_without_fallbacks_a_missing_letter_is_refused():
    with pytest.raises(FontError, match="Ł"):
        settings("Łukasz", "", load_font("Leckerli One"), words="tie")


def test_weight_axis_of_a_variable_font_reaches_the_letters(variable_font):
    widths = [
        bounds(ink(settings("a", "", load_font(str(variable_font), axes={"wght": w}), words="tie")[0])).width
        for w in (100, 500, 900)
    ]
    assert widths == pytest.approx([0.4, 0.5, 0.6])


def test_lines_of_loose_words_stand_as_far_apart_as_the_words_do():
    (loose,) = settings("Aña Núñez", "Apple row", load_font("Great Vibes"), words="loose")
    lines = [union(*(g.region for g in loose.glyphs if g.line == line)) for line in (0, 1)]
    assert distance(*lines) >= spacing.LOOSE_GAP - 0.003
