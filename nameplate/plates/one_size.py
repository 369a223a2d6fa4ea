"""One size for a batch: which it is, which rows decide it, and which ones it is decided without.

A name whose letters would be small even by themselves does not make those of all others small: the size is decided
without it, it is made as large as it can be, and a finding of its own says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding, named
from nameplate.lettering.rules import SMALL_LETTERS, two_lines
from nameplate.model import Order, Plate
from nameplate.plates.make import PlateContext, baseline_at

#: A batch of one size is this share smaller than its smallest name, which would have no room at all to stand otherwise.
UNIFORM_EASE = 1e-4

#: Rows that hold all others back are named where there are at most this share of them, and the size without them is
#: this share larger: fewer are worth a word, more are the batch itself.
MOST_DECIDING, WORTH = 0.25, 0.1

#: Names listed in a finding.
LISTED = 8


@dataclass(frozen=True, slots=True)
class OneSize:
    """The orders to make at one size (em, mm), in the order of the plates asked about, and what is to be said of it."""

    orders: tuple[Order, ...]
    findings: tuple[Finding, ...] = ()


def one_size(context: PlateContext, plates: Sequence[Plate]) -> OneSize:
    """Give all plates that have a lettering the size of the smallest, and the baseline of all.

    `plates` are each as large as it can be. Rows with a size of their own keep it; so do those that are too small.
    """
    made = [plate for plate in plates if plate.lettering is not None]
    free = [plate for plate in made if plate.order.size is None]
    legible = [plate for plate in free if not any(f.code == SMALL_LETTERS for f in plate.findings)]
    deciding = sorted(legible or free, key=_size)
    if not deciding:
        return OneSize(tuple(plate.order for plate in made))
    common = _size(deciding[0]) * (1 - UNIFORM_EASE)
    baseline = baseline_at(context, common)
    aside = {plate.order.id for plate in free if _size(plate) < common}
    orders = [
        plate.order
        if plate.order.id in aside
        else replace(plate.order, size=plate.order.size or common, baseline=baseline)
        for plate in made
    ]
    words = "auto" if context.face.free else context.lettering.words  # by itself, a free name is on one line anyway
    alone = tuple(_too_small(plate, common) for plate in made if plate.order.id in aside)
    return OneSize(tuple(orders), (*_held_back(deciding, words), *alone))


def _size(plate: Plate) -> float:
    assert plate.lettering is not None
    return plate.lettering.size


def _too_small(plate: Plate, common: float) -> Finding:
    order, size = plate.order, _size(plate)
    assert plate.lettering is not None
    message = (
        f"“{order.name}” has room for a size of {size:.1f} mm only, hard to read: the others get {common:.1f}, and it "
        f"is made as large as it can be; give it {two_lines(plate.lettering.lines)}a shorter text or a face of its own"
    )
    return Finding("not-one-size", "warning", message, order.id, order.row, measured=size, allowed=common)


def _held_back(plates: Sequence[Plate], words: str) -> tuple[Finding, ...]:
    """Say which few plates, given smallest first, make all the others smaller, where they do by much."""
    sizes = [_size(plate) for plate in plates]
    counts = range(1, int(len(plates) * MOST_DECIDING) + 1)
    count = max(counts, key=lambda n: sizes[n] / sizes[n - 1], default=0)
    if not count or sizes[count] < (1 + WORTH) * sizes[0]:
        return ()
    names = [f"“{plate.order.name}” (row {plate.order.row})" for plate in plates[:count]]
    advice = ', or words = "auto", which may break them into lines' if words in ("tie", "bar", "loose") else ""
    message = (
        f"the size of all {len(plates)} is decided by {named(names, most=LISTED)}: without "
        f"{'it' if count == 1 else f'these {count}'} it would be {sizes[count]:.1f} mm instead of {sizes[0]:.1f}; "
        f"a shorter text or a line2 helps{advice}, or a size of its own in the column size"
    )
    return (Finding("size-decided", "note", message, measured=sizes[0], allowed=sizes[count]),)
