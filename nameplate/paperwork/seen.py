"""What a customer sees of a plate on a proof, in figures: kept with it, to tell on the next what looks otherwise.

By the ticket alone nobody can say that: a key that was taken out may change nothing, and a zone that was drawn anew may
make a name larger. Differences that nobody sees on paper are none.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import lru_cache

from nameplate.geometry import region as rg
from nameplate.model import Face, Plate
from nameplate.paperwork.pictures import artwork_picture, backing_of, path_data
from nameplate.system.digests import digest
from nameplate.system.writing import Json

#: Names whose size is another by less than this share, or that stand off by less than this (mm), look alike.
SAME_SIZE, SAME_PLACE = 0.005, 0.2

#: Names of one size and place whose areas are within this share of each other have the same letters.
SAME_AREA = 0.01

#: Digits of a face's digest: two are the same by chance once in 10 to the 19.
_DIGITS = 16


def seen_of(plate: Plate, face: Face) -> str:
    """Give what is seen of a plate on its face, as JSON; empty where it is not made."""
    if plate.lettering is None:
        return ""
    whole, backing = plate.lettering.whole, backing_of(plate)
    return json.dumps(
        {
            "ground": "" if face.free else _ground(face),
            "lines": list(plate.lettering.lines),
            "size": round(plate.lettering.size, 3),
            "middle": [round(v, 3) for v in rg.bounds(whole).centre],
            "areas": [round(shape.area, 1) for shape in (whole, backing)],
        },
        ensure_ascii=False,
    )


@lru_cache(maxsize=8)
def _ground(face: Face) -> str:
    drawn = path_data(face.outline), path_data(face.keep_outs), artwork_picture(face)
    return digest(repr(drawn).encode())[:_DIGITS]


def differences(then: Json, now: Json) -> tuple[str, ...] | None:
    """Say in a customer's words what is seen now and was not then; nothing of what looks alike, None where one of them
    lacks figures of the other.

    >>> a = {"ground": "1", "lines": ["Wren"], "size": 20.0, "middle": [0.0, 1.0], "areas": [300.0, 0.0]}
    >>> differences(a, {**a, "size": 22.0, "areas": [363.0, 0.0]}), differences(a, {**a, "middle": [0.1, 1.0]})
    (('it is set larger',), ())
    >>> differences({}, a)
    """
    return tuple(_differences(then, now)) if then.keys() >= now.keys() else None


def _differences(then: Json, now: Json) -> Iterator[str]:
    is_on_same = then["ground"] == now["ground"]
    has_same_lines = then["lines"] == now["lines"]
    by = now["size"] / then["size"]
    is_as_large = abs(by - 1) <= SAME_SIZE
    if not is_on_same:
        yield "the plaque is drawn otherwise"
    if not has_same_lines:
        yield "its lines are broken elsewhere"
    if not is_as_large:
        yield "it is set larger" if by > 1 else "it is set smaller"
    off = max(abs(a - b) for a, b in zip(then["middle"], now["middle"], strict=True))
    slack = SAME_PLACE + abs(now["size"] - then["size"]) / 4  # larger letters have another middle
    if is_on_same and has_same_lines and off > slack:
        yield "it stands elsewhere"
    areas = zip(then["areas"], now["areas"], strict=True)
    if is_as_large and has_same_lines and any(abs(a - b) > SAME_AREA * max(a, b) for a, b in areas):
        yield "its letters are drawn otherwise"
