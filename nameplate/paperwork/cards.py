"""Work cards: for each plate a picture at 1:1, where glue goes, the order of steps, and how true the jig holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from nameplate.geometry import region as rg
from nameplate.geometry.region import Array, Region
from nameplate.jig.steps import glue_dots, working_steps
from nameplate.model import GUIDE_LAYER, Face, Lettering, Plate
from nameplate.paperwork.pages import render
from nameplate.paperwork.pictures import BORDER, UNITS, backing_of, path_data
from nameplate.ticket.cautions import CAUTIONS

#: Widest and highest picture that a card has room for on A4 and on Letter (mm); a larger plate is drawn smaller, as
#: the card says.
ROOM = (178.0, 150.0)

_LINE = 'fill="none" stroke="#000" stroke-width="20"'

#: Diameter of a dot of glue in the picture (mm of the plate).
_DOT = 2.0


def cards_html(
    plates: Sequence[Plate],
    faces: Mapping[str, Face],
    *,
    title: str,
    carriers: Mapping[str, Mapping[str, object]] | None = None,
) -> Iterator[str]:
    """Give, piece by piece, a page to print with a card for each made plate.

    ``faces`` and the records of ``carriers`` are by design.
    """
    from markupsafe import Markup

    grounds = {name: _ground(face) for name, face in faces.items()}
    values = {
        "title": title,
        "cautions": CAUTIONS,
        "line": Markup(_check_line()),
        "carriers": carriers or {},
        "cards": (
            _card(p, p.lettering, faces[p.order.design], grounds[p.order.design])
            for p in plates
            if p.lettering is not None
        ),
    }
    return render("cards.html", values)


def _card(plate: Plate, lettering: Lettering, face: Face, ground: str) -> dict[str, Any]:
    from markupsafe import Markup

    nubs = np.array(plate.jig.get("nubs", []), dtype=float).reshape(-1, 2)
    scale = _scale(face)
    return {
        "id": plate.order.id,
        "name": plate.order.name,
        "line2": plate.order.line2,
        "position": plate.order.position,
        "design": plate.order.design,
        "jig": plate.jig.get("file", ""),
        "play": plate.jig.get("play"),
        "scale": "picture at 1:1" if scale == 1.0 else f"picture at 1:{1 / scale:.2f}",
        "picture": Markup(plate_picture(lettering, face, nubs, ground, scale=scale, backing=backing_of(plate))),
        "steps": _backing_steps(plate)
        + working_steps(str(plate.jig.get("style", "none")), str(plate.jig.get("window", "contour"))),
    }


def _backing_steps(plate: Plate) -> tuple[str, ...]:
    """Give the steps that bring a name on its backing, before both are glued on the face; none without a backing."""
    if backing_of(plate).is_empty:
        return ()
    line = (
        "Dry fit the name on its backing, inside the line scored there; take it off and put small dots of glue on it."
    )
    window = (
        "Lay the smaller template on the backing edge to edge. Dry fit the name in its window; put small dots of glue "
        "on its back."
    )
    guided = any(part.kind == "template" and part.layer == GUIDE_LAYER for part in plate.parts)
    return (window if guided else line, "Press the name on its backing and wait as long as the glue asks for.")


def _scale(face: Face) -> float:
    box = rg.bounds(face.outline)
    return min(1.0, ROOM[0] / (box.width + 2 * BORDER), ROOM[1] / (box.height + 2 * BORDER))


def _ground(face: Face) -> str:
    """Return what all pictures share: the face and its keep-outs."""
    return "".join(f'<path {_LINE} d="{path_data(region)}"/>' for region in (face.outline, face.keep_outs))


def plate_picture(
    lettering: Lettering, face: Face, nubs: Array, ground: str, *, scale: float = 1.0, backing: Region = rg.EMPTY
) -> str:
    """Return the SVG of a plate, true to size at scale 1: face, name, an arrow up, nubs (x) and dots of glue (o).

    ``ground`` is the face as drawn, the same for all plates; a ``backing`` lies under the name.
    """
    box = rg.bounds(face.outline)
    w, h = box.width + 2 * BORDER, box.height + 2 * BORDER
    view = " ".join(str(round(v * UNITS)) for v in (box.x0 - BORDER, -box.y1 - BORDER, w, h))
    dots = "".join(_ring(dot) for dot in glue_dots(lettering.region, nubs))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="plate at true size" '
        f'width="{w * scale:.2f}mm" height="{h * scale:.2f}mm" viewBox="{view}">'
        f'{ground}{_under(backing)}<path fill="#ccc" fill-rule="evenodd" stroke="#000" stroke-width="10" '
        f'd="{path_data(lettering.region)}"/>'
        f"<g {_LINE}>{_arrow(box)}{dots}{''.join(_cross(nub) for nub in nubs)}</g></svg>"
    )


def _under(backing: Region) -> str:
    return "" if backing.is_empty else f'<path fill="#eee" fill-rule="evenodd" stroke="#000" d="{path_data(backing)}"/>'


def _ring(at: Array) -> str:
    return f'<circle cx="{at[0] * UNITS:.0f}" cy="{-at[1] * UNITS:.0f}" r="{_DOT / 2 * UNITS:.0f}"/>'


def _cross(at: Array) -> str:
    x, y = at[0] * UNITS, -at[1] * UNITS
    return f'<path d="M{x - 80:.0f} {y - 80:.0f}l160 160m0 -160l-160 160"/>'


def _arrow(box: rg.Box) -> str:
    x, y = box.centre[0] * UNITS, -box.y1 * UNITS + 150
    return f'<path d="M{x:.0f} {y + 500:.0f}v-500m-150 200l150 -200l150 200"/>'


def _check_line() -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="line of 100 mm" width="102mm" height="6mm" '
        'viewBox="0 0 102 6"><path fill="none" stroke="#000" stroke-width="0.3" d="M1 1v4m0 -2h100m0 -2v4"/></svg>'
    )
