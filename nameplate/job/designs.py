"""A batch design by design: each has its face and jigs, and parts that its plates share; all else is the batch's.

A ticket without designs has one, without a name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from nameplate.face.making import face_words, make_face
from nameplate.findings import Finding
from nameplate.jig.batch import jig_stock
from nameplate.model import Face, Order, Plate
from nameplate.plates.batch_parts import SharedWork, make_shared_work, of_design
from nameplate.plates.draft import draft_shared_work
from nameplate.plates.make import PlateContext
from nameplate.plates.mounts import thin_plaque
from nameplate.system.grouping import grouped
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.materials import is_plaque_cut
from nameplate.ticket.schema import FaceKeys, Ticket

#: What the plates of each design are made by, by its name.
Contexts: TypeAlias = Mapping[str, PlateContext]


@dataclass(frozen=True, slots=True)
class DesignWork:
    """One design of a batch: its name, what its plates are made by, the plates, and what they share."""

    name: str
    context: PlateContext
    plates: tuple[Plate, ...]
    shared: SharedWork


def make_contexts(
    ticket: Ticket, *, cuts: bool, orders: Sequence[Order] = ()
) -> tuple[dict[str, PlateContext], tuple[Finding, ...]]:
    """Make what the plates of each design are made by; designs of one face share it, and what is found about it.

    One note tells how large all faces are, and what their drawings have besides; of the ticket's own face beside its
    designs nothing is said unless any of the `orders` is without a design. Raises FaceError when a face cannot be made.
    """
    told = tickets_told(ticket, orders)
    faces: dict[FaceKeys, Face] = {}
    found: list[Finding] = []
    contexts = {}
    for own in tickets_of(ticket):
        if own.face not in faces:
            faces[own.face], about = make_face(own.face)
            if alike := [one for one in told if one.face == own.face]:
                found += of_design(own.design, about)
                cut = [one for one in alike if is_plaque_cut(one, one.lettering.mount)]
                for one in cut[:1]:
                    found += of_design(one.design, thin_plaque(faces[own.face], one.lettering.min_web))
        contexts[own.design] = PlateContext.of(own, faces[own.face], cuts)
    roles = [f.message for f in found if f.code == "drawing-roles"]
    shown = {own.design: contexts[own.design] for own in told}
    size = _sizes(shown)
    note = replace(size, message="; ".join([size.message, *roles]))
    only_free = all(context.face.free for context in shown.values())  # their size is told already
    return contexts, (*(f for f in found if f.code != "drawing-roles"), *(() if only_free else (note,)))


def tickets_told(ticket: Ticket, orders: Iterable[Order]) -> tuple[Ticket, ...]:
    """Give the tickets that a job's rows are made by, as :func:`~nameplate.ticket.checks.tickets_of` does; the ticket
    itself only where a row is without a design, or there is none of either."""
    every, used = tickets_of(ticket), {order.design for order in orders}
    return every if not used or "" in used else tuple(own for own in every if own.design) or every


def faces_of(contexts: Contexts) -> dict[str, Face]:
    """Give the faces of designs."""
    return {name: context.face for name, context in contexts.items()}


def _sizes(contexts: Contexts) -> Finding:
    by_words = grouped((face_words(context.face), name) for name, context in contexts.items())
    if len(by_words) == 1:
        return Finding("face-size", "note", f"the face: {next(iter(by_words))}")
    sizes = "; ".join(f"{words} ({_whose(names)})" for words, names in by_words.items())
    return Finding("face-size", "note", f"the faces: {sizes}")


def _whose(designs: Sequence[str]) -> str:
    """Name designs; the empty name is of rows without one.

    >>> _whose(["gold", ""]), _whose(["gold", "silver"]), _whose([""])
    ('rows without a design, design gold', 'designs gold, silver', 'rows without a design')
    """
    named = [name for name in designs if name]
    words = ["rows without a design"] * ("" in designs)
    return ", ".join([*words, *([f"design{'s' if len(named) > 1 else ''} {', '.join(named)}"] if named else [])])


def one_for_all(findings: Iterable[Finding], designs: Iterable[str]) -> tuple[Finding, ...]:
    """Say once what was found alike of several designs, where it was found first; it names them.

    >>> found = [Finding("a", "note", f"design {name}: same") for name in ("gold", "silver")]
    >>> [f.message for f in one_for_all([*found, Finding("b", "note", "other")], ["gold", "silver"])]
    ['designs gold, silver: same', 'other']
    """
    known = [name for name in designs if name]

    def bare(finding: Finding) -> tuple[Finding, str]:
        start = next((n for n in known if finding.message.startswith(f"design {n}: ")), "")
        message = finding.message.removeprefix(f"design {start}: ") if start else finding.message
        return replace(finding, message=message), start

    together = grouped(map(bare, findings))
    return tuple(
        f if set(own) == {""} else replace(f, message=f"{_whose(list(dict.fromkeys(own)))}: {f.message}")
        for f, own in together.items()
    )


def make_shared(contexts: Contexts, orders: Sequence[Order], *, title: str, draft: bool) -> dict[str, SharedWork]:
    """Make what the plates of each design share. A fit ladder of the same materials is cut once."""
    make = draft_shared_work if draft else make_shared_work
    shared: dict[str, SharedWork] = {}
    ladders: set[tuple[str, ...]] = set()
    for name, context in contexts.items():
        own = [order for order in orders if order.design == name]
        work = make(context, own, title=f"{title} {name}".strip())
        ladder = tuple(part.material for part in work.parts if part.kind == "coupon")
        lost = {part.plate for part in work.parts if part.kind == "coupon" and ladder in ladders}
        ladders.add(ladder)
        shared[name] = work.without(lost)
    return shared


def stock_of_jigs(designs: Sequence[DesignWork]) -> dict[str, float] | None:
    """Give the stock that all jigs take (mm2), as `jig_stock` does for each design; None without jigs of their own."""
    every = [jig_stock(one.plates, one.shared.parts, one.context.face) for one in designs]
    own = [stock for stock in every if stock is not None]
    if len(own) < 2:
        return own[0] if own else None
    total = {key: round(sum(stock[key] for stock in own), 1) for key in own[0]}
    return {**total, "saved": round(1 - (total["templates"] + total["carrier"]) / total["full_face_frames"], 4)}
