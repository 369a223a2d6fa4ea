"""What a ticket says of the files for the laser: `[files]`, a field a key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from nameplate.ticket.keys import key

#: Forms of a cut file, and how the names of its files end; all begin alike.
ENDINGS: Mapping[str, str] = {"svg": ".svg", "dxf": ".dxf", "pdf": ".pdf", "tiled": "-tiled.pdf", "png": ".png"}
FORMATS: tuple[str, ...] = tuple(ENDINGS)


@dataclass(frozen=True, slots=True)
class FilesKeys:
    """`[files]`: in which forms the sheets are written, all from the same lines and read back."""

    formats: tuple[str, ...] = key.choices(
        ("svg",),
        "forms of each sheet; the SVG is always there, because it is what is inspected; tiled is a PDF on paper "
        "pages; png is a picture of each sheet, and of each plate",
        choices=FORMATS,
        example=("svg", "dxf", "pdf"),
    )
    face_down: bool = key.flag(
        False,
        "names, backings and plaques are cut mirrored, so that their show side lies below, under its masking: of every "
        "material on which nothing is scored on the show side, and of which no jigs are cut; jigs are not mirrored",
    )
    label: str = key.choice(
        "none",
        "where ids of names, backings and plaques are scored: beside them on the waste; or on the back of what lies "
        "face down, where there is room, and else on the waste",
        choices=("none", "waste", "back"),
    )
    frame: bool = key.flag(True, "the sheet's rectangle in a DXF, on the layer sheet, which is not to be cut")
    curves: str = key.choice(
        "splines",
        "curves of a DXF; polylines, for programs that take no splines, lie within 0.005 mm of them",
        choices=("splines", "polylines"),
    )

    @property
    def others(self) -> tuple[str, ...]:
        """The forms that are written beside the SVG."""
        return tuple(form for form in FORMATS[1:] if form in self.formats)
