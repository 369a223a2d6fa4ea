import random

import pytest

from nameplate.errors import FontError
from nameplate.typesetting.font_files import check_font_file
from nameplate.typesetting.fonts import bundled_fonts, load_font
from tests.typesetting.ways import settings

# fsType bits: OpenType specification, table OS/2, "fsType" (from memory: 0 installable, 1 restricted, 2 preview and
# print, 3 editable, 8 no subsetting, 9 bitmap embedding only; of bits 1-3 the least restrictive counts)


@pytest.mark.parametrize("bits", [0x0000, 0x0008, 0x0100, 0x0006 | 0x0008, 0x0002 | 0x0008])
def test_fonts_that_may_be_used_pass_without_remark(make_font, bits):
    assert check_font_file(make_font(fs_type=bits)) == ()


@pytest.mark.parametrize("bits", [0x0004, 0x0104, 0x0006])
def test_preview_and_print_is_explained(make_font, bits):
    (remark,) = check_font_file(make_font(fs_type=bits))
    assert "viewing and printing only" in remark
    assert load_font(str(make_font(fs_type=bits))).remarks == (remark,)


@pytest.mark.parametrize(("bits", "why"), [(0x0002, "restricted"), (0x0102, "restricted"), (0x0200, "bitmaps")])
def test_fonts_that_forbid_it_are_refused_with_the_reason(make_font, bits, why):
    path = make_font("mine.ttf", fs_type=bits)
    with pytest.raises(FontError, match=why) as caught:
        load_font(str(path))
    assert "mine.ttf" in str(caught.value)


def test_a_font_without_the_table_does_not_say_so(make_font):
    with pytest.raises(FontError, match="OS/2"):
        check_font_file(make_font(os2=False))


@pytest.mark.parametrize("cff", [False, True])
def test_a_file_cut_off_anywhere_is_refused(make_font, tmp_path, cff):
    whole = make_font("whole.otf", cff=cff).read_bytes()
    for length in (0, 3, 4, 11, 12, 40, 200, len(whole) // 2, len(whole) - 40):
        path = tmp_path / "cut.otf"
        path.write_bytes(whole[:length])
        with pytest.raises(FontError, match=r"cut\.otf"):
            check_font_file(path)


@pytest.mark.parametrize(
    ("start", "says"),
    [
        (b"ttcf", "collection"),
        (b"wOFF", "unpack"),
        (b"wOF2", "unpack"),
        (b"%!PS-AdobeFont", "Type 1"),
        (b"<svg>", "not a TrueType"),
        (b"PK\x03\x04", "not a TrueType"),
    ],
)
def test_other_kinds_of_file_are_told_apart(tmp_path, start, says):
    path = tmp_path / "odd.ttf"
    path.write_bytes(start + b"\0" * 100)
    with pytest.raises(FontError, match=says):
        load_font("odd.ttf", tmp_path)


def test_a_font_without_outlines_is_refused(make_font, tmp_path):
    from fontTools.ttLib import TTFont

    font = TTFont(make_font())
    del font["glyf"], font["loca"]
    path = tmp_path / "hollow.ttf"
    font.save(path)
    with pytest.raises(FontError, match="outlines"):
        check_font_file(path)


def test_a_huge_file_is_not_read(tmp_path):
    path = tmp_path / "huge.ttf"
    with path.open("wb") as file:
        file.truncate(65 * 1024 * 1024)
    with pytest.raises(FontError, match="too large"):
        check_font_file(path)


def test_folder_and_missing_file(tmp_path):
    with pytest.raises(FontError, match=r"gone\.ttf cannot be read: No such file"):
        load_font("gone.ttf", tmp_path)
    (tmp_path / "folder.ttf").mkdir()
    with pytest.raises(FontError, match=r"folder\.ttf"):
        load_font("folder.ttf", tmp_path)


@pytest.mark.parametrize("info", bundled_fonts(), ids=lambda i: i.name)
def test_bundled_fonts_are_whole_and_free(info):
    assert check_font_file(info.path) == ()


@pytest.mark.parametrize("seed", range(12))
def test_a_damaged_font_is_refused_or_works_but_never_breaks_the_program(tmp_path, seed):
    rng = random.Random(seed)
    data = bytearray(next(i for i in bundled_fonts() if i.name == "Oleo Script Bold").path.read_bytes())
    for _ in range(rng.choice([3, 30, 300])):
        data[rng.randrange(400 if rng.random() < 0.3 else len(data))] = rng.randrange(256)
    (tmp_path / "hurt.ttf").write_bytes(data)
    try:
        font = load_font("hurt.ttf", tmp_path)
        if not font.missing("Ada Lorne"):
            made = settings("Ada Lorne", "", font, words="tie")
            assert "".join(g.text for g in made[0].glyphs) == "AdaLorne"
    except FontError as error:
        assert "hurt.ttf" in str(error)
