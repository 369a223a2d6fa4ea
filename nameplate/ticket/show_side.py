"""What is scored on the side of a sheet that people see, so that its material cannot lie with that side below."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from nameplate.system.grouping import grouped
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.materials import is_plaque_cut
from nameplate.ticket.schema import Ticket

_PLURAL: Mapping[str, str] = {"lettering": "names", "backing": "backings", "blank": "plaques"}


def scored_reason(role: str) -> str:
    """Say that parts of a role are scored on their show side, and what to do."""
    what = 'write register = "template"' if role == "backing" else "leave out what is scored on them"
    return f"{_PLURAL[role]} are scored on their show side; {what}, or protect that side"


def lies_face_up(material: str, reasons: Iterable[str]) -> str:
    """Say that a material does not lie face down as it was asked to, and all the reasons."""
    why = "; and ".join(reasons)
    return f"face_down = true, but sheets of {material} lie face up and are cut unmirrored: {why}"


def known_to_lie_face_up(ticket: Ticket) -> tuple[str, ...]:
    """Say of each material that is to lie face down why it cannot, as far as the ticket alone tells it.

    What only the list or a drawing tells (a row's own mount, a layer called score) is found once plates are made.

    >>> known_to_lie_face_up(Ticket())
    ()
    """
    scored = ((one.key_of(role), scored_reason(role)) for one in tickets_of(ticket) for role in _scored_roles(one))
    reasons = grouped((material, reason) for material, reason in scored if material in ticket.face_down)
    return tuple(lies_face_up(material, dict.fromkeys(own)) for material, own in reasons.items())


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
