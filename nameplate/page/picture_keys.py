"""What stands for the picture of a plate: the digest of all that it is made and drawn by, and of nothing else.

The values themselves are digested, those that a worker gets and those that `drawing.drawn` takes, so that a key of the
ticket draws plates anew where it changes one of these, and only there: a price, a wall or a speed changes none.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from nameplate.model import Order, Plate
from nameplate.page.versions import version_of_values
from nameplate.plates.make import PlateContext
from nameplate.plates.typeset import files_of_fonts
from nameplate.system.digests import digest
from nameplate.system.grouping import grouped
from nameplate.system.shelf import changed
from nameplate.ticket.workshop_schema import MaterialKeys

#: What is said of a material of which neither a plate nor its picture is made, as it comes.
UNSEEN: Mapping[str, Any] = {
    key: getattr(MaterialKeys(), key) for key in ("kerf_days", "cut_speed", "score_speed", "grain", "face_down")
}


def picture_keys(
    contexts: Mapping[str, PlateContext], anew: Iterable[Order], on: Iterable[Plate] = (), *, inches: bool
) -> dict[str, str]:
    """Give by plate what stands for its picture: the same key, the same picture.

    The plates of `anew` are made of their orders, by the context of their design, the font files as they lie there, and
    where they have one size by all orders that have it, too; those that stay `on` are drawn of what was cut. Raises
    FontError for a font that is not there.
    """
    made_by = {design: version_of_values(pictured(context), inches) for design, context in contexts.items()}
    orders = [seen(order) for order in anew]
    batches = grouped((order.design, order) for order in orders if is_uniform(order, contexts))
    sizes = {design: version_of_values(batch) for design, batch in batches.items()}
    keys = {plate.order.id: version_of_values("cut", made_by[plate.order.design], as_pictured(plate)) for plate in on}
    fonts: dict[tuple[Path, tuple[str, ...]], str] = {}
    for order in orders:
        context = contexts[order.design]
        lettered = context.folder, tuple(dict.fromkeys((*order.every_font, *_fonts(context))))
        if lettered not in fonts:
            fonts[lettered] = version_of_values([digest(path.read_bytes()) for path in files_of_fonts(*lettered)])
        size = sizes[order.design] if is_uniform(order, contexts) else ""
        keys[order.id] = version_of_values(order, made_by[order.design], fonts[lettered], size)
    return keys


def pictured(context: PlateContext) -> PlateContext:
    """Give of what plates are made by what their pictures show: not how fast and which way round sheets are cut, nor
    when and on what a kerf was measured."""
    materials = {role: replace(own.unmeasured, **UNSEEN) for role, own in context.materials.items()}
    return replace(context, materials=materials, face_down=False)


def is_uniform(order: Order, contexts: Mapping[str, PlateContext]) -> bool:
    """Tell whether the size of a plate depends on all others of its design."""
    return contexts[order.design].lettering.size == "uniform" and order.baseline is None


def seen(order: Order) -> Order:
    """Give of an order what its picture shows, and the row that its findings name."""
    return replace(order, stem="", position="", extra=(), copies=1)


def as_pictured(plate: Plate) -> Plate:
    """Give of a plate what is drawn and told of it, however much of it is to be cut."""
    backing = tuple(changed(part, copies=1, first=1) for part in plate.parts if part.kind == "backing")
    return replace(plate, order=seen(plate.order), parts=backing, jig={})


def _fonts(context: PlateContext) -> Iterator[str]:
    """Yield the fonts that say where the lines of a batch stand, whatever fonts its rows have."""
    yield from context.lettering.font
    for line in context.lines:
        yield from line.font
