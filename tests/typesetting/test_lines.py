import pytest

from nameplate.errors import FontError
from nameplate.geometry.region import bounds
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.lines import Typeface, compose, ink, runs, width, words_of

PACIFICO = Typeface(load_font("Pacifico"))
LECKERLI = Typeface(load_font("Leckerli One"))
PLAYPEN = Typeface(load_font("Playpen Sans ExtraBold"))


def texts(text, typefaces):
    return [(text[r.start : r.end], r.typeface.font.name) for r in runs(text, typefaces)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Anna Lee", [("Anna Lee", "Pacifico")]),
        ("Ελένη Lee", [("Ελένη ", "Playpen Sans ExtraBold"), ("Lee", "Pacifico")]),
        ("Anna Анна", [("Anna ", "Pacifico"), ("Анна", "Pacifico")]),  # two scripts are shaped apart
        ("O’Brien-Łys 3", [("O’Brien-Łys 3", "Pacifico")]),  # punctuation and figures go with the script around them
        ("", []),
    ],
)
def test_runs_of_one_font_and_one_script(text, expected):
    assert texts(text, [PACIFICO, PLAYPEN]) == expected


def test_the_first_font_that_has_a_letter_draws_it():
    assert texts("Nguyễn", [LECKERLI, PACIFICO]) == [
        ("Nguy", "Leckerli One"),
        ("ễ", "Pacifico"),
        ("n", "Leckerli One"),
    ]
    line = compose("Nguyễn", [LECKERLI, PACIFICO])
    assert "".join(letter.text for letter in line) == "Nguyễn"
    assert [letter.font for letter in line if letter.text == "ễ"] == ["Pacifico"]


def test_a_letter_that_no_font_has_is_refused():
    with pytest.raises(FontError, match=r"U\+6F22"):
        compose("A漢", [LECKERLI, PACIFICO])


def test_letters_stand_where_the_shaper_puts_them():
    # Pacifico 3.001, shaped by HarfBuzz: A at 0, n at 786, n at 1282, a at 1778, 2236 wide
    line = compose("Anna", [PACIFICO])
    assert [round(letter.glyphs[0].x, 6) for letter in line] == [0.0, 0.786, 1.282, 1.778]
    assert width("Anna", [PACIFICO]) == pytest.approx(2.236)


def test_a_scaled_typeface_draws_scaled_letters(make_font):
    font = load_font(str(make_font()))
    (letter,) = compose("A", [Typeface(font, 0.5)])
    box = bounds(letter.region(1e-4))
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((0.025, 0, 0.275, 0.35))
    assert width("AA", [Typeface(font, 0.5)]) == pytest.approx(0.6)


def test_words_are_counted_on():
    line = compose("Ada Lee", [PACIFICO], first_word=3)
    assert ["".join(letter.text for letter in word) for word in words_of(line)] == ["Ada", "Lee"]
    assert [word[0].word for word in words_of(line)] == [3, 4]


def test_ink_moves_with_its_letters():
    line = compose("Ada", [PACIFICO])
    moved = tuple(letter.moved(2.0, -1.0) for letter in line)
    a, b = bounds(ink(line)), bounds(ink(moved))
    assert (b.x0 - a.x0, b.y0 - a.y0, b.width - a.width) == pytest.approx((2.0, -1.0, 0.0), abs=1e-9)
