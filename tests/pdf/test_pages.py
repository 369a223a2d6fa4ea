"""Pages are read back and drawn by another program's library (PDFium)."""

import ctypes
import itertools
import unicodedata
from pathlib import Path

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from nameplate.pdf.pages import OnPage, PdfPages, Stroke
from nameplate.pdf.paper import A4, PAPERS
from nameplate.pdf.text_face import FILE, broken, fitted, lacking, width_of

ROOT = Path(__file__).parents[2]
FACE = TTFont(ROOT.joinpath("nameplate", "pdf", *FILE))
SQUARE = np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)])


def letters_of(path):
    """The letters and marks of a font, by fontTools."""
    return {c for c in TTFont(path).getBestCmap() if unicodedata.category(chr(c))[0] in "LM"}


def opened(data):
    import pypdfium2

    return pypdfium2.PdfDocument(data)


def one_page(draw, paper=A4):
    pages = PdfPages(paper, title="Orchard")
    draw(pages)
    pages.next_page()
    return pages.data()


def picture(data, dots=10):
    """The first page as an array of colours, (0, 0) at its upper left corner, so many dots to the mm."""
    document = opened(data)
    drawn = np.array(document[0].render(scale=dots * 25.4 / 72, rev_byteorder=True).to_numpy())[..., :3]
    document.close()
    return drawn


def embedded_fonts(data):
    """Of each text of all pages the name of its font, and whether that is embedded."""
    from pypdfium2 import raw

    document = opened(data)
    found = set()
    for page in document:
        for text in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            font = raw.FPDFTextObj_GetFont(text)
            name = ctypes.create_string_buffer(200)
            raw.FPDFFont_GetBaseFontName(font, name, 200)
            found.add((name.value.decode(), bool(raw.FPDFFont_GetIsEmbedded(font))))
    return found


def test_the_text_face_has_every_letter_of_the_bundled_fonts():
    fonts = sorted((ROOT / "fonts").glob("*/*.ttf"))
    assert len(fonts) == 10
    missing = set().union(*map(letters_of, fonts)) - set(FACE.getBestCmap())
    assert sorted(map(chr, missing)) == []
    assert "SIL Open Font License" in (ROOT / "nameplate/pdf" / FILE[0] / "LICENSE.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", PAPERS)
def test_a_page_has_the_size_of_its_paper(name):
    (page,) = opened(one_page(lambda pages: None, PAPERS[name]))
    size = [side * 25.4 / 72 for side in page.get_size()]
    assert size == pytest.approx((PAPERS[name].width, PAPERS[name].height), abs=0.01)


def test_texts_can_be_searched_and_their_font_is_embedded():
    text = "Łucja O’Tarn & Nguyễn Thị Ánh – Ελένη Ξ, Żółć"
    data = one_page(lambda pages: pages.text(20, 30, text, 12))
    assert opened(data)[0].get_textpage().get_text_range() == text
    ((font, embedded),) = embedded_fonts(data)
    assert (font, embedded) == ("NotoSans-Regular", True)
    assert b"Helvetica" not in data


def test_a_letter_that_the_face_lacks_is_a_sign_and_is_known():
    assert lacking("Zoë 漢 漢\U0001f333") == "漢\U0001f333"
    data = one_page(lambda pages: pages.text(20, 30, "Zoë 漢\n\U0001f333", 12))
    assert opened(data)[0].get_textpage().get_text_range() == "Zoë \ufffd \ufffd"


def test_a_file_says_what_it_is_and_nothing_of_clocks_or_people():
    pages = PdfPages(A4, title="Zoë’s orchard: proof")
    pages.next_page()
    told = opened(pages.data()).get_metadata_dict(skip_empty=True)
    assert (told["Title"], told["Creator"]) == ("Zoë’s orchard: proof", "nameplate")
    assert not {"Author", "Subject", "Keywords"} & set(told) and told["CreationDate"].startswith("D:20000101")


def test_the_same_drawing_gives_the_same_bytes():
    def draw(pages):
        pages.text(20, 30, "Wren Abara", 12)
        pages.outlines([SQUARE], OnPage(50, 100), fill="#aa0000", stroke=Stroke(0.3, dashed=True))

    assert one_page(draw) == one_page(draw)


def test_widths_are_those_of_the_font():
    cmap, advances, em = FACE.getBestCmap(), FACE["hmtx"], FACE["head"].unitsPerEm
    text = "Wren Ábara"
    units = sum(advances[cmap[ord(letter)]][0] for letter in text)
    assert width_of(text, 12) == pytest.approx(units / em * 12 * 25.4 / 72, rel=1e-3)


def test_an_outline_lies_where_it_is_placed_at_its_scale():
    data = one_page(lambda pages: pages.outlines([SQUARE, SQUARE / 2], OnPage(50, 100, 2.0), fill="#aa0000"))
    red = (picture(data) == (0xAA, 0, 0)).all(axis=-1)
    ys, xs = np.nonzero(red)
    # 40 by 20 mm at half size, up from (50, 100); the smaller ring within is a hole
    assert (xs.min(), xs.max() + 1, ys.min(), ys.max() + 1) == pytest.approx((500, 700, 900, 1000), abs=1)
    assert red.sum() == pytest.approx(200 * 100 * 3 / 4, rel=0.02)


def test_lines_have_their_width_whatever_the_scale():
    for scale in (0.5, 1.0, 4.0):
        data = one_page(
            lambda pages, scale=scale: pages.outlines(
                [SQUARE * scale], OnPage(50, 100, scale), stroke=Stroke(1.0, "#0000ff"), closed=False
            )
        )
        column = (picture(data)[:, 700] == (0, 0, 255)).all(axis=-1)
        assert column.sum() == pytest.approx(20, abs=2)  # an open square still has two sides across


def test_text_is_broken_between_words_and_no_line_is_too_wide():
    text = "Maximiliane Oberwieser and the children of the seventh class"
    lines = broken(text, 10, 40)
    assert " ".join(lines) == text and max(width_of(line, 10) for line in lines) <= 40
    assert all(width_of(f"{a} {b.split()[0]}", 10) > 40 for a, b in itertools.pairwise(lines))
    long = broken("Llanfairpwllgwyngyll" * 3, 10, 40)
    assert "".join(long) == "Llanfairpwllgwyngyll" * 3 and max(width_of(line, 10) for line in long) <= 40


def test_text_is_set_as_large_as_it_fits_without_a_word_cut():
    assert fitted("Wren Abara", 30, sizes=(12.0, 6.0), lines=1) == (12.0, ("Wren Abara",))
    size, lines = fitted("Maximiliane Oberwieser", 30, sizes=(20.0, 12.0, 6.0), lines=2)
    assert (size, lines) == (12.0, ("Maximiliane", "Oberwieser"))
    size, lines = fitted("word " * 40, 30, sizes=(12.0,), lines=2)
    assert len(lines) == 2 and lines[-1].endswith("…")
