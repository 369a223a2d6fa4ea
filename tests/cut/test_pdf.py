"""The written PDF is drawn by another program's library (PDFium) and measured on the picture."""

import numpy as np
import pytest

from nameplate.cut.kerf import toolpath
from nameplate.cut.order import burning_order
from nameplate.cut.pdf import (
    FOOT,
    MARGIN,
    OVERLAP,
    TO_POINTS,
    _tiles,
    jig_pages,
    jig_pdf,
    put_together,
    tiled_pdf,
)
from nameplate.cut.read_pdf import read_jig_pdf
from nameplate.errors import OutputError
from nameplate.geometry import region
from nameplate.model import Part
from nameplate.pdf.paper import A4, Paper

DOTS = 8  # per mm


def blank(width, height):
    return toolpath(Part("1", "template", "board", region.rectangle(0, 0, width, height)), 0.0)


def pictures(data):
    """Each page as an array of darkness with (0, 0) at its lower left corner, DOTS to the mm."""
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    drawn = [np.array(page.render(scale=DOTS * 25.4 / 72, grayscale=True).to_numpy()) for page in document]
    document.close()
    dark = [255 - (picture if picture.ndim == 2 else picture[..., 0]) for picture in drawn]
    return [picture[::-1] > 100 for picture in dark]


def extent(dark):
    ys, xs = np.nonzero(dark)
    return xs.min() / DOTS, xs.max() / DOTS, ys.min() / DOTS, ys.max() / DOTS


def dark_along(page, start, end):
    """Tell whether a page is dark all along an upright or level line (mm), or within two dots beside it."""
    (x0, y0), (x1, y1) = (np.array(point) * DOTS for point in (start, end))
    if y0 == y1:
        return bool(page[int(y0) - 2 : int(y0) + 3, int(x0) : int(x1)].any(0).all())
    return bool(page[int(y0) : int(y1), int(x0) - 2 : int(x0) + 3].any(1).all())


class TestSize:
    @pytest.mark.parametrize(("paper", "size"), [(A4, (210, 297)), (Paper(215.9, 279.4), (215.9, 279.4))])
    def test_pages_have_their_size(self, paper, size):
        (page,) = pictures(jig_pdf(blank(100, 60), paper))
        assert page.shape == pytest.approx((size[1] * DOTS, size[0] * DOTS), abs=1.5)

    def test_a_jig_is_drawn_true_to_size_in_the_middle(self):
        (page,) = pictures(jig_pdf(blank(120, 80)))
        x0, x1, y0, y1 = extent(page[25 * DOTS :])
        assert (x1 - x0, y1 - y0) == pytest.approx((120.2, 80.2), abs=0.3)
        assert (x0 + x1) / 2 == pytest.approx(105, abs=0.3)

    def test_the_check_line_is_100_mm(self):
        (page,) = pictures(jig_pdf(blank(120, 80)))
        x0, x1, _, _ = extent(page[int(11.8 * DOTS) : int(12.2 * DOTS)])
        assert x1 - x0 == pytest.approx(100.1, abs=0.3)
        for end in (10, 110):  # a tick across each end, to lay a ruler at
            assert dark_along(page, (end, 11), (end, 13))

    def test_curves_are_drawn(self, disc):
        (page,) = pictures(jig_pdf(toolpath(Part("1", "template", "b", disc), 0.0)))
        ys, xs = np.nonzero(page[25 * DOTS :])
        radii = np.hypot((xs - xs.mean()) / DOTS, (ys - ys.mean()) / DOTS)
        assert radii.min() == pytest.approx(10, abs=0.4) and radii.max() == pytest.approx(10, abs=0.4)


class TestPages:
    def test_a_large_jig_goes_over_several_pages_and_loses_nothing(self):
        data = jig_pdf(blank(400, 300))
        pages = pictures(data)
        assert len(pages) == 3 * 2  # 190 x 267 mm a page, 10 mm of it shared: ceil(390/180) by ceil(290/257)
        drawn = sum(page[22 * DOTS :, :].sum() for page in pages) / DOTS / DOTS / 0.2
        assert drawn > 1400

    def test_pages_have_crosses_where_another_goes_on_and_nowhere_else(self):
        def is_crossed(page, x, y):
            return dark_along(page, (x - 2, y), (x + 2, y)) and dark_along(page, (x, y - 2), (x, y + 2))

        pages = pictures(jig_pdf(blank(400, 300)))  # 3 columns of 2 rows; crosses are in the middles of overlaps
        for x in (15, 195):
            ends = sorted((is_crossed(page, x, 25), is_crossed(page, x, 282)) for page in pages)
            assert ends == [(False, True), (True, False), *[(True, True)] * 4]

    def test_pages_say_which_they_are(self):
        one, row, square = (pictures(jig_pdf(blank(*size)))[0] for size in ((100, 100), (400, 100), (300, 400)))
        foot = np.s_[13 * DOTS : 19 * DOTS, 55 * DOTS : 108 * DOTS]
        assert not one[foot].any() and row[foot].any() and square[foot].any()

    def test_what_just_fits_is_one_page(self):
        (page,) = pictures(jig_pdf(blank(190, 267)))
        assert extent(page[19 * DOTS :])[2] == pytest.approx(1, abs=0.3), "nothing is drawn over the check line"
        assert len(pictures(jig_pdf(blank(191, 267)))) == 2

    def test_a_whole_sheet(self, sheet):
        assert len(pictures(tiled_pdf(burning_order(sheet.placed())))) == 1


def test_the_file_is_plain_and_the_same_every_time(sheet):
    data = tiled_pdf(burning_order(sheet.placed()))
    assert data == tiled_pdf(burning_order(sheet.placed()))
    assert data.startswith(b"%PDF-1.4") and data.endswith(b"%%EOF\n") and b"/PrintScaling /None" in data


def read_back(data, tmp_path):
    path = tmp_path / "jig.pdf"
    path.write_bytes(data)
    return read_jig_pdf(path)


def test_what_is_read_of_a_jigs_pages_is_what_was_drawn(tmp_path):
    (line,) = read_back(jig_pdf(blank(300, 100)), tmp_path)
    assert line.closed and np.ptp(line.points, axis=0).tolist() == pytest.approx([300, 100])


def test_a_jig_whose_pages_do_not_keep_its_size_or_show_it_whole_is_refused(tmp_path):
    pages = jig_pages(blank(300, 100), A4)
    other = jig_pages(blank(300, 101), A4)
    assert len(pages) == 2
    for spoiled, said in (
        ([pages[0], pages[1].replace("110 12 l", "109 12 l")], "no line of 100 mm"),
        ([page.replace(TO_POINTS, "1 0 0 1 0 0 cm 1 J 1 j\n") for page in pages], "its scale is not 1:1"),
        (pages[:1], "no page shows the drawing at"),
        ([pages[0], other[1]], "do not show the same drawing"),
    ):
        with pytest.raises(OutputError, match=said):
            read_back(put_together(spoiled, A4), tmp_path)


@pytest.mark.parametrize("text", ["stream\n" * 300_000, "stream\n\nendstream" * 100_000, "/MediaBox [0 0 " * 100_000])
def test_a_file_that_begins_ever_anew_is_told_at_once(tmp_path, text):
    path = tmp_path / "jig.pdf"
    path.write_text("/MediaBox [0 0 595 842]" + text, encoding="ascii")
    with pytest.raises(
        OutputError, match=r"jig\.pdf is not the PDF of a jig: (it has no pages|something stands in it)"
    ):
        read_jig_pdf(path)


def test_how_many_pages_a_drawing_takes_does_not_depend_on_where_it_lies():
    def names(dx, dy):
        line = np.array([(dx, dy), (dx + 500, dy + 300)])
        return [(tile.name, tile.columns, tile.rows) for tile in _tiles([line], A4)]

    room = (A4.width - 2 * MARGIN - OVERLAP, A4.height - 2 * MARGIN - FOOT - OVERLAP)
    columns, rows = (int(np.ceil((side - OVERLAP) / one)) for side, one in zip((500, 300), room, strict=True))
    assert names(0, 0) == [(f"{'ABC'[r]}{c + 1}", columns, rows) for r in range(rows) for c in range(columns)]
    assert names(0, 0) == names(1000, 700) == names(-1000, -700)
