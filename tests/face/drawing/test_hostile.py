"""Files that want to do harm, or are broken: each ends in a FaceError that says why, soon, and without a traceback.

The attacks are the well-known ones of XML and SVG (OWASP XML External Entity and Denial of Service cheat sheets).
"""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nameplate.errors import FaceError
from nameplate.face.drawing.face_outline import read_face_drawing

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
RECT = '<rect width="50" height="40"/>'


def svg(inside, before="", extra=""):
    return f'{before}<svg {NS} width="100mm" height="80mm" viewBox="0 0 100 80" {extra}>{inside}</svg>'


def entity(name, before):
    return f'<!ENTITY {name} "{f"&{before};" * 10}">'


def ten_uses(level):
    use = f'<use href="#u{level - 1}"/>'
    return f'<g id="u{level}">{use * 10}</g>'


LAUGHS = "".join(entity(after, before) for before, after in zip("abcdefghi", "bcdefghij", strict=True))
BILLION_LAUGHS = f'<!DOCTYPE svg [<!ENTITY a "ha">{LAUGHS}]>'
USE_BOMB = f'<defs><g id="u0">{RECT}</g>{"".join(map(ten_uses, range(1, 9)))}</defs><use href="#u8"/>'
HEAVY_PATH = "M0 0" + "h1v1" * 20_000 + "z"

HOSTILE = {
    "billion laughs": (svg("&j;", BILLION_LAUGHS), "defines entities"),
    "entity in an attribute": (
        svg('<rect width="&w;" height="9"/>', '<!DOCTYPE svg [<!ENTITY w "9">]>'),
        "defines entities",
    ),
    "external entity": (
        svg("<text>&x;</text>", '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'),
        "defines entities",
    ),
    "external document type": (
        svg(RECT, '<!DOCTYPE svg SYSTEM "http://example.org/x.dtd">'),
        "document type of its own",
    ),
    "attribute list": (svg(RECT, '<!DOCTYPE svg [<!ATTLIST rect width CDATA "9">]>'), "document type of its own"),
    "script": (svg(RECT + "<script>alert(1)</script>"), "contains <script>"),
    "event handler": (svg(RECT, extra='onload="alert(1)"'), "event handler .onload. on <svg>"),
    "event handler inside": (svg('<rect onclick="x()" width="50" height="40"/>'), "event handler"),
    "foreign object": (svg(RECT + "<foreignObject><p/></foreignObject>"), "contains <foreignObject>"),
    "outside use": (svg(RECT + '<use href="http://example.org/a.svg#b"/>'), "outside the file"),
    "outside file": (svg(RECT + '<use xlink:href="file:///etc/passwd#b"/>'), "outside the file"),
    "outside picture": (svg(RECT + '<image href="http://example.org/a.png"/>'), "outside the file"),
    "script link": (svg('<a href="javascript:alert(1)">' + RECT + "</a>"), "outside the file"),
    "outside paint": (svg('<rect width="50" height="40" fill="url(http://example.org/a#b)"/>'), "outside the file"),
    "outside style": (svg("<style>@import 'http://example.org/a.css';</style>" + RECT), "style sheet refers"),
    "outside style url": (svg("<style>rect{fill:url(//example.org/a)}</style>" + RECT), "style sheet refers"),
    "style sheet instruction": (svg(RECT, '<?xml-stylesheet href="a.css"?>'), "style sheet outside the file"),
    "moved base": (svg(RECT, extra='xml:base="http://example.org/"'), "xml:base"),
    "inclusion": (
        svg(RECT + '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="file:///etc/passwd"/>'),
        "XInclude",
    ),
    "use of itself": (svg('<use id="a" href="#a"/>' + RECT), "inside itself"),
    "use in a ring": (svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'), "inside itself"),
    "use of a parent": (svg('<g id="a">' + RECT + '<use href="#a"/></g>'), "inside itself"),
    "use bomb": (svg(USE_BOMB), "repeats itself to more than"),
    "use of a heavy path": (
        svg(f'<path id="p" d="{HEAVY_PATH}"/>' + '<use href="#p"/>' * 40),
        "more than 50000 segments",
    ),
    "use of a heavy path, far more": (
        svg(f'<path id="p" d="{HEAVY_PATH}"/>' + '<use href="#p"/>' * 1000),
        "repeats itself to more than 8 MB",
    ),
    "use of nothing": (svg('<use href="#nowhere"/>' + RECT), "'nowhere', which is not in the drawing"),
    "deep nesting": (svg("<g>" * 10_000 + RECT + "</g>" * 10_000), "well-formed|nested"),
    "nested past the limit": (svg("<g>" * 150 + RECT + "</g>" * 150), "nested more than 100 deep"),
    "many elements": (svg("<g/>" * 30_000 + RECT), "more than 20000 elements"),
    "a million points": (svg(f'<path d="M0 0{"l1 1" * 1_000_000}z"/>'), "larger than 4 MB|segments"),
    "many points": (svg(f'<path d="M0 0{"h1" * 60_000}z"/>'), "more than 50000 segments"),
    "many points of a polygon": (svg(f'<polygon points="{"1 2 " * 60_000}"/>'), "more than 50000 segments"),
    "not a number": (svg('<path d="M0 0LNaN 5L9 9z"/>'), "path data is broken"),
    "infinite": (svg('<path d="M0 0Linf 5L9 9z"/>'), "path data is broken"),
    "overflow": (svg('<path d="M0 0L1e300 5L9 9z"/>'), "too large for a coordinate"),
    "beyond floats": (svg('<path d="M0 0L1e999 5L9 9z"/>'), "too large for a coordinate"),
    "overflow of a rectangle": (svg('<rect width="1e300" height="40"/>'), "too large for a coordinate"),
    "overflow by transforms": (
        svg("".join('<g transform="scale(1e9)">' for _ in range(60)) + RECT + "</g>" * 60),
        "enlarge it beyond measure",
    ),
    "not a number in a transform": (svg('<g transform="translate(nan)">' + RECT + "</g>"), "is not understood"),
    "zero transform": (svg('<g transform="scale(0)">' + RECT + "</g>"), "has no area"),
    "huge": (svg('<rect width="1e8" height="1e8"/>'), "which no face does"),
    "tiny": (svg('<rect width="1e-3" height="1e-3"/>'), "which no face does"),
    "flat": (svg('<path d="M0 0H50H20Z"/>'), "has no area|no closed outline"),
    "no size": (svg('<rect width="0" height="40"/>'), "nothing is drawn"),
    "empty": (svg(""), "nothing is drawn"),
    "only open lines": (svg('<path d="M0 0L50 0L50 50"/>'), "no closed outline"),
    "no drawing area": (f'<svg {NS} width="0mm" height="80mm">{RECT}</svg>', "both must be above 0"),
    "scribble": (
        svg('<path d="M0 0' + "".join(f"L{i * 7919 % 97} {i * 104729 % 79}" for i in range(1500)) + 'z"/>'),
        "crosses itself",
    ),
    "bow tie": (svg('<path d="M0 0L50 40L50 0L0 40Z"/>'), "crosses itself near x 25.0, y 20.0"),
    "css transform": (svg('<rect style="transform:rotate(9deg)" width="50" height="40"/>'), "CSS transforms"),
    "half a path": (svg('<path d="M0 0C1 2 3 4"/>'), "path data is broken"),
    "path without a move": (svg('<path d="L9 9L0 9z"/>'), "must begin with a move"),
    "compressed": (b"\x1f\x8b\x08\x00" + bytes(100), "compressed"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not an SVG drawing"),
    "text": ("a list of names", "not well-formed"),
    "nothing": ("", "not well-formed"),
    "other xml": ("<html><body/></html>", "first element must be <svg>"),
    "cut off": (svg(RECT)[:-20], "not well-formed"),
    "unknown encoding": ('<?xml version="1.0" encoding="UTF-7"?>' + svg(RECT), "encoding 'UTF-7' is not read"),
    "wrong encoding": (b'<?xml version="1.0" encoding="UTF-8"?><svg>\xff\xfe\xfd</svg>', "not an SVG drawing in UTF-8"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_and_broken_drawings_are_refused_in_words(write, name):
    content, words = HOSTILE[name]
    path = write(content)
    with pytest.raises(FaceError, match=words) as caught:
        read_face_drawing(path)
    assert all(p.startswith(("face.svg: ", f"{path} is")) for p in caught.value.problems)
    assert all(len(p) < 400 for p in caught.value.problems)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(FaceError, match=r"none\.svg cannot be read"):
        read_face_drawing(tmp_path / "none.svg")
    with pytest.raises(FaceError, match="is a folder; an SVG drawing is expected"):
        read_face_drawing(tmp_path)


def test_a_large_file_is_not_read_to_its_end(tmp_path):
    path = tmp_path / "large.svg"
    with path.open("wb") as file:
        file.truncate(100_000_000)  # sparse, so that the test writes nothing
    with pytest.raises(FaceError, match="larger than 4 MB"):
        read_face_drawing(path)


def test_every_problem_is_told_at_once(read):
    with pytest.raises(FaceError) as caught:
        read('<script/><use href="http://example.org/#a"/><rect onclick="x"/>')
    assert len(caught.value.problems) == 3
    with pytest.raises(FaceError) as caught:
        read('<rect width="1em" height="9"/><g transform="spin(1)"/><path d="M0"/><circle r="x"/>')
    assert len(caught.value.problems) >= 3


WORDS = [
    "<svg", "</svg>", "<g>", "</g>", '<path d="', 'M0 0', "h50", "z", '"/>', "<rect ", 'width="', "50", '"', "/>",
    "NaN", "1e309", "-", "<!DOCTYPE svg>", "<!ENTITY", "&amp;", "&x;", "<use href=", "'#a'", " id='a'", "<!--", "-->",
    "<![CDATA[", "]]>", "viewBox='0 0 1 1'", "transform='matrix(0 0 0 0 0 0)'", "A5 5 0 1 1 9 9", NS, ">", "\0", "é",
]  # fmt: skip


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(content=st.one_of(st.binary(max_size=300), st.lists(st.sampled_from(WORDS), max_size=40).map(" ".join)))
def test_no_bytes_bring_anything_but_a_face_error(write, content):
    try:
        drawing = read_face_drawing(write(content))
    except FaceError as error:
        assert error.problems
    else:
        assert drawing.outline.area > 0


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    data=st.lists(
        st.tuples(
            st.sampled_from("MmLlHhVvCcSsQqTtAaZz"),
            st.lists(st.one_of(st.integers(-99, 99), st.floats(-1e10, 1e10)), max_size=8),
        ),
        max_size=12,
    )
)
def test_no_path_data_brings_anything_but_a_face_error(write, data):
    text = "M0 0h40v30" + "".join(c + " ".join(map(str, v)) for c, v in data) + "z"
    try:
        drawing = read_face_drawing(write(svg(f'<path d="{text}"/>')))
    except FaceError as error:
        assert error.problems
    else:
        assert drawing.outline.is_valid
