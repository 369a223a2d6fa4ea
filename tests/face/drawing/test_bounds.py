"""Drawings that are legal, or nearly, and larger than anything can work on: refused with a figure."""

import math
import os
import warnings

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nameplate.errors import FaceError
from nameplate.face.drawing import face_outline
from nameplate.face.drawing.face_outline import read_face_drawing
from nameplate.face.making import make_face
from nameplate.ticket.schema import FaceKeys

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
RECT = '<rect width="90" height="60"/>'


def svg(inside, head='width="100mm" height="80mm" viewBox="0 0 100 80"'):
    return f"<svg {NS} {head}>{inside}</svg>"


def comb(teeth, depth):
    return "M0 70" + "".join(f"L{i * 100 / teeth:.4f} {i % 2 * depth}" for i in range(teeth)) + "L100 70z"


def places(count):
    return ((i * 37 % 89, i * 53 % 59) for i in range(count))


def discs(count):
    return "".join(f'<circle cx="{x}.5" cy="{y}.5" r="0.3"/>' for x, y in places(count))


def squares(count):
    return "".join(f'<rect x="{x}.2" y="{y}.2" width="0.6" height="0.6"/>' for x, y in places(count))


REFUSED = {
    "comb": (f'<path d="{comb(2400, 5)}"/>', "outline turns too often in little room .* the most is 5e.05"),
    "zigzag": (f'<path d="{comb(2400, 40)}"/>', "outline turns too often"),
    "dots": (RECT + squares(2500), "shapes inside the outline turn too often"),
    "closed shapes": (RECT + squares(5001), "5002 closed shapes; at most 5000"),
    "crossing shapes": (RECT + '<rect x="80" width="20" height="9"/>' * 201, "more than 200 shapes cross the outline"),
    "zones": (RECT + f'<g id="zone">{discs(201)}</g>', "drawn as 201 shapes; at most 200"),
    "transforms": (f'<g transform="{"scale(1)" * 101}">{RECT}</g>', "more than 100 functions"),
    "digits": (f'<rect width="{"1" * 400}" height="9"/>', "has 400 characters; at most 100"),
    "small view box": (f'<svg viewBox="0 0 1e-300 1e-300">{RECT}</svg>', "enlarges the drawing beyond measure"),
    "percent of percent": ('<svg width="1e9%" height="1e9%">' * 9 + RECT + "</svg>" * 9, "is too large"),
    "nearly nothing": (f'<g transform="scale(1e-300)">{RECT}</g>', "it has no area"),
    "uses in uses": (
        '<g id="u0">' + RECT + "</g>" + "".join(f'<g id="u{i}"><use href="#u{i - 1}"/></g>' for i in range(1, 20)),
        "inside 12 other uses",
    ),
    "long style, used often": (
        f'<g id="a"><rect style="{"a:b;" * 10_000}" width="9" height="9"/></g>' + '<use href="#a"/>' * 300,
        "repeats itself to more than 8 MB",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_too_much_is_refused_with_a_figure(write, name):
    inside, words = REFUSED[name]
    path = write(svg(inside))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(FaceError, match=words) as caught:
            make_face(FaceKeys(file=path, inset=6))
    assert all("face.svg" in p and len(p) < 400 for p in caught.value.problems)


def nested_uses(count):
    chain = "".join(f'<g id="u{i}"><use href="#u{i - 1}"/></g>' for i in range(1, count))
    return f'<defs><g id="u0">{RECT}</g>{chain}</defs><use href="#u{count - 1}"/>'


@pytest.mark.parametrize(
    ("limit", "most", "inside", "said"),
    [
        ("xml_text.MOST_ELEMENTS", 5, lambda n: "<g/>" * (n - 2) + RECT, "it has more than 5 elements"),
        ("xml_text.MOST_DEPTH", 7, lambda n: "<g>" * (n - 2) + RECT + "</g>" * (n - 2), "nested more than 7 deep"),
        ("tree.MOST_ELEMENTS", 8, lambda n: "<g/>" * (n - 2) + RECT, "repeats itself to more than 8 elements"),
        ("tree.MOST_USES", 3, nested_uses, "inside 3 other uses, which is the most"),
    ],
)
def test_a_drawing_may_be_as_large_as_the_limit_and_no_larger(write, monkeypatch, limit, most, inside, said):
    monkeypatch.setattr(f"nameplate.face.drawing.{limit}", most)
    assert read_face_drawing(write(svg(inside(most)))).outline.area == pytest.approx(5400)
    with pytest.raises(FaceError, match=said):
        read_face_drawing(write(svg(inside(most + 1))))


def test_rich_drawings_that_somebody_may_have_are_read(write):
    gear = "".join(f"L{50 + r * math.cos(a):.3f} {40 + r * math.sin(a):.3f}" for r, a in _gear(200))
    face, _ = make_face(FaceKeys(file=write(svg(f'<path d="M{gear[1:]}z"/>{discs(100)}')), inset=1))
    assert face.zone.area > 100


def _gear(teeth):
    for i in range(4 * teeth):
        yield (35 if i % 4 < 2 else 38), math.tau * i / (4 * teeth)


def test_of_many_problems_the_first_are_told_and_the_rest_counted(write):
    drawing = "".join(f'<rect id="r{i}" width="bad" height="9"/>' for i in range(500))
    with pytest.raises(FaceError) as caught:
        read_face_drawing(write(svg(drawing)))
    assert len(caught.value.problems) == face_outline.MOST_TOLD + 1
    assert caught.value.problems[-1] == "face.svg: and 480 more problems like these"


def test_long_ids_are_cut_in_messages(write):
    with pytest.raises(FaceError, match=r"<rect id='x+\.\.\.'>: '9q9' is not a length") as caught:
        read_face_drawing(write(svg(f'<rect id="{"x" * 5000}" width="9q9" height="9"/>')))
    assert len(str(caught.value)) < 200


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with a name")
def test_a_pipe_is_refused_before_it_is_opened(tmp_path):
    os.mkfifo(tmp_path / "face.svg")
    with pytest.raises(FaceError, match="not an ordinary file; an SVG drawing is expected"):
        read_face_drawing(tmp_path / "face.svg")


@pytest.mark.parametrize(
    ("style", "seen"),
    [
        ("/* rect{display:none} */", True),
        ("/*a*/rect{display:none}/*b*/", False),
        ("/*b*/*{display:none}", False),
        ("/*/ rect{display:none} */", True),
        ("rect{}/* not ended rect{display:none}", True),
        ("@media print{rect{display:none}}", False),
        ("{display:none}rect{fill:none}", True),
        ("rect{DISPLAY : none !important}", False),
    ],
)
def test_style_sheets_are_read_as_css_says(write, style, seen):
    # comments and rules: CSS Syntax 3, sections 4.3.2 and 5.4 (from memory)
    path = write(svg(f"<style>{style}</style>{RECT}"))
    if seen:
        assert read_face_drawing(path).outline.area == pytest.approx(5400)
    else:
        with pytest.raises(FaceError, match="nothing is drawn"):
            read_face_drawing(path)


VALID = svg(
    "<style>.a{display:inline} rect{visibility:visible}</style>"
    '<defs><g id="u0"><circle r="3" cx="20" cy="20"/></g></defs>'
    '<g transform="translate(1 2) scale(.9)"><rect class="a" x="1" y="2" width="90mm" height="60" rx="3"/>'
    '<use href="#u0" x="4"/><path d="M30 30h9v9q3 3 -9 0a5 5 0 0 1 -3 -3z"/></g>'
    '<polygon id="zone" points="20,20 70,20 70,50 20,50"/>'
)
PIECES = (
    "1e308",
    "-1",
    "nan",
    "",
    "0",
    "%",
    "url(",
    "(",
    ")",
    "/*",
    "{",
    "}",
    '"',
    "M",
    "z",
    "a",
    "#u0",
    "&#x7f;",
    "é",
    "<g>",
)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, len(VALID) - 1), st.integers(0, 12), st.sampled_from(PIECES)), max_size=4))
def test_a_drawing_with_anything_in_it_is_read_or_refused(write, edits):
    text = VALID
    for start, length, piece in edits:
        text = text[:start] + piece + text[start + length :]
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            face, _ = make_face(FaceKeys(file=write(text), inset=2))
        except FaceError as error:
            assert all("face.svg" in p and len(p) < 500 for p in error.problems)
        else:
            assert face.zone.area > 0
