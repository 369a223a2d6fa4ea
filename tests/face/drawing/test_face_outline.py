import math

import pytest

from nameplate.errors import FaceError
from nameplate.face.drawing.face_outline import read_face_drawing
from nameplate.geometry import region

FACE = '<rect x="10" y="10" width="80" height="60"/>'


def size(drawing):
    box = region.bounds(drawing.outline)
    return round(box.width, 6), round(box.height, 6)


def codes(drawing):
    return [f.code for f in drawing.findings]


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        ('width="100mm" height="80mm" viewBox="0 0 100 80"', (80, 60)),
        ('width="10cm" height="8cm" viewBox="0 0 100 80"', (80, 60)),
        ('width="4in" height="3.2in" viewBox="0 0 100 80"', (81.28, 60.96)),
        ('width="100mm" height="80mm" viewBox="0 0 1000 800"', (8, 6)),
        ('width="100mm" viewBox="0 0 100 80"', (80, 60)),
        ('height="80mm" viewBox="0 0 100 80"', (80, 60)),
        ('width="288pt" height="100%" viewBox="0 0 100 80"', (81.28, 60.96)),
        # 1 px = 1/96 in (CSS Values 4)
        ('width="100px" height="80px"', (round(80 / 96 * 25.4, 6), round(60 / 96 * 25.4, 6))),
        # meet: the smaller of 2 and 1 mm a unit; none: each its own; slice: the larger (SVG 2, section 8.2)
        ('width="200mm" height="80mm" viewBox="0 0 100 80"', (80, 60)),
        ('width="200mm" height="80mm" viewBox="0 0 100 80" preserveAspectRatio="none"', (160, 60)),
        ('width="200mm" height="80mm" viewBox="0 0 100 80" preserveAspectRatio="xMidYMid slice"', (160, 120)),
        ('width="100mm" height="80mm" viewBox="-50 -40 100 80"', (80, 60)),
    ],
)
def test_real_units(read, head, expected):
    drawing = read(FACE, head)
    assert size(drawing) == pytest.approx(expected, abs=1e-6)
    assert drawing.findings == ()


@pytest.mark.parametrize("head", ["", 'width="100" height="80"', 'viewBox="0 0 100 80"', 'width="100%" height="100%"'])
def test_a_drawing_without_a_unit_is_taken_as_pixels_with_a_warning(read, head):
    drawing = read(FACE, head)
    assert size(drawing) == pytest.approx((80 / 96 * 25.4, 60 / 96 * 25.4), abs=1e-6)
    assert codes(drawing) == ["drawing-no-unit"]
    message = drawing.findings[0].message
    assert message.startswith("face.svg: ")
    # 80 units are 80/96 in or 80/72 in
    assert "21.2 x 15.9 mm (at 72 to the inch it would be 28.2 x 21.2 mm)" in message
    assert read(FACE, head, width=120).findings == ()


def test_that_a_drawing_has_no_unit_stands_before_what_comes_of_it(read):
    # 4 units are about 1 mm at 96 to the inch: no face is so small
    with pytest.raises(FaceError) as caught:
        read(FACE.replace('"80"', '"3"').replace('"60"', '"3"'), "")
    first, *others = caught.value.problems
    assert "names no unit" in first and first.startswith("face.svg: ") and "which no face does" in others[0]


def test_width_and_height_force_the_size(read):
    assert size(read(FACE, width=120)) == (120, 90)
    assert size(read(FACE, height=30)) == (40, 30)
    assert size(read(FACE, width=40, height=30)) == (40, 30)
    with pytest.raises(FaceError, match="a width of 40 mm makes the drawing 30 mm high, not 40 mm"):
        read(FACE, width=40, height=40)


def test_a_forced_width_is_exact_for_curves(read):
    assert region.bounds(read('<circle cx="50" cy="40" r="13"/>', width=91.3).outline).width == pytest.approx(
        91.3, abs=1e-9
    )


@pytest.mark.parametrize(
    "shape",
    [
        FACE,
        '<path d="M10 10H90V70H10Z"/>',
        '<path d="m10 10h80v60h-80z"/>',
        '<path d="M10,10 90,10 90,70 10,70z"/>',
        '<path d="M10-10-.5.5M10 10L90 10 90 70 10 70 10 10"/>',
        '<polygon points="10,10 90,10 90,70 10,70"/>',
        '<polyline points="10 10 90 10 90 70 10 70 10 10"/>',
        '<g transform="translate(10 10)"><rect width="80" height="60"/></g>',
        '<g transform="scale(2)"><g transform="translate(5,5)"><rect width="40" height="30"/></g></g>',
        '<rect x="-30" y="-40" width="60" height="80" transform="translate(50 40) rotate(90)"/>',
        '<rect x="10" y="10" width="80" height="60" transform="rotate(180 50 40)"/>',
        '<rect x="10%" y="12.5%" width="80%" height="75%"/>',
        '<svg x="10" y="10" width="80" height="60" viewBox="0 0 8 6"><rect width="8" height="6"/></svg>',
        '<svg x="10" y="10" width="80" height="60"><rect width="100%" height="100%"/></svg>',
        '<defs><rect id="r" width="80" height="60"/></defs><use href="#r" x="10" y="10"/>',
        '<defs><rect id="r" width="80" height="60"/></defs><use xlink:href="#r" transform="translate(10 10)"/>',
        '<symbol id="s" viewBox="0 0 8 6"><rect width="8" height="6"/></symbol>'
        '<use href="#s" x="10" y="10" width="80" height="60"/>',
        '<defs><g id="a"><rect width="80" height="60"/></g><use id="b" href="#a" x="5"/></defs>'
        '<use href="#b" x="5" y="10"/>',
        '<g style="display:inline"><rect x="10" y="10" width="80" height="60" style="fill:#fff;stroke:none"/></g>',
        '<switch><rect x="10" y="10" width="80" height="60"/></switch>',
        '<a><rect x="10" y="10" width="80" height="60"/></a>',
    ],
)
def test_one_rectangle_written_in_many_ways(read, shape):
    drawing = read(shape)
    assert size(drawing) == (80, 60)
    assert drawing.outline.area == pytest.approx(4800)
    assert drawing.outline.bounds == pytest.approx((-40, -30, 40, 30))
    assert set(codes(drawing)) <= {"drawing-path-open"}


def test_nested_svg_uses_the_w3c_example(read):
    # SVG 2, section 8.2: translate(-52 -65) scale(5) takes the viewBox "11 13 3 2" to a viewport of 21 x 10
    drawing = read('<svg width="21" height="10" viewBox="11 13 3 2"><rect x="11" y="13" width="3" height="2"/></svg>')
    assert size(drawing) == (15, 10)


@pytest.mark.parametrize(
    "shape",
    [
        '<circle cx="50" cy="40" r="30"/>',
        '<ellipse cx="50" cy="40" rx="30" ry="30"/>',
        '<circle cx="50%" cy="50%" r="30"/>',
        '<path d="M20 40A30 30 0 0 1 80 40A30 30 0 0 1 20 40"/>',
        '<path d="M20 40a30 30 0 1160 0 30 30 0 01-60 0z"/>',  # flags without separators, SVG 2 section 9.3.9
        '<path d="M20 40A3 3 0 0 1 80 40A3 3 0 0 1 20 40"/>',  # radii too small are scaled up, SVG 2 appendix B.2.5
        '<path d="M20 40A-30 30 77 0 1 80 40A30 -30 -9 0 1 20 40z"/>',
        '<rect x="20" y="10" width="60" height="60" rx="30"/>',
        '<rect x="20" y="10" width="60" height="60" ry="99"/>',
        '<circle cx="50" cy="20" r="15" transform="scale(1 2)"/><ellipse/>',
    ],
)
def test_arcs_and_round_shapes_have_the_area_of_their_circle(read, shape):
    squashed = "scale(1 2)" in shape
    expected = math.pi * 15 * 30 if squashed else math.pi * 900
    drawing = read(shape)
    around = 2 * math.pi * 30
    assert expected - 0.006 * around < drawing.outline.area < expected + 1e-6
    assert size(drawing)[1] == pytest.approx(60, abs=0.01)


def test_a_rotated_ellipse_has_the_box_of_its_formula(read):
    # half width of an ellipse turned by t: sqrt(a^2 cos^2 t + b^2 sin^2 t)
    drawing = read('<ellipse rx="30" ry="10" transform="translate(50 40) rotate(30)"/>')
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    assert size(drawing) == pytest.approx((2 * math.hypot(30 * c, 10 * s), 2 * math.hypot(30 * s, 10 * c)), abs=0.01)


def test_quadratic_and_smooth_commands(read):
    # area under a quadratic over chord b with sagitta control h: b h / 3, so 2/3 of the triangle (Archimedes)
    q = read('<path d="M20 40Q50 0 80 40Z"/>')
    assert q.outline.area == pytest.approx(0.5 * 60 * 40 * 2 / 3, rel=1e-3)
    t = read('<path d="M10 40Q30 0 50 40T90 40V79H10Z"/>')
    assert t.outline.area == pytest.approx(80 * 39, rel=1e-3)  # the two half waves cancel
    s = read('<path d="M10 40C20 20 40 20 50 40S80 60 90 40V79H10Z"/>')
    assert s.outline.area == pytest.approx(80 * 39, rel=1e-3)


def test_y_points_up(read):
    drawing = read('<path d="M50 10L90 70H10Z"/>')
    ring = region.outer_rings(drawing.outline)[0]
    assert ring[ring[:, 1].argmax()].tolist() == pytest.approx([0, 30])


def test_largest_is_the_outline_and_inner_ones_are_keep_outs(read):
    drawing = read('<circle cx="30" cy="40" r="4"/>' + FACE + '<path d="M60 30h10v10h-10zM80 60h2v2z"/>')
    assert size(drawing) == (80, 60)
    assert len(region.solids(drawing.keep_outs)) == 3
    assert drawing.keep_outs.area == pytest.approx(math.pi * 16 + 100 + 2, abs=0.15)
    assert codes(drawing) == ["drawing-roles"]


def test_a_compound_path_gives_outline_and_holes(read):
    drawing = read('<path fill-rule="evenodd" d="M10 10h80v60h-80zm10 10v10h10v-10z"/>')
    assert size(drawing) == (80, 60)
    assert drawing.keep_outs.area == pytest.approx(100)


def test_sub_paths_that_touch_stay_apart(read):
    drawing = read('<path d="M10 10h80v60h-80zM10 10m20 20h10v10h-10z"/>')
    assert drawing.keep_outs.area == pytest.approx(100)
    after_close = read('<path d="M10 10h80v60h-80zl0 5"/>')
    assert codes(after_close) == ["drawing-path-open"]


def test_zone_is_taken_from_its_id(read):
    drawing = read(FACE + '<path id="zone" d="M20 20h60v40h-60z"/>')
    assert drawing.zone is not None
    assert drawing.zone.bounds == pytest.approx((-30, -20, 30, 20))
    assert drawing.keep_outs.is_empty
    grouped = read(
        FACE + '<g id="zone"><rect x="20" y="20" width="60" height="40"/><circle cx="50" cy="40" r="5"/></g>'
    )
    assert grouped.zone is not None
    assert grouped.zone.area == pytest.approx(2400 - math.pi * 25, abs=0.2)
    assert read(FACE).zone is None


def test_a_zone_may_be_larger_than_the_outline_without_taking_its_place(read):
    assert size(read(FACE + '<rect id="zone" width="100" height="80"/>')) == (80, 60)


#: An outline of 70 x 50 mm whose last corner is missing by 1.4 mm.
OPEN = '<path id="plaque" d="M15 15h70v50h-70v-48.6"/>'


@pytest.mark.parametrize("inside", ['<circle cx="50" cy="40" r="3"/>', '<rect x="20" y="20" width="40" height="30"/>'])
def test_an_open_path_larger_than_the_largest_closed_one_is_the_error_that_is_told(read, inside):
    with pytest.raises(FaceError) as caught:
        read(inside + OPEN)
    (problem,) = caught.value.problems
    assert problem.startswith("face.svg: <path id='plaque'> is not closed: it has a gap of 1.4 mm near x 15.0, y 15.0")
    assert problem.endswith('or if it is no outline, write roles = { plaque = "ignore" } below [face]')
    assert inside.split()[0] in problem.partition("the smaller")[2]


@pytest.mark.parametrize(
    "rest",
    [
        OPEN,  # no larger than a plain closed outline
        '<path id="guide" d="M0 0L100 80"/>',
        '<path id="frame" d="M1 1h98v78h-98v-70"/><text/>',
    ],
)
def test_open_paths_that_are_smaller_or_ignored_are_left_out_as_before(read, rest):
    drawing = read(FACE + rest, roles={"frame": "ignore"} if "frame" in rest else None)
    assert size(drawing) == (80, 60)
    if "frame" in rest:
        with pytest.raises(FaceError, match="a gap of 8 mm"):
            read(FACE + rest)
        assert size(read(FACE.replace("<rect", '<rect id="outline"') + rest)) == (80, 60)
    else:
        assert "drawing-path-open" in codes(drawing)


@pytest.mark.parametrize(
    ("inside", "says"),
    [
        (f'<g id="sheet"><circle cx="50" cy="40" r="3"/>{OPEN.replace(" id=", " class=")}</g>', "delete it"),
        (f'<g id="sheet">{OPEN}</g><circle id="c" cx="50" cy="40" r="3"/>', 'roles = { plaque = "ignore" }'),
        (f'<circle cx="50" cy="40" r="3"/><g id="a b">{OPEN.replace(" id=", " class=")}</g>', '{ "a b" = "ignore" }'),
    ],
)
def test_it_is_no_outline_by_a_name_that_the_outline_does_not_have(read, inside, says):
    with pytest.raises(FaceError) as caught:
        read(inside)
    assert says in caught.value.problems[0].partition("if it is no outline, ")[2]


def test_an_open_outline_of_several_pieces_is_told_largest_first(read):
    pieces = '<path d="M15 15h70v50"/><path d="M84 65h-69"/><path d="M40 30h8v9h-7"/>'
    with pytest.raises(FaceError) as caught:
        read('<circle cx="50" cy="40" r="3"/>' + pieces)
    gaps = [problem.partition("a gap of ")[2].split(" mm")[0] for problem in caught.value.problems]
    assert gaps == ["1", "9.06"]  # sqrt(1 + 81)
    assert all(problem.endswith("if it is no outline, delete it") for problem in caught.value.problems)


def test_an_open_zone_is_refused(read):
    with pytest.raises(FaceError, match="the zone is not closed; its ends are 40 mm apart"):
        read(FACE + '<path id="zone" d="M20 20h60v40h-60"/>')


@pytest.mark.parametrize(
    "hidden",
    [
        '<g display="none">{}</g>',
        '<g style="display:none">{}</g>',
        '<g style="display : none !important">{}</g>',
        '<g visibility="hidden">{}</g>',
        '<g style="visibility:hidden"><g>{}</g></g>',
        "<defs>{}</defs>",
        "<clipPath>{}</clipPath>",
        "<symbol>{}</symbol>",
        "<mask>{}</mask>",
        "<pattern>{}</pattern>",
        "<marker>{}</marker>",
        "<metadata>{}</metadata>",
        '<style>.off{{display:none}}</style><g class="a off">{}</g>',
        '<x:thing xmlns:x="urn:other">{}</x:thing>',
    ],
)
def test_what_is_not_shown_is_not_read(read, hidden):
    drawing = read(FACE + hidden.format('<rect width="100" height="80"/><circle cx="50" cy="40" r="5"/>'))
    assert size(drawing) == (80, 60)
    assert drawing.keep_outs.is_empty
    assert drawing.findings == ()


def test_visibility_can_be_switched_on_again(read):
    drawing = read(FACE + '<g visibility="hidden"><circle visibility="visible" cx="50" cy="40" r="5"/></g>')
    assert drawing.keep_outs.area == pytest.approx(25 * math.pi, abs=0.2)


def test_findings_name_what_was_closed_left_out_or_ignored(read):
    drawing = read(
        FACE
        + '<path id="stray" d="M20 20L30 40L20 30"/><line x1="1" y1="1" x2="9" y2="9"/>'
        + '<path id="gap" d="M40 40h10v10h-10v-9.95"/><circle id="far" cx="97" cy="5" r="1"/>'
        + '<circle id="edge" cx="90" cy="40" r="3"/><rect id="again" x="10.01" y="10" width="79.98" height="60"/>'
        + "<text>Apple</text>"
    )
    messages = {f.code: f.message for f in drawing.findings}
    assert "id='stray'" in messages["drawing-path-open"]
    assert "<line>" in messages["drawing-path-open"]
    assert "id='gap'> (0.05 mm)" in messages["drawing-path-closed"]
    assert "id='far'" in messages["drawing-outside-outline"]
    assert "id='edge'> (over the edge)" in messages["drawing-artwork"]
    assert "a gap of" in messages["drawing-path-open"]
    assert "id='again'" in messages["drawing-drawn-twice"]
    assert "<text>" in messages["drawing-ignored"]
    assert "besides the outline it has a hole: gap; unclear: edge" in messages["drawing-roles"]
    assert len(messages) == 7
    assert drawing.keep_outs.area == pytest.approx(100, abs=0.1)
    assert drawing.unclear[0].area == pytest.approx(math.pi * 9 / 2, abs=0.1)


@pytest.mark.parametrize("how", ['clip-path="url(#c)"', 'style="clip-path: url(#c)"', 'mask="url(#c)"'])
def test_what_a_clip_or_a_mask_hides_counts_and_that_is_told(read, how):
    clip = '<clipPath id="c"><rect x="10" y="10" width="40" height="60"/></clipPath>'
    drawing = read(f'{clip}<g {how}><rect id="board" x="10" y="10" width="80" height="60"/></g>')
    assert drawing.outline.area == pytest.approx(80 * 60)
    [message] = [f.message for f in drawing.findings if f.code == "drawing-ignored"]
    assert "(what it hides counts)" in message
    plain = read(f'{clip}<g {how.replace("url(#c)", "none")}><rect x="10" y="10" width="80" height="60"/></g>')
    assert "drawing-ignored" not in codes(plain)


def test_a_small_self_crossing_is_cut_off_with_a_finding_and_a_large_one_refused(read):
    drawing = read('<path d="M10 10H90V70H10V10.2L10.4 10 9.8 10.6Z"/>')
    assert "drawing-crosses-itself" in codes(drawing)
    assert drawing.outline.is_valid
    with pytest.raises(FaceError, match=r"crosses itself near x 50\.0, y 40\.0 mm"):
        read('<path d="M10 10L90 70H10L90 10Z"/>')


def test_asymmetry_is_measured_and_can_be_rebuilt(read):
    skewed = '<path d="M10 10L90.4 10L90 70L10 70Z"/>'
    drawing = read(skewed)
    assert codes(drawing) == ["drawing-asymmetric"]
    # the axis is the middle of the box, x = 50.2; the corner at (90, 70) is mirrored to (10.4, 70), 0.4 mm inside
    assert drawing.asymmetry == pytest.approx(0.4, abs=1e-4)
    assert f"{drawing.asymmetry:.2f} mm" in drawing.findings[0].message
    for side in ("left", "right"):
        rebuilt = read(skewed, symmetry=side)
        assert region.hausdorff(rebuilt.outline, region.mirrored(rebuilt.outline)) < 1e-9
        assert codes(rebuilt) == ["drawing-mirrored"]
        assert rebuilt.asymmetry == drawing.asymmetry
    assert read(FACE, symmetry="left").asymmetry == pytest.approx(0, abs=1e-9)


def test_symmetry_mirrors_keep_outs_and_zone_too(read):
    inside = FACE + '<circle cx="20" cy="20" r="3"/><rect id="zone" x="30" y="30" width="10" height="10"/>'
    left, right = read(inside, symmetry="left"), read(inside, symmetry="right")
    assert len(region.solids(left.keep_outs)) == 2
    assert left.zone is not None
    assert len(region.solids(left.zone)) == 2
    assert right.keep_outs.is_empty


def test_an_outline_without_its_middle_cannot_be_rebuilt(read):
    # a "C" open to the right: its right half is two arms
    with pytest.raises(FaceError, match=r'symmetry = "right" leaves 2 pieces'):
        read('<path d="M10 10H90V20H20V60H90V70H10Z"/>', symmetry="right")


def test_encodings_and_prologues(write):
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="10cm" height="8cm">'
    body = head + '<title>Äpfel</title><rect width="99" height="50"/></svg>'
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    files = [
        body.encode(),
        b"\xef\xbb\xbf" + body.encode(),
        f'<?xml version="1.0" encoding="UTF-8" standalone="no"?>\n<!-- made by hand -->\n{doctype}\n{body}'.encode(),
        f'<?xml version="1.0" encoding="ISO-8859-1"?>{body}'.encode("latin-1"),
        f'<?xml version="1.0" encoding="UTF-16"?>{body}'.encode("utf-16"),
        body.replace(' xmlns="http://www.w3.org/2000/svg"', "").encode(),
    ]
    for content in files:
        assert read_face_drawing(write(content)).outline.area == pytest.approx(99 * 50 * (25.4 / 96) ** 2)
