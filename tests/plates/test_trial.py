"""The trial of a part before the nest: its curves are fitted as closely as it takes, and no closer."""

import pytest

from nameplate import tolerances
from nameplate.cut.expectation import ExpectedPart
from nameplate.cut.kerf import toolpath
from nameplate.geometry import region
from nameplate.model import Part
from nameplate.plates.trial import cut_true, tried

KERF = 0.2


def crescent(radius, shift, bite):
    """A disc of a radius (mm) from which another one, so much to the right, takes all but a moon with two tips."""
    moon = region.difference(region.disc((0, 0), radius), region.disc((shift, 0), bite))
    shape = region.of_solids([max(region.solids(moon), key=lambda solid: solid.area)])
    return Part("1", "lettering", "l", shape), ExpectedPart("1", "lettering", 1, 1, shape)


def lines(path):
    return [len(contour.curve.segments) for contour in path.contours]


@pytest.mark.parametrize(
    ("radius", "shift", "bite", "share"), [(10, 0.4, 9.3, 0.6), (12, 1.0, 11.16, 0.3), (14, 0.4, 14.7, 0.1)]
)
def test_a_part_whose_tips_its_curves_would_spoil_is_fitted_as_closely_as_it_takes(radius, shift, bite, share):
    part, expected = crescent(radius, shift, bite)
    assert [fault.code for fault in tried(toolpath(part, KERF), expected, KERF)] == ["shape-off"]
    path, found = cut_true(part, expected, KERF)
    assert found == () and tried(path, expected, KERF) == ()
    assert lines(path) == lines(toolpath(part, KERF, within=share * tolerances.CURVE))


def test_a_part_that_no_curves_burn_true_is_told_with_how_far_it_is_off():
    (fault,) = cut_true(*crescent(20, 0.4, 19.2), KERF)[1]
    assert fault.code == "shape-off" and fault.measured > tolerances.BURN
