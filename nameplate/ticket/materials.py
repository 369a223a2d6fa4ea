"""Which materials a ticket's plates are cut from, and whether their sheets lie on the machine's bed."""

from __future__ import annotations

import math

from nameplate.ticket.schema import Ticket
from nameplate.units import size_in_words

#: Parts are cut from these materials besides the lettering, by the style of the jig.
JIG_MATERIALS: dict[str, tuple[str, ...]] = {"template": ("template",), "carrier": ("template", "carrier")}

#: The same by the mount.
MOUNT_MATERIALS: dict[str, tuple[str, ...]] = {
    "applied": ("lettering",),
    "backed": ("lettering", "backing"),
    "pierced": ("blank",),
    "marked": ("blank",),
}

#: Mounts whose name is a piece of its own that somebody glues on, and that a jig can locate.
GLUED = frozenset(mount for mount, materials in MOUNT_MATERIALS.items() if "lettering" in materials)


def needed_materials(ticket: Ticket, mount: str = "") -> tuple[str, ...]:
    """Return the keys of the materials that plates of a mount are cut from, their jigs and plaques among them.

    Without a mount it is the ticket's own. What its designs need is not among them. Of names that stand free it is the
    lettering, whatever else was asked.

    >>> needed_materials(Ticket()), needed_materials(Ticket(), "pierced")
    (('lettering', 'template'), ('blank',))
    >>> from nameplate.ticket.schema import FaceKeys, JigKeys
    >>> needed_materials(Ticket(jig=JigKeys(style="carrier"), face=FaceKeys(cut=True)), "backed")
    ('lettering', 'backing', 'template', 'carrier', 'blank')
    """
    if ticket.face.stands_free:
        return (ticket.key_of("lettering"),)
    mount = mount or ticket.lettering.mount
    own = MOUNT_MATERIALS[mount]
    jigs = JIG_MATERIALS.get(ticket.jig.style, ()) if "lettering" in own else ()
    guide = ("template",) if mount == "backed" and ticket.lettering.register == "template" else ()
    plaque = ("blank",) if ticket.face.cut else ()
    return tuple(dict.fromkeys(map(ticket.key_of, (*own, *jigs, *guide, *plaque))))


def is_plaque_cut(ticket: Ticket, mount: str) -> bool:
    """Tell whether plaques are cut here, so that lines can be scored on them.

    >>> is_plaque_cut(Ticket(), "pierced"), is_plaque_cut(Ticket(), "applied")
    (True, False)
    """
    return ticket.face.cut or "blank" in MOUNT_MATERIALS.get(mount, ())


def off_the_bed(width: float, height: float, bed: tuple[float, float] | None) -> str:
    """Say why a sheet (mm) does not lie on a machine's bed, and how it would; empty where it does, or nobody knows.

    >>> off_the_bed(600, 300, (900, 600)), off_the_bed(600, 300, None)
    ('', '')
    >>> off_the_bed(300, 600, (600, 400))
    'a sheet of 300 x 600 mm lies on the bed of 600 x 400 mm only turned: turn it to 600 x 300 mm'
    >>> off_the_bed(1200, 600, (900, 600)).partition(": ")[2]
    'use a larger machine, or cut it into 2 of 600 x 600 mm'
    >>> off_the_bed(610, 1220, (610, 600)).partition(", or ")[2]
    'cut it into 3 of 610 x 406.6 mm'
    """
    if bed is None or (width <= bed[0] and height <= bed[1]):
        return ""
    sheet, place = f"a sheet of {width:g} x {height:g} mm", f"the bed of {bed[0]:g} x {bed[1]:g} mm"
    if height <= bed[0] and width <= bed[1]:
        return f"{sheet} lies on {place} only turned: turn it to {height:g} x {width:g} mm"
    counts = [(math.ceil(width / b), math.ceil(height / c)) for b, c in (bed, bed[::-1])]
    across, up = min(counts, key=lambda count: count[0] * count[1])
    part = (width / across, height / up)
    wide, high = part if part[0] <= bed[0] and part[1] <= bed[1] else part[::-1]
    pieces = f"{across * up} of {size_in_words(wide, high)} mm"
    return f"{sheet} is larger than {place}: use a larger machine, or cut it into {pieces}"
