"""The page that goes with a coupon: what it looks like, what to do and to measure, and what to be careful of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from nameplate.cut.coupons import SQUARES, CouponKind
from nameplate.cut.laid_sheet import LaidSheet
from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.paperwork.pictures import line_data, open_svg, path_data
from nameplate.system.html_pages import render, safe
from nameplate.ticket.cautions import cautions_for
from nameplate.ticket.workshop_schema import MaterialKeys

#: A picture is at most so wide on paper (mm), and at most so high.
_WIDEST, _HIGHEST = 170.0, 75.0

_HEADINGS: Mapping[CouponKind, str] = {
    "kerf": "coupon for the kerf",
    "web": "coupon for the thinnest strip",
    "fit": "coupon for the play of a jig",
}

#: What to measure, by the coupon.
_READINGS: Mapping[CouponKind, Sequence[str]] = {
    "kerf": (
        "length of the row, mm",
        "the same, all turned by a quarter, mm",
        "room left in the window, mm",
        "power, speed, focus",
    ),
    "web": ("thinnest strip that is whole", "thinnest strip that bears a finger", "power, speed, focus"),
    "fit": ("pocket that holds without play", "clearance for the ticket", "batches of both sheets"),
}

_STEPS: Mapping[CouponKind, Sequence[str]] = {
    "kerf": (
        "Cut it from the very sheets that the job is cut from, with the power, speed and focus of the job. Its lines "
        "must not be shifted by the laser's program.",
        f"Clean the edges of the {SQUARES} squares and press them together in a row, all the same side up and all "
        "turned as they were cut, against a straight edge: the lines on them run along the row.",
        "Measure the length of the row with a caliper, three times; close the caliper each time.",
        "Lay the squares into the window of the frame, push them to one end, and measure the room that is left.",
        "Where cuts along x and y may differ, turn every square by a quarter, so that the lines run across the row, "
        "and measure its length again: that goes behind --measured-y.",
        "Tell length and room, each reading by itself; either alone will do: nameplate coupon kerf --material {key} "
        "--measured LENGTH --gap ROOM --batch DELIVERY works out the kerf and how far it may be off, and keeps it "
        "in the workshop file.",
    ),
    "web": (
        "Cut it from the very sheets that the job is cut from, with the power, speed and focus of the job.",
        "Look for the thinnest strip that is whole and not charred or melted through.",
        "Press a finger on the middle of each strip, from the wide end on, over a soft surface and with eyes "
        "protected, until one breaks: splinters of acrylic are sharp.",
        "Take the next wider strip than the thinnest that held as min_web in [lettering].",
    ),
    "fit": (
        "Cut the row of pockets from the sheet of the templates, and the plug from the sheet of the lettering, with "
        "the power, speed and focus of the job.",
        "Try the plug in the pockets, from the widest on, the same side up as it was cut.",
        "The tightest pocket that it goes into by hand and out of again says the clearance of [jig]: write its figure.",
    ),
}


def coupon_page(
    kind: CouponKind, sheets: Mapping[str, LaidSheet], materials: Mapping[str, MaterialKeys], *, title: str
) -> Iterator[str]:
    """Give the page piece by piece; `sheets` are by the names of their files, `materials` by their keys."""
    key = next(iter(sheets.values())).material
    values = {
        "title": title or "Workshop",
        "heading": _HEADINGS[kind],
        "cautions": cautions_for(glued=False, wall=False),
        "sheets": [
            {
                "file": file,
                "material": f"{materials[s.material].name}, {materials[s.material].thickness:g} mm",
                "size": f"{s.width:g} x {s.height:g} mm",
                "kerf": f"a kerf of {s.kerf.told()} is allowed for" if s.kerf.widest else "no kerf is allowed for",
                "picture": safe(_picture(file, s)),
            }
            for file, s in sheets.items()
        ],
        "steps": [step.replace("{key}", key) for step in _STEPS[kind]],
        "readings": _READINGS[kind],
    }
    return render("coupon.html", values, room="paperwork")


def _picture(file: str, sheet: LaidSheet) -> str:
    box = Box(0.0, 0.0, sheet.width, sheet.height)
    fill = "".join(path_data(rg.moved(at.part.region, at.x, at.y)) for at in sheet.laid)
    marks = "".join(line_data(mark + np.array([at.x, at.y])) for at in sheet.laid for mark in at.part.marks)
    width = min(_WIDEST, sheet.width, _HIGHEST * sheet.width / sheet.height)
    return (
        open_svg(box, file, width=width)
        + f'<path fill="#e4e4e4" stroke="#000" stroke-width="20" fill-rule="evenodd" d="{fill}"/>'
        + f'<path fill="none" stroke="#000" stroke-width="30" d="{marks}"/></svg>'
    )
