"""What a card of the proof says of its plate: its size, its fonts and what it is made of, in a customer's words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

from nameplate.findings import counted, enumerated
from nameplate.geometry import region as rg
from nameplate.model import Face, Lettering, Plate
from nameplate.ticket.materials import GLUED
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MaterialKeys
from nameplate.units import MM_PER_UNIT

#: The materials of a design, by role.
Materials: TypeAlias = Mapping[str, MaterialKeys]


def facts_of(
    plate: Plate,
    lettering: Lettering,
    face: Face,
    materials: Materials,
    told: Callable[[float, float], str],
    *,
    small: bool,
) -> tuple[str, ...]:
    """Give size, font and material, each a paragraph; all in one, without the lettering's size, on a `small` card. Of a
    name that stands free its size without rings and with them. Sizes are in words as they are `told`."""
    box, own, rings = rg.bounds(face.outline), rg.bounds(lettering.region), lettering.rings
    made = f"{_fonts(plate, lettering)} · {_made_of('' if plate.order.free else plate.order.mount, materials)}"
    if plate.order.free:
        whole = told(own.width, own.height)
        if rings is None:
            return f"Name {whole}", made
        hung = "ring" if len(rings.at) == 1 else "rings"
        return f"Name {told(rings.width, rings.height)}", f"With {hung} {whole}", made
    if face.cut and plate.order.mount in GLUED:
        made += f"; plaque {_sheet({**DEFAULT_MATERIALS, **materials}['blank'])}"
    if scored := sum(bool(line.text) and line.scored for line in plate.order.styled):
        made += f"; {counted(scored, 'line')} engraved"
    size = f"Plate {told(box.width, box.height)}"
    return (f"{size} · {made}",) if small else (size, f"Lettering {told(own.width, own.height)}", made)


def _fonts(plate: Plate, lettering: Lettering) -> str:
    """Name the fonts of a plate: those of its lines, or all that were ordered where some letters are another's.

    >>> from nameplate.model import Order
    >>> lettering = Lettering(rg.EMPTY, 20.0, 14.0, ("Wren",), 1)
    >>> _fonts(Plate(Order("1", 2, "Wren", fonts=("Lobster", "Pacifico")), lettering), lettering)
    'Lobster and Pacifico'
    """
    order = plate.order
    used = tuple(dict.fromkeys(line.font for line in lettering.line_places))
    if not used or any(finding.code == "fallback-font" for finding in plate.findings):
        used = tuple(dict.fromkeys(font for line in order.styled if line.text for font in line.fonts)) or order.fonts
    return enumerated(used)


def unbroken(words: str) -> str:
    """Keep words on one line: a number and its unit."""
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def told_size(width: float, height: float, *, inches: bool) -> str:
    r"""Say a size in millimetres, and in inches where these are wanted.

    >>> told_size(110, 80.04, inches=False)
    '110\xa0×\xa080\xa0mm'
    >>> told_size(110, 80.04, inches=True)
    '110\xa0×\xa080\xa0mm (4.33\xa0×\xa03.15\xa0in)'
    """
    size = unbroken(f"{round(width, 1):g} × {round(height, 1):g} mm")
    both = unbroken(" × ".join(f"{v / MM_PER_UNIT['in']:.2f}" for v in (width, height)) + " in")
    return f"{size} ({both})" if inches else size


def _made_of(mount: str, materials: Materials) -> str:
    r"""Say what a plate of a mount is made of; without a mount it is a name that stands free.

    >>> _made_of("marked", {"blank": MaterialKeys(name="oak", thickness=4)})
    'oak, 4\xa0mm, name engraved'
    """
    sheets = {key: _sheet(material) for key, material in {**DEFAULT_MATERIALS, **materials}.items()}
    ways = {
        "pierced": "{blank}, name cut through",
        "marked": "{blank}, name engraved",
        "backed": "{lettering}, on {backing}",
        "applied": "{lettering}, glued on",
    }
    return ways.get(mount, "{lettering}").format_map(sheets)


def _sheet(material: MaterialKeys) -> str:
    r"""Say what a sheet is.

    >>> _sheet(MaterialKeys(thickness=4))
    'a material to be agreed, 4\xa0mm'
    """
    named = material.name != MaterialKeys().name
    return f"{material.name if named else 'a material to be agreed'}, " + unbroken(f"{material.thickness:g} mm")
