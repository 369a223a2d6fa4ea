"""Where names stand on their faces: the weight of what the beam leaves, measured on a picture of the cut outline."""

import io
import math
import re
from functools import cache

import numpy as np
import pytest
import resvg_py
from PIL import Image

from nameplate.cut.order import PlacedToolpath
from nameplate.geometry.region import bounds
from nameplate.model import Order
from nameplate.plates.make import make_work
from nameplate.ticket.schema import FaceKeys
from tests.cut.written import sheet_svg

from .contexts import context_for, face_of

#: Pixels a millimetre, and the half width and height (mm) of the picture.
FINE, HALF = 4, 80

#: A plaque with a screw hole at each end, and a tag with a hole at one end.
PLAQUE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="70mm" viewBox="0 0 120 70">'
    '<path d="M0 0H120V70H0Z"/>'
    '<circle cx="8" cy="35" r="2.5"/><circle cx="112" cy="35" r="2.5"/></svg>'
)
TAG = PLAQUE.replace('<circle cx="112" cy="35" r="2.5"/>', "")
FACES = {
    "ellipse": FaceKeys(shape="ellipse", width=110, height=80),
    "shield": FaceKeys(shape="shield", width=92, height=102),
    "leaf": FaceKeys(shape="leaf", width=120, height=70),
    "hexagon": FaceKeys(shape="hexagon", width=110, height=90),
    "rounded": FaceKeys(shape="rounded", width=110, height=60, radius=8),
}
NAMES, FONTS = ("Gregory", "Jo Quill", "Saoirse Yff", "Hanna"), ("Pacifico", "Lobster")

#: For tests that ask no more than where letters stand.
LETTERS = {"cuts": False, "legibility": "off", "strengthen": False}


@pytest.fixture(scope="module")
def drawings(tmp_path_factory):
    folder = tmp_path_factory.mktemp("faces")
    for name, text in (("plaque", PLAQUE), ("tag", TAG)):
        (folder / f"{name}.svg").write_text(text, encoding="utf-8")
    return {name: FaceKeys(file=folder / f"{name}.svg") for name in ("plaque", "tag")}


def made(face, name, *, cuts=True, dx=0.0, dy=0.0, size=None, **keys):
    context = context_for(face, cuts=cuts, **keys)
    return make_work(context, Order("1", 2, name, fonts=context.lettering.font, dx=dx, dy=dy, size=size))


def picture(work):
    """The lettering of a plate as the cut file has it, filled: True where material is, row 0 at y = HALF."""
    text = sheet_svg(2 * HALF, 2 * HALF, [PlacedToolpath(work.toolpaths[0], 1, HALF, HALF, 0.0)])
    outlines = " ".join(re.findall(r'<path[^>]* d="([^"]*)"', text))
    side = 2 * HALF * FINE
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{side}" height="{side}" viewBox="0 0 {2 * HALF} {2 * HALF}">'
        f'<path fill-rule="evenodd" d="{outlines}"/></svg>'
    )
    image = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=drawn))))
    return np.asarray(image.convert("RGBA"))[..., 3] > 127


def weight(seen):
    """The centre (x, y) in plate coordinates of what is left, by counting pixels."""
    across, down = seen.sum(axis=0), seen.sum(axis=1)
    column, row = (np.average(np.arange(len(counts)), weights=counts) for counts in (across, down))
    return (column + 0.5) / FINE - HALF, HALF - (row + 0.5) / FINE


def middle(seen):
    """The middle of the ink's box in height."""
    rows = np.nonzero(seen.any(axis=1))[0]
    return HALF - (rows[0] + rows[-1] + 1) / 2 / FINE


@cache
def stands(face, name, font):
    """The lettering of a name, where its weight is from left to right, and halfway between that and its middle."""
    work = made(face, name, font=(font,), legibility="off")
    seen = picture(work)
    x, y = weight(seen)
    return work.plate.lettering, (x, (y + middle(seen)) / 2)


def settings(face):
    """Two names, each in a font of its own; all faces together have every name in either font."""
    at = [*FACES, "plaque"].index(face)
    return [(NAMES[(at + 2 * turn) % 4], font) for turn, font in enumerate(FONTS)]


@pytest.mark.parametrize("face", [*FACES, "plaque"])
def test_on_a_symmetric_face_the_weight_of_every_name_is_on_the_axis(face, drawings):
    for name, font in settings(face):
        lettering, (x, y) = stands((FACES | drawings)[face], name, font)
        assert abs(x) < 0.5
        off = (x, y - _middle(face))  # with the kerf, which is a little more where there is more edge
        assert lettering.placed == pytest.approx(off, abs=0.15)


def test_bridges_of_a_pierced_name_do_not_push_it_off_the_axis(drawings):
    # all of them are on the right, in a P, an e and two l: the letters that are left weigh 1.4 mm to the left
    work = made(drawings["plaque"], "D’Arcy Fennimore-Pell", mount="pierced")
    clear = (
        slice((HALF - 25) * FINE, (HALF + 25) * FINE),
        slice((HALF - 44) * FINE, (HALF + 44) * FINE),
    )  # no screw holes
    columns = np.nonzero(~picture(work)[clear])[1]
    x = (columns.mean() + 0.5) / FINE - 44
    assert abs(x) < 0.3
    assert work.plate.lettering.placed[0] == pytest.approx(x, abs=0.15)  # with the kerf, as above


def _middle(face):
    """The height of the middle of a zone: 0 where up and down are alike; a shield's is the centre of its area."""
    return face_of(FACES["shield"]).zone.centroid.y if face == "shield" else 0.0


@pytest.mark.parametrize("face", ["ellipse", "leaf", "hexagon", "rounded", "plaque"])
def test_where_up_and_down_are_alike_names_stand_in_the_middle_but_for_what_no_eye_sees(face, drawings):
    for name, font in settings(face):
        _, (_, y) = stands((FACES | drawings)[face], name, font)
        assert abs(y) < 0.01 * 60 + 0.2


def test_in_a_shield_names_stand_about_the_centre_of_its_area_whatever_their_form():
    for name, font in settings("shield"):
        _, (_, y) = stands(FACES["shield"], name, font)
        assert abs(y - _middle("shield")) < 0.01 * 45 + 0.2


@pytest.mark.parametrize(("font", "names"), [("Pacifico", ("Anna", "Gypsy", "Tilda", "moss")), ("Lobster", ("Anna",))])
def test_a_capital_before_small_letters_does_not_push_them_up(font, names):
    for name in names:
        box = bounds(made(FACES["ellipse"], name, font=(font,), **LETTERS).plate.lettering.region)
        assert abs(box.centre[1]) < 0.04 * 80  # by weight alone Anna's was 6.4 mm


def test_the_place_where_letters_get_largest_is_the_tickets_choice(drawings):
    for name in ("Gregory", "Jo Quill"):
        centred, _ = stands(drawings["plaque"], name, "Pacifico")
        largest = made(drawings["plaque"], name, font=("Pacifico",), place="largest", **LETTERS).plate.lettering
        assert centred.size <= largest.size * (1 + 1e-3)
        assert centred.of_largest == pytest.approx(centred.size / largest.size, rel=0.03)


def test_without_an_axis_names_stand_in_the_room_that_is_there(drawings):
    x, _ = weight(picture(made(drawings["tag"], "Gregory")))
    assert 1.0 < x < 8.0  # the hole takes 14.5 mm of the left end, up and down of it a little is free


def test_equal_names_stand_equally():
    first, second = (made(FACES["ellipse"], "Jo Quill") for _ in range(2))
    assert (picture(first) == picture(second)).all()


@pytest.mark.parametrize(("align", "side"), [("left", 0), ("right", 1)])
def test_lines_align_at_their_ends_and_stand_at_that_side_of_a_wide_zone(align, side):
    wide = FaceKeys(shape="rectangle", width=150, height=50)
    work = made(wide, "Jo Abernathy", align=align, words="stack", max_height=30)
    seen = picture(work)
    columns = np.nonzero(seen.any(axis=0))[0]
    edge = columns[0 if side == 0 else -1] / FINE - HALF
    assert edge == pytest.approx((-1, 1)[side] * (75 - 6), abs=0.3)
    upper, lower = _two_lines(seen)
    assert upper[side] == pytest.approx(lower[side], abs=1.0)


def _two_lines(ink):
    """The first and last column (mm) of ink in the upper and in the lower half of the ink's height."""
    rows = np.nonzero(ink.any(axis=1))[0]
    middle = (rows[0] + rows[-1]) // 2
    for half in (ink[rows[0] : middle - 2 * FINE], ink[middle + 2 * FINE : rows[-1]]):
        columns = np.nonzero(half.any(axis=0))[0]
        yield columns[0] / FINE - HALF, columns[-1] / FINE - HALF


def test_a_name_is_moved_by_hand_as_far_as_its_row_says():
    plain, moved = made(FACES["ellipse"], "Jo", size=15.0), made(FACES["ellipse"], "Jo", size=15.0, dx=7.5, dy=-3.0)
    (x, y), (to_x, to_y) = weight(picture(plain)), weight(picture(moved))
    assert (to_x - x, to_y - y) == (pytest.approx(7.5, abs=0.02), pytest.approx(-3.0, abs=0.02))
    assert np.subtract(moved.plate.lettering.placed, plain.plate.lettering.placed) == pytest.approx((7.5, -3.0))


def test_a_name_moved_out_of_its_zone_is_told_the_size_with_which_it_may_go_there():
    for dx, dy in ((22.0, 0.0), (14.0, 9.0)):
        (finding,) = made(FACES["ellipse"], "Wren Abara", dx=dx, dy=dy, **LETTERS).plate.findings
        size = float(re.search(r"with ([\d.]+) in the column size", finding.message)[1])
        assert made(FACES["ellipse"], "Wren Abara", size=size, dx=dx, dy=dy, **LETTERS).plate.lettering is not None
    (finding,) = made(FACES["ellipse"], "Wren Abara", dx=500.0, **LETTERS).plate.findings
    assert "column size" not in finding.message  # no size helps


def test_a_name_moved_out_of_its_zone_is_refused_with_how_far_it_may_go():
    work = made(FACES["rounded"], "Jo", size=15.0, dx=80.0, dy=0.0, **LETTERS)
    assert work.plate.lettering is None
    (finding,) = work.plate.findings
    assert (finding.code, finding.severity, finding.row) == ("moved-out", "error", 2)
    far = float(re.search(r"as far as dx ([\d.]+) mm", finding.message)[1])
    assert far == math.trunc(finding.allowed * 10) / 10
    assert made(FACES["rounded"], "Jo", size=15.0, dx=far, **LETTERS).plate.lettering is not None
    assert made(FACES["rounded"], "Jo", size=15.0, dx=far + 0.2, **LETTERS).plate.lettering is None
