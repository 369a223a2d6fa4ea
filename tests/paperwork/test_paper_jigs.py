"""All paper jigs in one file: drawn by another program's library (PDFium) and measured on the picture."""

import numpy as np
import pytest

from nameplate.cut.kerf import toolpath
from nameplate.geometry import region
from nameplate.model import Part
from nameplate.paperwork.paper_jigs import PaperJig, paper_jigs_pdf
from nameplate.pdf.paper import A4, LETTER

DOTS = 8  # per mm

#: Where jigs lie on a page of A4: below the words, above the line (mm from above).
JIGS = np.s_[32 * DOTS : 275 * DOTS]


def jig(number, width, height, name="Wren Abara"):
    """A jig with a window in its lower left quarter, marks on it and below it."""
    shape = region.difference(
        region.rectangle(-width / 2, -height / 2, width / 2, height / 2),
        region.rectangle(-width / 4, -height / 4, 0, 0),
    )
    below = np.array([(-50.0, -height / 2 - 8), (50.0, -height / 2 - 8)])
    part = Part(f"{number:03d}", "template", "board", shape, (below,))
    return PaperJig(f"{number:03d}", name, toolpath(part, 0.0))


def opened(jigs, paper=A4):
    import pypdfium2

    return pypdfium2.PdfDocument(paper_jigs_pdf(jigs, paper, title="Orchard"))


def dark(page):
    """A page as an array of darkness with (0, 0) at its upper left corner."""
    return np.array(page.render(scale=DOTS * 25.4 / 72, grayscale=True).to_numpy()).squeeze() < 155


def texts(document):
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def lines(along):
    """The middles (mm) of the runs in a row of dots."""
    (found,) = np.nonzero(along)
    runs = np.split(found, np.nonzero(np.diff(found) > 1)[0] + 1)
    return [(run[0] + run[-1] + 1) / 2 / DOTS for run in runs if len(run)]


def test_a_jig_is_true_to_size_with_its_window_where_it_is():
    (page,) = opened([jig(1, 100, 80)])
    seen = dark(page)[JIGS]
    rows = seen[:, 70 * DOTS]  # a column 10 mm right of the middle: the outline alone
    top, bottom = lines(rows)[-2:]
    assert bottom - top == pytest.approx(80, abs=0.15)
    across = lines(seen[int((top + 70) * DOTS)])  # below the window
    assert across[-1] - across[0] == pytest.approx(100, abs=0.15)
    window = lines(seen[int((top + 50) * DOTS)])
    assert [x - window[0] for x in window] == pytest.approx([0, 25, 50, 100], abs=0.15)


def test_each_page_has_a_line_of_100_mm_and_says_whose_work_is_true():
    document = opened([jig(n, 150, 120) for n in range(5)])
    for page, text in zip(document, texts(document), strict=True):
        foot = dark(page)[int(284.8 * DOTS) : int(285.2 * DOTS)].any(axis=0)
        ends = np.nonzero(foot)[0] / DOTS
        assert ends[-1] - ends[0] == pytest.approx(100, abs=0.3)
        assert "A paper jig is as true as the hand" in text and "print at 100 %" in text


def test_small_jigs_share_a_page_without_touching_and_have_cut_marks():
    document = opened([jig(n, 60, 52, f"Łucja {n}") for n in range(1, 20)])
    told = texts(document)
    assert [text.count("No. ") for text in told] == [8, 8, 3]  # two columns, 60 + 8 + 60; four rows, 6 + 4 * 52 + 3 * 8
    assert all(f"No. {n:03d} Łucja {n}" in " ".join(told) for n in range(1, 20))
    seen = dark(document[0])
    corner = (10 + 60 + 1 + 1.5, 10 + 17 + 6)  # in the middle of the mark right of the first one's upper side
    x, y = (int(v * DOTS) for v in corner)
    assert seen[y - 3 : y + 4, x].any() and not seen[y + 8 : y + 40, x].any()


def test_a_jig_that_fits_only_lying_is_turned():
    (page,) = opened([jig(1, 220, 60)])
    seen = dark(page)[JIGS]
    across = lines(seen[100 * DOTS])
    assert across[-1] - across[0] == pytest.approx(60, abs=0.15)
    # turned clockwise, the lower left quarter comes to lie in the upper left one
    down = lines(seen[:, int((across[0] + 20) * DOTS)])
    assert [y - down[0] for y in down[-4:]] == pytest.approx([0, 55, 110, 220], abs=0.2)


def test_a_jig_larger_than_a_page_has_the_pages_of_its_own_file():
    document = opened([jig(1, 60, 50), jig(2, 300, 280, "Otto"), jig(3, 60, 50)])
    told = texts(document)
    assert len(told) == 1 + 4 + 1
    assert all("No. 002 Otto" in text for text in told[1:5])
    seen = dark(document[1])
    foot = seen[int((297 - 12.2) * DOTS) : int((297 - 11.8) * DOTS)].any(axis=0)
    assert np.ptp(np.nonzero(foot)[0]) / DOTS == pytest.approx(100, abs=0.3)


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_every_jig_is_there_once_whatever_the_paper(paper):
    jigs = [jig(n, 40 + 13 * (n % 7), 30 + 17 * (n % 5), f"Name {n}") for n in range(30)]
    document = opened(jigs, paper)
    size = [side * 25.4 / 72 for side in document[0].get_size()]
    assert size == pytest.approx((paper.width, paper.height), abs=0.01)
    told = " ".join(texts(document))
    assert [told.count(f"No. {n:03d} Name {n} ") for n in range(29)] == [1] * 29 and "No. 029 Name 29" in told
    assert paper_jigs_pdf(jigs, paper, title="Orchard") == paper_jigs_pdf(jigs, paper, title="Orchard")
