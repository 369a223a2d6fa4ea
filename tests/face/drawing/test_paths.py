"""Path data against svgelements, a reader of its own making, and against the SVG specification."""

import math
import random
from dataclasses import replace

import numpy as np
import pytest
import svgelements

from nameplate import tolerances
from nameplate.errors import FaceError
from nameplate.face.drawing.paths import MOST_POINTS, contours


def flat(contour, tolerance=tolerances.FLATTEN):
    return contour.flat(np.eye(3), tolerance, most=MOST_POINTS)


#: Commands and how many numbers they take (SVG 2, section 9.3).
NUMBERS = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}


def random_path(seed):
    """Write a path of all commands, absolute and relative, with sub-paths closed and left open.

    No S follows a Q and no T a C: svgelements 1.9 mirrors those too, against SVG 2, sections 9.3.6 and 9.3.7.
    """
    rng = random.Random(seed)
    words = [f"M {rng.uniform(-50, 50):.3f} {rng.uniform(-50, 50):.3f}"]
    command = "M"
    for _ in range(30):
        command = rng.choice({"C": "LHVCSQA", "S": "LHVCSQA", "Q": "LHVCQTA", "T": "LHVCQTA"}.get(command, "LHVCSQTA"))
        values = [rng.uniform(-60, 60) for _ in range(NUMBERS[command])]
        if command == "A":
            values[:2] = [rng.uniform(1, 60), rng.uniform(1, 60)]
            values[3:5] = [rng.randint(0, 1), rng.randint(0, 1)]
        words.append((command if rng.random() < 0.5 else command.lower()) + " ".join(f"{v:.4g}" for v in values))
        if rng.random() < 0.1:
            words.append(rng.choice(["Z", "z", "m 3 4", "M 1 2", "zm3 4", "z m 1 1 m 2 2"]))
    return " ".join(words)


@pytest.mark.parametrize("seed", range(40))
def test_a_path_of_all_commands_runs_where_another_reader_draws_it(seed):
    data = random_path(seed)
    theirs = [s for s in svgelements.Path(data) if not isinstance(s, svgelements.Move)]
    theirs = [s for s in theirs if not isinstance(s, svgelements.Close) or s.start != s.end]
    mine = [(contour, i) for contour in contours(data) for i in range(len(contour.segments))]
    assert len(mine) == len(theirs)
    for (contour, i), other in zip(mine, theirs, strict=True):
        segment = contour.segments[i]
        for t in (0.0, 0.3, 0.5, 0.9, 1.0):
            x, y = other.point(t)
            assert abs(segment.point(t) - complex(x, y)) < 1e-5  # it finds the angle of an arc that it widens by acos


def test_where_a_sub_path_begins_and_whether_it_is_closed():
    """SVG 2, section 9.3.4: after a closing the next sub-path starts where the closed one did."""
    found = contours("M1 1 m1 1 h5v5z h-3 zz M5 5 z m 1 0 2 2 3 3")
    assert [(len(c.segments), c.closed) for c in found] == [(3, True), (2, True), (2, False)]
    assert [c.ends().tolist() for c in found] == [[[2, 2], [2, 2]], [[2, 2], [2, 2]], [[6, 5], [11, 10]]]


def test_a_smooth_curve_mirrors_only_a_curve_of_its_kind():
    """SVG 2, sections 9.3.6 and 9.3.7: else its first control point is where it begins."""
    (contour,) = contours("M0 0 S1 1 2 0 S4 1 5 0 T7 0 T9 0 Q10 1 11 0 T13 0 S14 1 15 0")
    controls = [list(s.bpoints()[1:-1]) for s in contour.segments]
    assert controls == [[0, 1 + 1j], [3 - 1j, 4 + 1j], [5], [9], [10 + 1j], [12 - 1j], [13, 14 + 1j]]


def test_numbers_and_flags_without_gaps_are_told_apart():
    assert np.allclose(flat(contours("M1.5.5-1.e0,+2")[0]), [[1.5, 0.5], [-1, 2]])
    assert np.allclose(contours("M0 0a5 5 0 0110 0 5 5 0 1 0-10 0")[0].ends(), [[0, 0], [0, 0]])


@pytest.mark.parametrize(
    "data",
    [
        "M0 0h",
        "M0 0 L1",
        "M0 0x",
        "M0 0A5 5 0 2 1 9 9",
        "M0 0A5 5 0 01",
        "M0 0z5",
        "M",
        "M0 0h1e",
        "M0 0h1x",
        "m0 0#",
    ],
)
def test_what_is_not_in_the_grammar_is_refused(data):
    with pytest.raises(FaceError, match="path data is broken near"):
        contours(data)


def test_a_flat_arc_lies_on_its_ellipse():
    (contour,) = contours("M0 0A30 20 25 1 0 40 10")
    points = flat(contour)
    # the centre by hand (SVG 2, appendix B.2.4), the angle from the path data
    c, s = math.cos(math.radians(25)), math.sin(math.radians(25))
    x1, y1 = (c * -40 + s * -10) / 2, (-s * -40 + c * -10) / 2
    root = math.sqrt((30 * 20) ** 2 / ((30 * y1) ** 2 + (20 * x1) ** 2) - 1)
    cx, cy = root * 30 * y1 / 20, root * -20 * x1 / 30
    centre = (c * cx - s * cy + 20, s * cx + c * cy + 5)
    local = (points - centre) @ np.array([[c, -s], [s, c]])
    # every point of an ellipse: (x / a)^2 + (y / b)^2 = 1; the ends are those written
    assert np.allclose((local / (30, 20)) ** 2 @ (1, 1), 1, atol=1e-9)
    assert points[[0, -1]].tolist() == [[0, 0], [40, 10]]
    turned = np.unwrap(np.arctan2(local[:, 1] / 20, local[:, 0] / 30))
    assert turned[-1] - turned[0] < -math.pi  # the large one of the two, against the clock in y down


def test_radii_that_do_not_reach_are_made_just_large_enough():
    """SVG 2, section 9.5.1: scaled up uniformly until there is exactly one solution."""
    (contour,) = contours("M0 0A1 2 0 0 1 10 0")
    assert np.allclose(np.ptp(flat(contour, 1e-4), axis=0), (10, 10), atol=1e-3)


def test_an_arc_without_a_radius_is_a_line_and_one_without_ends_is_refused():
    """SVG 2, section 9.5.1; the second would be left out there, and may have been meant as a whole ellipse."""
    (contour,) = contours("M0 0A0 5 0 0 0 9 9")
    assert flat(contour).tolist() == [[0, 0], [9, 9]]
    with pytest.raises(FaceError, match="an arc that ends where it begins"):
        contours("M0 0h3a5 5 0 1 1 0 0z")


@pytest.mark.parametrize("seed", range(5))
def test_the_reach_holds_the_contour(seed):
    matrix = np.array([[0.3, 0.1, 4], [-0.2, 0.3, -3], [0, 0, 1]])
    for contour in contours(random_path(seed)):
        placed = replace(contour, matrix=matrix)
        box, points = placed.reach(), flat(placed)
        assert (points >= box.min(axis=0) - 1e-9).all()
        assert (points <= box.max(axis=0) + 1e-9).all()


def test_numbers_that_cannot_be_computed_with_are_refused():
    with pytest.raises(FaceError, match="too large"):
        contours("M0 0A1e-300 1e-300 0 0 1 1e300 1e300")
    with pytest.raises(FaceError, match="too large to be drawn"):
        contours("M0 0A1e-300 1e-300 0 0 1 9 9")
