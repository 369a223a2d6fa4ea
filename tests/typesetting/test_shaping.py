import unicodedata

import pytest

from nameplate.errors import FontError
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.glyph_outlines import Source, opened
from nameplate.typesetting.shaping import language_of, parse_feature, shape

PACIFICO = load_font("Pacifico").source


def test_anna_in_pacifico():
    # shaped by HarfBuzz with Pacifico 3.001: A n n a.fina, advances 786 + 496 + 496 + 458
    glyphs = shape(PACIFICO, "Anna")
    assert [g.advance for g in glyphs] == [786, 496, 496, 458]
    assert [g.x for g in glyphs] == [0, 786, 1282, 1778]
    assert [opened(PACIFICO).get_glyph_name(g.gid) for g in glyphs] == ["A", "n", "n", "a.fina"]


def test_the_last_letter_of_each_word_has_its_final_form():
    names = [opened(PACIFICO).get_glyph_name(g.gid) for g in shape(PACIFICO, "Anna Anna")]
    assert names.count("a.fina") == 2


def test_composed_and_decomposed_text_give_the_same_glyphs():
    # 3170 units wide in Pacifico 3.001
    composed, parts = (unicodedata.normalize(form, "Nguyễn") for form in ("NFC", "NFD"))
    assert composed != parts
    assert shape(PACIFICO, composed) == shape(PACIFICO, parts)
    assert sum(g.advance for g in shape(PACIFICO, composed)) == 3170


def test_features_are_the_users_choice():
    with_forms = [g.gid for g in shape(PACIFICO, "Anna")]
    without = [g.gid for g in shape(PACIFICO, "Anna", ("-fina", "-calt"))]
    assert with_forms != without or "fina" not in _features(PACIFICO)
    assert opened(PACIFICO).get_glyph_name(without[-1]) == "a"


def _features(source: Source) -> set[str]:
    import uharfbuzz as hb

    return set(hb.ot_layout_language_get_feature_tags(opened(source).face, "GSUB", 0, 0xFFFF))


@pytest.mark.parametrize("bad", ["", "liga2", "ss", "-salt=2", "kern=x", "é123", "li ga"])
def test_malformed_features_are_refused(bad):
    with pytest.raises(FontError, match="not a font feature"):
        parse_feature(bad)


@pytest.mark.parametrize(("text", "letter"), [("Ελένη", "U+0395"), ("漢字", "U+6F22")])
def test_letters_the_font_has_not_are_named_with_code_point(text, letter):
    with pytest.raises(FontError) as caught:
        shape(PACIFICO, text)
    assert letter in str(caught.value)


@pytest.mark.parametrize("text", ["محمد", "דוד"])
def test_right_to_left_text_is_refused_not_reversed(text):
    with pytest.raises(FontError, match="right to left"):
        shape(PACIFICO, text)


def test_a_mark_shares_its_letters_cluster(make_font):
    glyphs = shape(Source(make_font()), "ao\u0301A")
    assert [g.cluster for g in glyphs] == [0, 1, 1, 2]  # positions in the composed text


def test_language_decides_national_forms():
    assert [language_of(t) for t in ("İlker", "Ștefan", "Ђорђе", "Київ", "Jean", "")] == [
        "tr",
        "ro",
        "sr",
        "uk",
        "en",
        "en",
    ]


def test_empty_text_shapes_to_nothing():
    assert shape(PACIFICO, "") == ()
