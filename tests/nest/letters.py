"""Shapes like names in script, for nesting: low bodies, ascenders, counters; made by rule, different each time."""

import numpy as np

from nameplate.geometry.region import capsule, difference, from_ring, moved, rectangle, union
from nameplate.nest.layout import Piece, placed
from nameplate.nest.nesting import nest
from nameplate.nest.offcuts import remainder
from nameplate.nest.request import NestRequest


def word(seed, width=60.0):
    """A wavy band with strokes up and down and a ring or two."""
    rng = np.random.default_rng(seed)
    xs = np.linspace(0, width, 9)
    shapes = [capsule(np.column_stack([xs, rng.uniform(-1, 1, 9)]), 4.0)]
    for x in rng.uniform(3, width - 3, 4):
        tip = float(rng.choice([11.0, 9.0, -8.0]))
        shapes.append(capsule([(x, 0), (x + tip / 4, tip)], 3.0))
    x = float(rng.uniform(8, width - 8))
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    ring = difference(from_ring(circle * 6 + (x, 3)), from_ring(circle * 3.5 + (x, 3)))
    return moved(union(*shapes, ring), -width / 2, 0)


def piece(plate, shape):
    """The one piece of a plate."""
    return Piece(plate, "lettering", 1, 1, "lettering", shape)


def words(count, width=60.0, seed=0):
    return [piece(f"{i:03d}", word(seed + i, width)) for i in range(count)]


def squares(count, side=10.0):
    return [piece(f"{i:02d}", rectangle(0, 0, side, side)) for i in range(count)]


def nested(pieces, stock, keys, *, stores=None, pool=None, **more):
    return nest(NestRequest(pieces, stock, keys, **more), stores=stores, pool=pool)


def rests(layout, pieces, gap):
    """What is left of every sheet of a layout that is worth keeping."""
    by_key = {piece.key: piece for piece in pieces}
    found = (remainder(sheet, [placed(by_key[at.key], at) for at in sheet.placements], gap) for sheet in layout.sheets)
    return tuple(rest for rest in found if rest is not None)
