"""Segments of path data against svgpathtools, an independent reader, and against the SVG specification."""

import cmath
import math
import random

import numpy as np
import pytest
from svgpathtools import parse_path

from nameplate.errors import FaceError
from nameplate.face.drawing.paths import contours, flat
from nameplate.face.drawing.segments import Arc, arc

UNMOVED = np.eye(3)

#: Commands and how many numbers they take (SVG 2, section 9.3).
NUMBERS = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}


def random_path(seed):
    """Write a path of all commands, absolute and relative, with sub-paths closed and left open."""
    rng = random.Random(seed)
    words = [f"M {rng.uniform(-50, 50):.3f} {rng.uniform(-50, 50):.3f}"]
    for _ in range(30):
        command = rng.choice("LHVCSQTA")
        values = [rng.uniform(-60, 60) for _ in range(NUMBERS[command])]
        if command == "A":
            values[:2] = [rng.uniform(1, 60), rng.uniform(1, 60)]
            values[3:5] = [rng.randint(0, 1), rng.randint(0, 1)]
        words.append((command if rng.random() < 0.5 else command.lower()) + " ".join(f"{v:.4g}" for v in values))
        if rng.random() < 0.1:
            words.append(rng.choice(["Z", "z", "m 3 4", "M 1 2"]))
    return " ".join(words)


@pytest.mark.parametrize("seed", range(40))
def test_a_path_of_all_commands_runs_where_another_reader_draws_it(seed):
    data = random_path(seed)
    mine = [contour for contour in contours(data) if contour.segments]
    theirs = [sub for sub in parse_path(data).continuous_subpaths() if len(sub)]
    segments = [s for contour in mine for s in contour.segments]
    others = [s for sub in theirs for s in sub]
    assert len(segments) == len(others)
    for own, other in zip(segments, others, strict=True):
        assert abs(own.start - other.start) < 1e-6
        assert abs(own.end - other.end) < 1e-6
        if isinstance(own, Arc):
            assert abs(own.centre - other.center) < 1e-6
            assert math.isclose(math.degrees(own.delta), other.delta, abs_tol=1e-5)
        else:
            assert np.allclose(own.controls, other.bpoints(), atol=1e-6)


def test_a_flat_arc_lies_on_its_ellipse():
    (contour,) = contours("M0 0A30 20 25 1 0 40 10")
    points = flat(contour, UNMOVED)
    (piece,) = contour.segments
    local = [(complex(x, y) - piece.centre) * cmath.exp(-1j * piece.tilt) for x, y in points.tolist()]
    # every point of an ellipse: (x / a)^2 + (y / b)^2 = 1; the ends are those written
    assert np.allclose([(p.real / 30) ** 2 + (p.imag / 20) ** 2 for p in local], 1, atol=1e-9)
    assert points[0].tolist() == [0, 0]
    assert points[-1].tolist() == [40, 10]
    assert abs(piece.delta) > math.pi  # the large one of the two


def test_radii_that_do_not_reach_are_made_just_large_enough():
    """SVG 2, section 9.5.1: scaled up uniformly until there is exactly one solution."""
    piece = arc(0j, 10 + 0j, (1.0, 2.0), 0.0, large=False, positive=True)
    assert piece.radii == pytest.approx((5.0, 10.0))
    assert piece.centre == pytest.approx(5 + 0j)
    assert abs(piece.delta) == pytest.approx(math.pi)


def test_numbers_that_cannot_be_computed_with_are_refused():
    with pytest.raises(FaceError, match="too large"):
        contours("M0 0A1e-300 1e-300 0 0 1 1e300 1e300")
