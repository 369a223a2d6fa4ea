"""Drafts of plates for the page, made in a worker: as `estimate` drafts them, moved as their rows ask."""

from __future__ import annotations

from dataclasses import replace

from nameplate.model import Order
from nameplate.plates.draft import draft_work
from nameplate.plates.make import PlateContext, PlateWork


def sketch_work(context: PlateContext, order: Order) -> PlateWork:
    """Draft one plate; whether a name that is moved by hand keeps to its zone is seen when it is made."""
    work = draft_work(context, order)
    lettering = work.plate.lettering
    if lettering is None or not (order.dx or order.dy):
        return work
    return replace(work, plate=replace(work.plate, lettering=lettering.moved_by(order.dx, order.dy)))
