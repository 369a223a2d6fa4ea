"""A plate that goes into a record comes out the same, its outlines to the thousandth of a millimetre."""

import json
import math
import zlib
from dataclasses import fields, replace

import numpy as np
import pytest
from shapely import hausdorff_distance

from nameplate.cut.expectation import DropIn
from nameplate.errors import RecordError
from nameplate.geometry.region import difference, disc, rectangle
from nameplate.model import LetterBox, Lettering, LinePlace, Neck, Order, OrderedLine, Part, Plate
from nameplate.nest.layout import SheetLayout
from nameplate.record.kept import KeptSheet
from nameplate.record.plate_json import (
    KeptParts,
    KeptPlate,
    compressed,
    packed_parts,
    packed_plate,
    unpacked_parts,
    unpacked_plate,
)

#: Half of the step that coordinates are rounded to, along both axes.
ROUNDED = math.hypot(0.0005, 0.0005) + 1e-9

FRAME = difference(rectangle(0, 0, 30.12345, 20), disc((9.87654, 10), 8))

ORDER = Order(
    "017",
    4,
    "Lê Abara",
    "gärtner",
    lines=("Lê", "Abara"),
    copies=2,
    fonts=("Pacifico", "Satisfy"),
    size=12.5,
    extra=(("row", "7"),),
    stem="017-le-abara",
    styled=(OrderedLine("In memory of", ("Satisfy",), (("wght", 400.0),), ("ss01",), 0.5, gap=0.1, align="left"),),
)

LETTERING = Lettering(
    FRAME,
    12.5,
    9.1,
    ("Lê", "Abara"),
    1,
    neck=Neck(1.0, 2.0, 1.6, 5.0, 12.0),
    baselines=(3.0, -7.0),
    letters=(LetterBox("L", 0.0, 0.0, 3.0, 9.0),),
    placed=(0.1, -0.2),
    line_places=(LinePlace("Pacifico", 12.5, 0.5, 3.5),),
    legibility=0.83,
)

PARTS = (
    Part("017", "lettering", "mirror", FRAME, marks=(np.array([[1.0, 2.0], [3.5, 4.25]]),), copies=2, cut_from="x"),
    Part("017", "template", "template", FRAME, features=(("window", disc((9.9, 10), 9)),), layer=2, is_waste=True),
)


def kept():
    plate = Plate(ORDER, LETTERING, PARTS, jig={"file": "jigs/017.svg", "play": {"far": 0.31}})
    drop = DropIn("the lettering", ("017", "template", 1), 0.2, ("017", "lettering", 1), disc((0, 0), 3))
    return KeptPlate(plate, PARTS[1], (drop,))


def near(a, b):
    return hausdorff_distance(a, b) <= ROUNDED


def test_a_plate_comes_out_as_it_went_in():
    want, got = kept(), unpacked_plate(packed_plate(kept()), name="plate 017")
    assert got.plate.order == want.plate.order
    assert got.plate.jig == want.plate.jig
    for f in fields(Lettering):
        mine, theirs = getattr(got.plate.lettering, f.name), getattr(want.plate.lettering, f.name)
        assert near(mine, theirs) if f.name == "region" else mine == theirs, f.name
    for mine, theirs in zip((*got.plate.parts, got.drawn), (*want.plate.parts, want.drawn), strict=True):
        assert near(mine.region, theirs.region)
        assert [m.tolist() for m in mine.marks] == [m.tolist() for m in theirs.marks]
        assert [n for n, _ in mine.features] == [n for n, _ in theirs.features]
        assert all(near(a, b) for (_, a), (_, b) in zip(mine.features, theirs.features, strict=True))
        plain = {"region": rectangle(0, 0, 1, 1), "marks": (), "features": ()}
        assert replace(mine, **plain) == replace(theirs, **plain)
    (drop,) = got.drop_ins
    assert (drop.what, drop.outer, drop.room, drop.inner) == ("the lettering", ("017", "template", 1), 0.2, PARTS_KEY)
    assert near(drop.shape, want.drop_ins[0].shape)


PARTS_KEY = ("017", "lettering", 1)


def test_twice_kept_is_the_same_bytes():
    once = packed_plate(kept())
    assert packed_plate(unpacked_plate(once, name="")) == once


def test_what_a_batch_shares_comes_out_as_it_went_in():
    got = unpacked_parts(packed_parts(KeptParts(PARTS)), name="carrier")
    assert [(p.kind, p.layer, p.is_waste) for p in got.parts] == [("lettering", 1, False), ("template", 2, True)]


def spoilt(**changes):
    document = json.loads(zlib.decompress(packed_plate(kept())))
    return compressed({**document, **changes})


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no bytes of ours",
        packed_plate(kept())[:-9],
        zlib.compress(b"[1]"),
        zlib.compress(b"{"),
        compressed({}),
        spoilt(parts=[{}]),
        spoilt(order=7),
        spoilt(lettering={"region": ["@@"]}),
        spoilt(drop_ins=[{"what": 1}]),
    ],
)
def test_bytes_that_are_no_plate_are_told(data):
    with pytest.raises(RecordError, match="the record of plate 017 is damaged"):
        unpacked_plate(data, name="plate 017")


def test_entries_of_a_sheet_that_are_none_are_told():
    for torn in (b"", b"torn", zlib.compress(b"{}")):
        sheet = KeptSheet(1, "cut/mirror-01.svg", SheetLayout("mirror", 300, 200, 0), {}, torn, (), ())
        with pytest.raises(RecordError, match=r"the record of cut/mirror-01\.svg is damaged"):
            sheet.entries(())
