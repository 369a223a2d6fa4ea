"""Which sheets lie with their show side below, so that it stays under its masking while the beam burns from behind.

A sheet lies one way with all that is on it. So a material lies face up where anything on it must: where something is
scored on the show side, and where jigs are cut of the same material, which nobody sees and which are not mirrored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from nameplate.findings import Finding
from nameplate.model import Part, PartKind
from nameplate.nest.request import NestRequest
from nameplate.plates.batch_parts import SharedWork
from nameplate.plates.make import PlateWork
from nameplate.system.grouping import grouped
from nameplate.system.shelf import stored
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.materials import is_plaque_cut
from nameplate.ticket.schema import Ticket

_PLURAL: Mapping[str, str] = {"lettering": "names", "backing": "backings", "blank": "plaques"}

#: What people see of a plate, in the order of its layers from the top.
SEEN: tuple[PartKind, ...] = ("lettering", "backing", "blank")


def turned_over(
    supply: NestRequest, works: Sequence[PlateWork], shared: Mapping[str, SharedWork], ticket: Ticket
) -> tuple[NestRequest, tuple[Finding, ...]]:
    """Say in a supply which of the materials that are to lie face down do, and say of the others why they do not.

    Of a material of jigs alone that is said only where it is to lie so by itself, not as all are. Offcuts are turned as
    their material lies.
    """
    parts = [part for work in works for part in work.plate.parts if part.copies]
    parts += [part for own in shared.values() for part in own.parts if part.copies]
    reasons = grouped(dict.fromkeys(_face_up(parts)))
    asked = dict.fromkeys(part.material for part in parts if part.material in ticket.face_down)
    shown = {part.material for part in parts if part.kind in SEEN}
    by_itself = {key for key, own in ticket.material.items() if own.face_down}
    seen = [material for material in asked if material in shown | by_itself]
    for material in asked.keys() - shown:
        reasons[material] = ["only jigs are cut of it, which are not mirrored; leave the key out"]
    down = frozenset(seen) - frozenset(reasons)
    offcuts = tuple(offcut.lying(face_down=offcut.material in down) for offcut in supply.offcuts)
    told = tuple(Finding("face-up", "warning", _lies_face_up(m, reasons[m])) for m in seen if m in reasons)
    return replace(supply, face_down=down, offcuts=offcuts), told


def _face_up(parts: Iterable[Part]) -> Iterator[tuple[str, str]]:
    """Yield each material that has to lie face up, with the reason and what to do; once for each part."""
    for part in parts:
        if part.kind not in SEEN:
            yield (
                part.material,
                f"jigs are cut of it ({part.kind}), which are not mirrored; give jigs a material of their own, or "
                'choose another [jig] style than "skeleton"',
            )
        elif stored(part, "marks") != ():
            yield part.material, _scored_reason(part.kind)


def _scored_reason(role: str) -> str:
    """Say that parts of a role are scored on their show side, and what to do."""
    what = 'write register = "template"' if role == "backing" else "leave out what is scored on them"
    return f"{_PLURAL[role]} are scored on their show side; {what}, or protect that side"


def _lies_face_up(material: str, reasons: Iterable[str]) -> str:
    """Say that a material does not lie face down as it was asked to, and all the reasons."""
    why = "; and ".join(reasons)
    return f"face_down = true, but sheets of {material} lie face up and are cut unmirrored: {why}"


def known_to_lie_face_up(ticket: Ticket) -> tuple[str, ...]:
    """Say of each material that is to lie face down why it cannot, as far as the ticket alone tells it.

    What only the list or a drawing tells (a row's own mount, a layer called score) is found once plates are made.

    >>> known_to_lie_face_up(Ticket())
    ()
    """
    scored = ((one.key_of(role), _scored_reason(role)) for one in tickets_of(ticket) for role in _scored_roles(one))
    reasons = grouped((material, reason) for material, reason in scored if material in ticket.face_down)
    return tuple(_lies_face_up(material, dict.fromkeys(own)) for material, own in reasons.items())


def _scored_roles(ticket: Ticket) -> Iterator[str]:
    """Yield the roles of the parts on which plates of a ticket, or of one design, are scored."""
    keys = ticket.lettering
    if keys.mount == "backed" and keys.register == "score":
        yield "backing"
    drawn = {"score", "hatch"} & {role for _, role in ticket.face.roles}
    # one that shows another column than the name may be left out of all plates
    lines = [own for own in ticket.line if own.operation == "score" and ("{name}" in own.text or "{" not in own.text)]
    if is_plaque_cut(ticket, keys.mount) and (keys.mount == "marked" or drawn or lines):
        yield "blank"
