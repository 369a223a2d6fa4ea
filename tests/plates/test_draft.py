"""Drafts of plates: every way to make a plate gives the parts that the run will cut, and cheap refusals are found."""

from collections import Counter
from dataclasses import replace

import pytest

from nameplate.model import Order
from nameplate.plates.batch_parts import make_shared_work
from nameplate.plates.draft import draft_shared_work, drafted_materials
from nameplate.ticket.schema import FaceKeys, JigKeys

from . import contexts
from .contexts import FACE, draft_once, make_once


def context_for(mount="applied", style="template", face=FACE, **keys):
    return contexts.context_for(face, jig=JigKeys(style=style, ladder=True), cuts=False, mount=mount, **keys)


def kinds(parts):
    return Counter({(p.kind, p.material, p.layer): p.copies for p in parts})


@pytest.mark.parametrize(
    ("mount", "style"),
    [
        ("applied", "template"),
        ("applied", "carrier"),
        ("applied", "skeleton"),
        ("applied", "print"),
        ("applied", "none"),
        ("backed", "template"),
        ("pierced", "template"),
        ("marked", "template"),
    ],
)
def test_the_parts_are_those_of_the_run(mount, style):
    context = context_for(mount, style)
    order = Order("7", 2, "Wren", copies=2, mount=mount)
    drafted, made = draft_once(context, order).plate, make_once(context, order).plate
    assert kinds(drafted.parts) == kinds(made.parts)
    for own, other in zip(
        sorted(drafted.parts, key=lambda p: p.kind), sorted(made.parts, key=lambda p: p.kind), strict=True
    ):
        assert (own.cut_from, own.is_waste) == (other.cut_from, other.is_waste)
        if not own.cut_from:  # the box that a part takes up on its sheet, within the draft's measure
            sides = [(b[2] - b[0], b[3] - b[1]) for b in (own.region.bounds, other.region.bounds)]
            assert sides[0] == pytest.approx(sides[1], rel=0.03)


@pytest.mark.parametrize("style", ["template", "carrier", "skeleton", "print", "none"])
def test_what_a_batch_shares_is_what_the_run_shares(style):
    context = context_for(style=style)
    order = Order("1", 2, "Wren Abara")
    drafted, made = (
        draft_shared_work(context, [order], title="").parts,
        make_shared_work(context, [order], title="").parts,
    )
    assert kinds(drafted) == kinds(made)
    assert [p.region.area for p in drafted] == pytest.approx([p.region.area for p in made])


def test_a_name_too_long_is_refused_with_its_row():
    small = context_for(face=FaceKeys(shape="ellipse", width=30, height=16), words="tie")
    plate = draft_once(small, Order("3", 9, "Bartholomew Featherstonehaugh")).plate
    assert plate.lettering is None and not plate.parts
    assert [(f.code, f.plate, f.row) for f in plate.findings] == [("letters-too-small", "3", 9)]


def test_a_window_that_breaks_out_is_refused_as_in_the_run():
    context = context_for(face=replace(FACE, inset=0))
    order = Order("3", 9, "Wren Abara")
    drafted, made = draft_once(context, order).plate, make_once(context, order).plate
    assert drafted.lettering is None and made.lettering is None
    assert {f.code for f in drafted.findings} & {f.code for f in made.findings} == {"window-breaks-out"}


def test_only_lettering_and_what_follows_it_is_drafted():
    parts = draft_once(context_for("backed"), Order("7", 2, "Wren", mount="backed")).plate.parts
    assert drafted_materials(parts, ["template"]) == {"lettering", "backing"}
    assert drafted_materials(parts, ["carrier"]) == {"lettering", "backing", "template"}
    skeleton = draft_once(context_for(style="skeleton"), Order("7", 2, "Wren")).plate.parts
    assert drafted_materials(skeleton, ["skeleton"]) == set()


@pytest.mark.parametrize(("mounts", "there"), [(("pierced", "applied"), True), (("pierced", "marked"), False)])
def test_a_carrier_is_cut_for_the_rows_that_need_one_whatever_the_tickets_mount(mounts, there):
    context = context_for(style="carrier")
    context = replace(context, lettering=replace(context.lettering, mount="pierced"))
    orders = [Order(str(i), i, "Wren Abara", mount=mount) for i, mount in enumerate(mounts, 2)]
    for shared in (draft_shared_work(context, orders, title=""), make_shared_work(context, orders, title="")):
        assert bool(shared.parts) is there
