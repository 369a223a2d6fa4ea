"""An independent reader (Tesseract, Debian's tesseract-ocr) is shown plain names and finished plates."""

import pytest

from tests.benchmarks import reader
from tests.reader.tesseract import SHOWINGS, letters, missing, readings, times_read

pytestmark = pytest.mark.skipif(bool(missing()), reason=missing() or "there is a reader")

NAMES = ("Maria", "Oscar Dune", "Benedict", "Eric Moss", "Tessa Bell")


def test_a_reading_counts_by_its_letters():
    assert times_read("Wren Abara", ["wren abara\n", "WrenAbara", "Uren Abana", ""]) == 2
    assert letters("O'Brien!") == "obrien"


def test_it_reads_plain_names_and_not_a_black_bar():
    from nameplate.geometry.region import rectangle, union
    from nameplate.typesetting.fonts import load_font
    from tests.typesetting.ways import settings

    setting = settings("Oscar", "", load_font("Oleo Script Bold"), words="tie")[0]
    ink = union(*(glyph.region for glyph in setting.glyphs))
    plain, bar = readings([ink, rectangle(0, 0, 5, 1)])
    assert times_read("Oscar", plain) == SHOWINGS and times_read("Oscar", bar) == 0


def test_plates_without_a_warning_are_read_and_slugs_are_warned_of():
    clear = list(reader.cases(NAMES, fonts=["Oleo Script Bold"], mounts=["pierced"], faces=[(110.0, 60.0)]))
    assert len(clear) >= 4
    assert all(case.finished for case in clear if not case.warned)
    assert sum(not case.warned for case in clear) >= 4
    slugs = list(reader.cases(NAMES, fonts=["Pacifico"], mounts=["backed"], faces=[(50.0, 20.0)]))
    assert len(slugs) >= 3
    assert all(case.warned for case in slugs if not case.finished)
    assert any(case.warned for case in slugs)


def test_a_hyphen_behind_a_c_or_an_l_leaves_them_what_they_are():
    """With level ties the c closes and the l gets a bar: the reader then reads 0 and 3 of 8 showings."""
    names = ("Eric-Noah", "Karl-Heinz")
    read = list(reader.cases(names, fonts=["Playpen Sans ExtraBold"], mounts=["applied"], faces=[(80.0, 20.0)]))
    assert len(read) == 2
    assert all(case.finished and case.finished >= SHOWINGS / 2 for case in read)
