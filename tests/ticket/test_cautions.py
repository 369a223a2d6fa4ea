"""Forbidden materials by the words of their names. The list: University of Wisconsin-Madison, ehs.wisc.edu."""

from __future__ import annotations

import pytest

from nameplate.geometry.beam import Kerf, Strip
from nameplate.ticket.cautions import CAUTIONS, danger_of, is_familiar, material_findings, why_never_cut
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import MaterialKeys


@pytest.mark.parametrize(
    "name",
    [
        "PVC",
        "pvc foam board",
        "P.V.C.",
        "p v c",
        "P-V-C sheet",
        "PVC3mm",
        "3mm PVC",
        "uPVC",
        "U-PVC",
        "PVC-U",
        "CPVC pipe",
        "polyvinyl chloride",
        "Poly Vinyl Chloride",
        "poly-vinyl",
        "Polyvinylchlorid",
        "self-adhesive vinyl",
        "VINYLS",
        "faux leather (PVC)",
        "vinyle adhésif",
        "vinilo",
        "ПВХ",
        "P\u200bVC",
        "ＰＶＣ",
        "non-PVC vinyl",
    ],
)
def test_pvc_and_vinyl_are_refused_in_every_spelling(name):
    assert danger_of(name).what == "PVC or vinyl"
    assert "hydrogen chloride" in why_never_cut(name)


@pytest.mark.parametrize(
    "name",
    [
        "polycarbonate",
        "Poly-Carbonate",
        "poly carbonate",
        "Polycarbonat",
        "policarbonato",
        "PC sheet",
        "3 mm PC",
        "P.C.",
        "PC/ABS",
    ],
)
def test_polycarbonate_is_refused(name):
    assert danger_of(name).what == "polycarbonate"


@pytest.mark.parametrize("name", ["ABS", "a.b.s.", "black ABS sheet", "acrylonitrile butadiene styrene"])
def test_abs_is_refused(name):
    assert danger_of(name).what == "ABS"


@pytest.mark.parametrize("name", ["neoprene", "chlorinated rubber", "polychloroprene"])
def test_chlorine_is_refused(name):
    assert danger_of(name).what == "a material with chlorine"


@pytest.mark.parametrize("name", ["unknown plastic", "mystery plastics from the shelf"])
def test_an_unknown_plastic_is_refused(name):
    assert danger_of(name).what == "an unknown plastic"


@pytest.mark.parametrize(
    "name",
    [
        "cast acrylic",
        "acrylic",
        "birch ply",
        "absolutely flat birch",
        "PVC-free card",
        "PVC free leather",
        "no PVC card",
        "free of PVC: felt",
        "vinyl-free leather",
        "10 pc birch",
        "5 pcs oak",
        "grade A/B birch plywood",
        "absorbent paper",
        "grey board",
        "A4 card",
        "epcot oak",
        "contreplaqué bouleau",
        "Sperrholz",
    ],
)
def test_no_false_alarm(name):
    assert danger_of(name) is None


def test_a_material_that_is_not_known_is_a_warning_and_a_known_one_is_silent():
    def codes(name):
        return [f.code for f in material_findings(Ticket(material={"lettering": MaterialKeys(name=name)}))]

    assert codes("PETG") == ["unknown-material"]
    assert codes("faux leather") == ["unknown-material"]
    assert codes("cast acrylic") == []
    assert codes("clear vinyl") == ["forbidden-material"]
    assert not is_familiar("")


def test_a_material_that_is_not_cut_may_be_unknown_and_is_refused_all_the_same():
    material = {"lettering": MaterialKeys(name="PETG"), "slate": MaterialKeys(name="slate")}
    told = material_findings(Ticket(material=material), {"lettering"})
    assert [(f.code, "PETG" in f.message) for f in told] == [("unknown-material", True)]
    vinyl = Ticket(material={"blank": MaterialKeys(name="clear vinyl")})
    assert [f.code for f in material_findings(vinyl, ())] == ["forbidden-material"]


def test_a_kerf_out_of_the_usual_range_is_a_warning():
    # common practice: CO2 kerfs lie between 0.05 and 0.5 mm
    def codes(kerf):
        material = {"lettering": MaterialKeys("birch ply", 3.0, kerf)}
        return [f.code for f in material_findings(Ticket(material=material))]

    assert codes(Kerf.of(0.05)) == codes(Kerf.of(0.5)) == []
    assert codes(Kerf.of(0.0)) == codes(Kerf.of(0.51)) == ["odd-kerf"]
    assert codes(Kerf(Strip(0.2, 0.04), Strip(0.6, 0.2))) == ["odd-kerf", "odd-kerf"]


def test_the_cautions_name_what_must_be_named():
    text = " ".join(c.text for c in CAUTIONS)
    for word in (
        "PVC",
        "vinyl",
        "polycarbonate",
        "ABS",
        "Cyanoacrylate",
        "cotton",
        "silica",
        "rebar",
        "licensed trades",
    ):
        assert word in text
    assert "Local codes" in CAUTIONS[0].text
    assert all(c.source for c in CAUTIONS)
