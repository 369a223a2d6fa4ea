"""What the plates of one batch have in common."""

import pytest

from nameplate.job.plate_stage import ByDesign, PlateMaker, make_plates
from nameplate.job.progress import SILENCE
from nameplate.model import Order
from nameplate.plates.make import PlateWork
from nameplate.plates.one_size import one_size
from nameplate.ticket.schema import FaceKeys

from .contexts import context_for, make_once


def batch(orders, *, cuts=False, **keys):
    class HereAndNow(PlateMaker):
        def all_of(self, contexts, orders, stage):
            return tuple(self.make(contexts, order) for order in orders)

    contexts = {"": context_for(cuts=cuts, strengthen=False, **keys)}
    return make_plates(HereAndNow(ByDesign(make_once), SILENCE, pool=None), contexts, orders)


def works(orders, **keys):
    return batch(orders, size="uniform", **keys)[0]


def test_a_batch_of_one_size_has_one_size_and_one_baseline():
    names = ("Wren Abara", "Gypsy", "Otto", "Maximilian")
    made = [w.plate.lettering for w in works([Order(n, 2, n) for n in names], words="tie")]
    assert len({m.size for m in made}) == 1
    assert len({m.lines for m in made}) == len(names)
    assert max(m.baselines[0] for m in made) - min(m.baselines[0] for m in made) < 1e-5
    # the largest size at which all fit: one of them alone is no larger on that line
    alone = [works([Order(n, 2, n)], words="tie")[0].plate.lettering.size for n in names]
    assert made[0].size == pytest.approx(min(alone))


def test_a_row_with_a_size_of_its_own_keeps_it_and_stands_on_the_line():
    orders = [Order("1", 2, "Wren"), Order("2", 3, "Otto", size=9.0), Order("3", 4, "Jo")]
    wren, otto, jo = (w.plate.lettering for w in works(orders))
    assert otto.size == 9.0 and wren.size == jo.size > 9.0
    assert otto.baselines[0] == pytest.approx(wren.baselines[0], abs=1e-5)


def test_a_name_that_cannot_be_made_does_not_hold_up_the_others():
    orders = [Order("1", 2, "Wren"), Order("2", 3, "Wolfeschlegelsteinhausenbergerdorff" * 3)]
    wren, lost = works(orders)
    assert wren.plate.lettering is not None and lost.plate.lettering is None
    assert any(f.severity == "error" and f.plate == "2" for f in lost.plate.findings)


def sized(names, **keys):
    """The sizes of a batch by name, and what is said of it."""
    orders = [Order(str(row), row, name) for row, name in enumerate(names, 2)]
    made, findings = batch(orders, size="uniform", **keys)
    return {w.plate.order.name: w.plate.lettering.size for w in made if w.plate.lettering}, findings


def decided(names, **keys):
    """The orders of a batch with the size it has, without what is made at that size, and what is said of it."""
    context = context_for(cuts=False, strengthen=False, size="uniform", **keys)
    orders = [Order(str(row), row, name) for row, name in enumerate(names, 2)]
    return one_size(context, [make_once(context, order).plate for order in orders])


def test_rows_that_hold_the_others_back_are_named_with_the_size_without_them():
    short, long = ("Wren", "Otto", "Jo", "Runa"), "Petra Jagodic"
    sizes, (finding,) = sized((*short, long), words="tie")
    without, nothing = sized(short, words="tie")
    assert finding.code == "size-decided" and f"“{long}” (row 6)" in finding.message
    assert finding.measured == pytest.approx(sizes["Wren"], rel=1e-3) and len(set(sizes.values())) == 1
    assert finding.allowed == pytest.approx(without["Wren"], rel=1e-3) and finding.allowed > 1.1 * finding.measured
    assert f"{finding.allowed:.1f} mm instead of {finding.measured:.1f}" in finding.message
    assert "words" in finding.message and not nothing
    assert "words" not in decided((*short, long), words="stack").findings[0].message


def test_a_name_too_small_to_read_has_a_size_of_its_own_and_the_others_are_sized_without_it():
    short, long = ("Wren", "Otto", "Jo", "Runa"), "Maximilian Oberwieser"
    sizes, findings = sized((*short, long), words="tie")
    without, _ = sized(short, words="tie")
    assert {n: sizes[n] for n in short} == without
    (finding,) = [f for f in findings if f.code == "not-one-size"]
    assert (finding.row, finding.severity) == (6, "warning")
    assert finding.measured == pytest.approx(sizes[long], rel=1e-3) and finding.measured < 0.6 * without["Wren"]
    assert "give it two lines, " in finding.message  # it is on one


def test_what_is_on_two_lines_or_one_word_is_not_advised_two_lines():
    for long, words in (("Bo Wolfeschlegelsteinhausen", "stack"), ("Wolfeschlegelsteinhausen", "tie")):
        said = decided(("Wren", "Otto", "Jo", long), words=words).findings
        said = [finding for finding in said if finding.code == "not-one-size"]
        assert said and "two lines" not in said[0].message


def test_where_every_name_is_small_they_are_of_one_size_all_the_same():
    found = decided(("Maximilian Oberwieser", "Leopoldine Oberwieser"), words="tie")
    assert len({order.size for order in found.orders}) == 1
    assert found.orders[0].size and "not-one-size" not in {f.code for f in found.findings}


def test_a_name_that_ties_make_larger_than_its_bare_letters_is_made_at_the_size_of_the_batch():
    # of these the first decides, and the second gets little larger: more than its letters do without ties and webs
    orders = [Order("1", 2, "Nora Quill"), Order("2", 3, "Wren Abara")]
    face = FaceKeys(shape="rectangle", width=60, height=25, inset=3)
    made, _ = batch(orders, face=face, size="uniform")
    sizes = [work.plate.lettering.size for work in made if work.plate.lettering]
    assert len(sizes) == 2 and sizes[0] == sizes[1]


def test_rows_moved_by_hand_keep_the_size_of_the_batch():
    orders = [Order("1", 2, "Wren"), Order("2", 3, "Jo", dx=4.0)]
    (wren, jo), _ = batch(orders, size="uniform", words="tie")
    assert wren.plate.lettering.size == jo.plate.lettering.size
    assert jo.plate.lettering.placed[0] == pytest.approx(4.0, abs=1e-3)


def test_the_second_making_is_whole():
    (work,) = works([Order("1", 2, "Wren")], cuts=True)
    assert isinstance(work, PlateWork) and work.toolpaths and work.plate.lettering.neck is not None
