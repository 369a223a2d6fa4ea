"""Reading a drawing takes steps in proportion to its length, whatever stands in it.

Patterns are judged by their syntax trees (tests/test_patterns.py); the readers round them are counted: calls, of Python
and of C functions, at one length and at twice that length. Time is not looked at.
"""

import sys

import pytest

from nameplate.cut import path_data
from nameplate.errors import FaceError
from nameplate.face.drawing.face_outline import read_face_drawing

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
RECT = '<rect width="90" height="60"/>'


def svg(inside, head='width="100mm" height="80mm" viewBox="0 0 100 80"'):
    return f"<svg {NS} {head}>{inside}</svg>"


#: Name -> a drawing that is slow to read, or was, of a length that grows with n.
WORST = {
    "digits and a unit in a transform": lambda n: svg(f'<g transform="translate({"1" * n}px)">{RECT}</g>'),
    "a transform without its bracket": lambda n: svg(f'<g transform="matrix({"1 " * n}">{RECT}</g>'),
    "brackets in a transform": lambda n: svg(f'<g transform="{"a(" * n}">{RECT}</g>'),
    "commas in a transform": lambda n: svg(f'<g transform="translate(1{"," * n}2)">{RECT}</g>'),
    "a style without braces": lambda n: svg(f"<style>{'a' * n}</style>{RECT}"),
    "braces in a style": lambda n: svg(f"<style>{'{' * n}</style>{RECT}"),
    "comments in a style": lambda n: svg(f"<style>{'/*' * n}</style>{RECT}"),
    "rules in a style": lambda n: svg(f"<style>{'a{display:x}' * n}</style>{RECT}"),
    "declarations in a style": lambda n: svg(f'<rect style="{"a:b;" * n}" width="90" height="60"/>'),
    "spaces in a url": lambda n: svg(f'<rect width="90" height="60" fill="url({" " * n}"/>'),
    "urls": lambda n: svg(f'<rect width="90" height="60" fill="{"url(" * n}"/>'),
    "spaces behind a length": lambda n: svg(f'<rect width="90{" " * n}!" height="60"/>'),
    "digits of a length": lambda n: svg(f'<rect width="{"9" * n}" height="60"/>'),
    "digits of a size": lambda n: svg(RECT, f'width="{"9" * n}!" height="80mm"'),
    "spaces in path data": lambda n: svg(f'<path d="M0 0{" " * n}!"/>'),
    "digits in points": lambda n: svg(f'<polygon points="{"1" * n}x"/>'),
    "spaces in an aspect": lambda n: svg(RECT, f'viewBox="0 0 9 9" preserveAspectRatio="defer{" " * n}x"'),
    "an endless declaration": lambda n: f"<?xml {' ' * n}x",
    "an endless encoding": lambda n: f'<?xml version="1.0" encoding="{"x" * n}"?>{svg(RECT)}',
    "document types": lambda n: "<!DOCTYPE " * n + svg(RECT),
    "an endless document type": lambda n: f"<!DOCTYPE svg PUBLIC '-//W3C//DTD SVG {'a ' * n}" + svg(RECT),
    "spaces before the drawing": lambda n: " " * n + svg(RECT),
}


def _steps(read, path):
    """Count the calls while a file is read, whatever comes of it."""
    count = 0

    def step(frame, event, argument):
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(step)
    try:
        read(path)
    except FaceError as error:
        assert all(len(p) < 400 for p in error.problems)
    finally:
        sys.setprofile(None)
    return count


@pytest.mark.parametrize("name", WORST)
def test_a_drawing_twice_as_long_takes_twice_the_steps_at_most(write, name):
    once, twice = (write(WORST[name](n), f"{n}.svg") for n in (3000, 6000))
    _steps(read_face_drawing, once)  # what is loaded and kept the first time does not count
    assert _steps(read_face_drawing, twice) <= 2.2 * _steps(read_face_drawing, once) + 100


LEFT = "M0 0 L1 1 "


@pytest.mark.parametrize(
    "data", [LEFT + " " * 50_000 + "!", "M0 0C" + " " * 50_000 + "!", "M" + "1" * 50_000, (LEFT + "L") * 9000]
)
def test_a_cut_file_with_broken_path_data_is_told_at_once(data):
    with pytest.raises(ValueError, match=r"path data|plain number|takes 2 numbers|not one of"):
        path_data.outline(data)


def test_a_cut_file_whose_curves_take_endless_points_is_refused(monkeypatch):
    data = "M0 0" + "C999999 0 0 999999 0 0" * 20
    assert len(path_data.outline(data)[0]) > 100_000
    monkeypatch.setattr(path_data, "MOST_POINTS", 100_000)
    with pytest.raises(ValueError, match="more than 100000 points"):
        path_data.outline(data)
