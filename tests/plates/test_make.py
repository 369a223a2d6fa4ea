"""What the plates of one batch have in common."""

from pathlib import Path

import pytest

from nameplate.face.making import make_face
from nameplate.job.prepare import _make_works
from nameplate.job.progress import Silence
from nameplate.model import Order
from nameplate.plates.make import Shop, Work, make_work
from nameplate.ticket.schema import DEFAULT_MATERIALS, FaceKeys, JigKeys, LetteringKeys, Ticket

FACE = FaceKeys(shape="ellipse", width=110, height=80)


def ticket_with(**keys):
    return Ticket(
        face=FACE,
        lettering=LetteringKeys(**keys),
        material=DEFAULT_MATERIALS,
        jig=JigKeys(style="none"),
        folder=Path(),
    )


def works(orders, **keys):
    shop = Shop(ticket_with(**keys), make_face(FACE)[0])

    def make(shop, orders, stage, progress, workers):
        return tuple(make_work(shop, order) for order in orders)

    return _make_works(make, shop, orders, Silence(), 1)[0]


def test_a_batch_of_one_size_has_one_size_and_one_baseline():
    names = ("Wren Abara", "Gypsy", "Otto", "Maximilian")
    made = [w.plate.lettering for w in works([Order(n, 2, n) for n in names], size="uniform", words="tie")]
    assert len({m.size for m in made}) == 1
    assert len({m.lines for m in made}) == len(names)
    assert max(m.baselines[0] for m in made) - min(m.baselines[0] for m in made) < 1e-5
    # the largest size at which all fit: one of them alone is no larger on that line
    alone = [works([Order(n, 2, n)], size="uniform", words="tie")[0].plate.lettering.size for n in names]
    assert made[0].size == pytest.approx(min(alone))


def test_a_row_with_a_size_of_its_own_keeps_it_and_stands_on_the_line():
    orders = [Order("1", 2, "Wren"), Order("2", 3, "Otto", size=9.0), Order("3", 4, "Jo")]
    wren, otto, jo = (w.plate.lettering for w in works(orders, size="uniform"))
    assert otto.size == 9.0 and wren.size == jo.size > 9.0
    assert otto.baselines[0] == pytest.approx(wren.baselines[0], abs=1e-5)


def test_a_name_that_cannot_be_made_does_not_hold_up_the_others():
    orders = [Order("1", 2, "Wren"), Order("2", 3, "Wolfeschlegelsteinhausenbergerdorff" * 3)]
    wren, lost = works(orders, size="uniform")
    assert wren.plate.lettering is not None and lost.plate.lettering is None
    assert any(f.severity == "error" and f.plate == "2" for f in lost.plate.findings)


def test_the_second_making_is_whole():
    (work,) = works([Order("1", 2, "Wren")], size="uniform")
    assert isinstance(work, Work) and work.toolpaths and work.plate.lettering.neck is not None
