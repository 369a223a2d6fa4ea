"""Drawings as programs export them: page rectangles, layers, separate lines, artwork.

What a layer is called in which attribute is data of the drawings; SVG itself knows ids and groups only.
"""

import math

import pytest

from nameplate.errors import FaceError
from nameplate.face.drawing.face_outline import read_face_drawing
from nameplate.face.making import face_words, make_face
from nameplate.geometry import region
from nameplate.ticket.schema import FaceKeys

FACE = '<rect id="plaque" x="10" y="10" width="80" height="60"/>'
HOLE = '<circle id="h1" cx="50" cy="20" r="3"/>'


def messages(drawing):
    return {f.code: f.message for f in drawing.findings}


def size(drawing):
    box = region.bounds(drawing.outline)
    return round(box.width, 6), round(box.height, 6)


# --- the page -------------------------------------------------------------------------------------------------------


def test_a_rectangle_that_equals_the_page_is_not_the_face(read):
    drawing = read('<rect id="paper" width="100" height="80" fill="#fff"/>' + FACE + HOLE)
    assert size(drawing) == (80, 60)
    assert "<rect id='paper'>" in messages(drawing)["drawing-page"]
    assert drawing.keep_outs.area == pytest.approx(9 * math.pi, abs=0.1)


def test_a_page_in_pixels_inside_groups_is_seen_too(read):
    page = (
        '<g transform="scale(2)"><g transform="translate(5 5)"><rect x="-5" y="-5" width="300" height="200"/></g></g>'
    )
    drawing = read(page + '<circle cx="300" cy="200" r="96"/>', 'viewBox="0 0 600 400"')
    assert size(drawing) == pytest.approx((50.8, 50.8), abs=0.01)  # 192 px at 96 to the inch


def test_a_face_that_fills_its_page_stays_the_face(read):
    whole = '<rect id="r" width="100" height="80"/>'
    assert size(read(whole + '<circle cx="8" cy="40" r="4"/>')) == (100, 80)
    assert size(read(whole + '<circle cx="8" cy="40" r="4"/><circle cx="92" cy="40" r="4"/>')) == (100, 80)


def test_a_page_is_the_face_where_the_ticket_says_so(read):
    drawing = read('<rect id="r" width="100" height="80"/>' + FACE, roles={"r": "outline", "plaque": "score"})
    assert size(drawing) == (100, 80)
    assert [shape.area for shape in drawing.drawn] == [pytest.approx(4800)]


# --- roles ----------------------------------------------------------------------------------------------------------


def test_the_ticket_says_what_paths_are_by_id_layer_or_group(read):
    inside = (
        FACE
        + '<path id="Rim" d="M12 12H88V68H12Z"/>'
        + '<g xmlns:x="urn:x" x:label="Frame"><rect width="100" height="80"/></g>'
        + '<g id="art"><path fill="#a00" d="M40 30h9v9h-9zM42 32h5v5h-5z"/></g>'
        + '<g label="extra"><line id="cut-mark" x1="20" y1="40" x2="30" y2="40"/></g>'
    )
    given = {"rim": "score", "FRAME": "ignore", "art": "hatch", "extra": "score"}
    drawing = read(inside, roles=given)
    assert size(drawing) == (80, 60)
    assert drawing.hatched.area == pytest.approx(81 - 25)  # what lies in an odd number of contours
    assert [shape.area for shape in drawing.drawn] == [pytest.approx(76 * 56)]
    (line,) = drawing.scored
    assert sorted(x for x, _ in line) == pytest.approx([-30, -20])
    assert drawing.keep_outs.is_empty
    assert drawing.unclear == ()
    listed = messages(drawing)["drawing-roles"]
    for words in ("ignored: <rect> of 'Frame'", "to hatch: <path> of 'art'", "to score: Rim", "cut-mark"):
        assert words in listed


def test_a_path_named_like_a_role_has_it(read):
    drawing = read(FACE + '<g id="Score"><circle cx="50" cy="40" r="9"/></g><path id="ignore" d="M0 0h99v79h-99z"/>')
    assert size(drawing) == (80, 60)
    assert len(drawing.drawn) == 1
    assert drawing.keep_outs.is_empty


def test_the_nearest_name_wins(read):
    group = '<g id="logo"><circle id="bolt" cx="30" cy="30" r="3"/><circle cx="60" cy="40" r="9"/></g>'
    drawing = read(FACE + group, roles={"logo": "ignore", "bolt": "hole"})
    assert drawing.keep_outs.area == pytest.approx(9 * math.pi, abs=0.1)


def test_a_name_that_nothing_has_is_refused(read):
    with pytest.raises(FaceError, match=r"face\.svg: face\.roles: no path, .* 'plaqe'; did you mean plaque\?"):
        read(FACE, roles={"plaqe": "outline"})
    with pytest.raises(FaceError, match="only what has another role"):
        read(FACE, roles={"plaque": "hole"})


# --- artwork --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "why"),
    [
        ('<path id="logo" fill="#7a1" d="M40 30h10v8h-10z"/>', "filled"),
        ('<path id="logo" style="fill:rgb(9, 9, 9)" d="M40 30h10v8h-10z"/>', "filled"),
        ('<g fill="navy"><path id="logo" d="M40 30h10v8h-10z"/></g>', "filled"),
        ('<style>.a{fill:#123}</style><path id="logo" class="a" d="M40 30h10v8h-10z"/>', "filled"),
        ('<circle id="logo" cx="90" cy="40" r="5" fill="none"/>', "over the edge"),
        # a five-pointed star fills less than half of its hull
        (
            '<polygon id="logo" fill="none" points="50,30 52.4,36.8 59.5,36.9 53.8,41.2 55.9,48.1 50,44 44.1,48.1 '
            '46.2,41.2 40.5,36.9 47.6,36.8"/>',
            "not a plain hole",
        ),
        ('<path id="logo" fill="none" d="M40 30h10v10h-10zM42 32h5v5h-5z"/>', "with a shape in or across it"),
    ],
)
def test_what_may_be_artwork_is_asked_about_and_not_cut(read, shape, why):
    drawing = read(f'<g fill="none">{FACE}{HOLE}</g>{shape}')
    assert drawing.keep_outs.area == pytest.approx(9 * math.pi, abs=0.1)
    assert drawing.unclear
    (asked,) = [f for f in drawing.findings if f.code == "drawing-artwork"]
    assert asked.severity == "warning"
    assert f"<{shape.partition('id=')[0].rpartition('<')[2].strip()} id='logo'> ({why})" in asked.message
    assert 'roles = { logo = "score" }' in asked.message
    sure = read(f'<g fill="none">{FACE}{HOLE}</g>{shape}', roles={"logo": "hole"})
    assert sure.unclear == ()
    assert sure.keep_outs.area > 9 * math.pi + 10


def test_holes_of_every_usual_look_are_cut(read):
    for outline, hole in (("none", "none"), ("#eee", "white"), ("#eee", "none"), ("#000", "black"), ("none", "#FFF")):
        drawing = read(f'<g fill="{outline}">{FACE}</g><g fill="{hole}">{HOLE}{HOLE}</g>')
        assert drawing.keep_outs.area == pytest.approx(9 * math.pi, abs=0.1)
        assert drawing.unclear == ()


# --- separate lines -------------------------------------------------------------------------------------------------

SIDES = (
    '<line id="top" x1="10" y1="10" x2="90" y2="10"/><line id="left" x1="10" y1="70" x2="10" y2="10"/>'
    '<path id="right" d="M90 10.1V70"/>'
)


def test_separate_lines_whose_ends_meet_become_the_outline(read):
    drawing = read(SIDES + '<path id="foot" d="M10 70Q50 90 90 70"/>' + HOLE)
    assert drawing.outline.area == pytest.approx(80 * 60 + 80 * 20 / 3, rel=2e-3)  # Archimedes: 2/3 of 80 x 10
    assert "<line id='top'> and 3 more (widest gap 0.1 mm)" in messages(drawing)["drawing-paths-joined"]
    assert len(region.solids(drawing.keep_outs)) == 1


def test_sub_paths_written_one_by_one_are_joined(read):
    drawing = read('<path id="p" d="M10 10L90 10M90 70L90 10M10 70L90 70M10 70L10 10"/>')
    assert size(drawing) == (80, 60)
    assert "drawing-paths-joined" in messages(drawing)


def test_lines_that_are_drawn_twice_count_once(read):
    foot = '<line x1="10" y1="70" x2="90" y2="70"/><line id="again" x1="90" y1="70" x2="10" y2="70"/>'
    drawing = read(SIDES + foot)
    assert size(drawing) == (80, 60)
    assert "<line id='again'>" in messages(drawing)["drawing-line-twice"]


def test_a_gap_too_wide_is_named_with_its_place(read):
    with pytest.raises(FaceError, match=r"no closed outline.*<line id='left'> and 2 more \(a gap of 80 mm near x 10"):
        read(SIDES)
    with pytest.raises(FaceError, match=r"a gap of 3 mm near x 90\.0, y 70\.0"):
        read(SIDES + '<line x1="10" y1="70" x2="87" y2="70"/>')


# --- the face -------------------------------------------------------------------------------------------------------


def test_lettering_keeps_inside_a_rim_and_clear_of_artwork(write):
    path = write(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60"><g fill="none">'
        '<rect width="100" height="60"/><rect id="rim" x="8" y="8" width="84" height="44"/></g>'
        '<rect id="logo" x="70" y="20" width="10" height="10"/></svg>'
    )
    keys = FaceKeys(file=path, inset=2, roles=(("rim", "score"), ("logo", "hatch")))
    face, _ = make_face(keys)
    assert face.zone.bounds == pytest.approx((-41, -21, 41, 21))
    assert region.distance(face.zone, face.hatched) == pytest.approx(2, abs=0.01)
    assert face.keep_outs.is_empty
    assert [len(line) for line in face.scored] == [5]
    assert face_words(face) == "100.0 x 60.0 mm, no holes"


def test_a_rim_without_a_role_is_asked_about_and_lettering_stays_inside_it(write):
    path = write(
        '<svg xmlns="http://www.w3.org/2000/svg" width="110mm" height="70mm" viewBox="-5 -5 110 70"><g fill="none">'
        '<rect width="100" height="60"/><rect id="rim" x="4" y="4" width="92" height="52"/></g></svg>'
    )
    face, findings = make_face(FaceKeys(file=path, inset=2, roles=(("rim", "score"),)))
    asked, without = make_face(FaceKeys(file=path, inset=2, roles=()))[::-1]
    assert face.zone.bounds == without.zone.bounds == pytest.approx((-45, -25, 45, 25))
    assert [f.code for f in findings] == ["drawing-roles"]
    assert "<rect id='rim'> (round most of the face, so lettering stays inside it)" in asked[0].message


def framed_dxf(tmp_path, *shapes):
    import ezdxf

    document = ezdxf.new("R2010", units=4)
    for layer, (x0, y0, x1, y1) in shapes:
        corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        document.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
    path = tmp_path / "face.dxf"
    document.saveas(path)
    return path


def test_a_frame_round_the_face_is_asked_about_with_both_sizes_and_what_to_write(tmp_path):
    # a sheet of A4 (ISO 216) framed at its edge, a plaque on it with a screw's hole, and a title block
    shapes = (
        ("SHEET", (0, 0, 297, 210)),
        ("PLAQUE", (90, 60, 200, 140)),
        ("PLAQUE", (95, 98, 99, 102)),
        ("TITLE", (200, 0, 297, 20)),
    )
    path = framed_dxf(tmp_path, *shapes)
    (asked,) = [f for f in read_face_drawing(path).findings if f.code == "drawing-frame"]
    assert asked.severity == "warning"
    for words in ("297.0 x 210.0 mm", "110.0 x 80.0 mm", 'roles = { PLAQUE = "outline" }', 'else "hole"'):
        assert words in asked.message
    told = read_face_drawing(path, roles={"PLAQUE": "outline"})
    assert told.outline.area == pytest.approx(110 * 80) and told.keep_outs.area == pytest.approx(16)
    (left,) = [f.message for f in told.findings if f.code == "drawing-outside-outline"]
    assert "SHEET" in left and "drawing-frame" not in {f.code for f in told.findings}
    assert "drawing-frame" not in {f.code for f in read_face_drawing(path, roles={"PLAQUE": "hole"}).findings}


@pytest.mark.parametrize("hole", [(4, 4, 20, 28), (5, 5, 100, 75)])
def test_a_rectangle_with_a_screws_hole_or_a_rim_is_no_frame(tmp_path, hole):
    path = framed_dxf(tmp_path, ("A", (0, 0, 110, 80)), ("B", hole))
    assert "drawing-frame" not in {f.code for f in read_face_drawing(path).findings}
