import re

import numpy as np

from nameplate.geometry import region as rg
from nameplate.model import Face, Lettering, Order, Plate
from nameplate.paperwork.cards import cards_html, plate_picture

FACE = Face(rg.rectangle(-50, -25, 50, 25), rg.rectangle(-44, -19, 44, 19), rg.EMPTY, "rectangle")
NAME = Lettering(rg.rectangle(-30, -4, 30, 4), 20.0, 10.0, ("Wren",), 1)
JIG = {
    "file": "jigs/1-wren.svg",
    "style": "carrier",
    "window": "contacts",
    "play": {"shift": 0.3, "turn": 0.4, "far": 0.45},
    "nubs": [[30.0, 0.0]],
}


def test_a_picture_is_true_to_size():
    svg = plate_picture(NAME, FACE, np.empty((0, 2)), "")
    width, height = re.search(r'width="([0-9.]+)mm" height="([0-9.]+)mm"', svg).groups()
    view = [float(v) for v in re.search(r'viewBox="([^"]+)"', svg)[1].split()]
    # hundredths of a millimetre: 100 units are one mm on paper
    assert float(width) == view[2] / 100 == 102.0 and float(height) == view[3] / 100 == 52.0


def test_a_plate_larger_than_the_paper_says_its_scale():
    large = Face(rg.rectangle(-200, -50, 200, 50), rg.EMPTY, rg.EMPTY, "rectangle")
    page = "".join(cards_html([Plate(Order("1", 2, "Wren"), NAME, jig=JIG)], {"": large}, title="T"))
    assert "picture at 1:2.26" in page


def test_every_made_plate_has_a_card_and_refused_ones_have_none():
    plates = [Plate(Order("1", 2, "Wren & <b>Co"), NAME, jig=JIG), Plate(Order("2", 3, "Jo"), None)]
    page = "".join(cards_html(plates, {"": FACE}, title="Orchard"))
    assert page.count('class="card"') == 1
    assert "Wren &amp; &lt;b&gt;Co" in page and "<b>Co" not in page
    for part in ("jigs/1-wren.svg", "0.45 mm", "Dry fit", "100 mm", "picture at 1:1"):
        assert part in page


def test_cautions_and_the_carriers_parts_are_on_the_page():
    carrier = {
        "layers": [{"layer": 1, "what": "floor", "thickness": 3.0}, {"layer": 2, "what": "wall", "thickness": 3.0}],
        "parts": [{"what": "dowel pin", "count": 3, "diameter": 3.0, "length": 10.0, "note": "pressed in"}],
        "play": {"shift": 0.1, "turn": 0.1, "far": 0.2},
    }
    page = "".join(cards_html([], {"": FACE}, title="Orchard", carriers={"": carrier}))
    assert "dowel pin" in page and "floor (3 mm)" in page
    assert "yanoacrylate" in page
