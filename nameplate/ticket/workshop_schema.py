"""What a workshop has, as values: materials, sheets, colours. A ticket and a workshop file say it in the same keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from nameplate.geometry.beam import Kerf
from nameplate.ticket.keys import key

#: What a part can be cut from: the roles that materials play. A role's material has the same key in `[material]` and
#: in `[[stock]]`, unless a design names another.
MATERIALS: tuple[str, ...] = ("lettering", "template", "carrier", "backing", "blank")


@dataclass(frozen=True, slots=True)
class MaterialKeys:
    """`[material.NAME]`: a material; NAME is lettering, template, carrier, backing, blank, or a design's own."""

    name: str = key.text("unnamed material", "what it is", example="cast acrylic")
    thickness: float = key.length(3.0, "thickness of the sheet", least=0.05, most=100)
    kerf: Kerf = key.kerf(
        Kerf.of(0.18),
        "width of the strip that the beam removes; { x = 0.2, y = 0.16 } where it differs along the sheet's x and y, "
        "{ inside = 0.16, outside = 0.2 } by inside and outside cuts, each a number or such a table",
        least=0,
        most=2,
        example=0.18,
    )
    kerf_off: float | None = key.length(
        None, "how far the measured kerf may be off", least=0, most=2, unset="it is not known", example=0.004
    )
    kerf_date: date | None = key.date(
        None, "when the kerf was measured", unset="it was not measured", example=date(2026, 3, 1)
    )
    kerf_batch: str = key.title("", "on which batch of the material the kerf was measured", example="March, crate 2")
    kerf_days: int = key.count(180, "after so many days make says to measure the kerf again", least=1, most=3650)
    cut_speed: float | None = key.number(
        None, "your machine's cutting speed, mm/s", above=0, most=5000, unset="no times are told", example=12
    )
    score_speed: float | None = key.number(
        None, "its scoring speed, mm/s", above=0, most=5000, unset="no times are told", example=150
    )
    grain: bool | None = key.flag(
        None,
        "wood, brushed, mirrored or printed: parts all lie the same way",
        unset="parts lie as the turns of [nest] allow; of wood make says how many lie turned a quarter",
        example=True,
    )
    face_down: bool | None = key.flag(
        None,
        "its sheets lie with their show side below; what is seen is cut mirrored from them",
        unset="as [files] face_down says for all",
        example=True,
    )
    colour: str | None = key.colour(
        None,
        "how it is drawn on the proof; that of blank is the face's",
        unset="pale wood for the face, dark letters",
        example="#8a1f2b",
    )

    @property
    def unmeasured(self) -> MaterialKeys:
        """The same without what is known of the measurement of its kerf, which is of another kerf."""
        return replace(self, kerf_off=None, kerf_date=None, kerf_batch="")


@dataclass(frozen=True, slots=True)
class StockKeys:
    """`[[stock]]`: a sheet size that can be bought or is on hand; one such table for each size."""

    material: str = key.material("lettering", "the material's key in [material]")
    width: float = key.length(600.0, "width of the sheet", above=0, unset="it must be there")
    height: float = key.length(300.0, "height of the sheet", above=0, unset="it must be there")
    price: float = key.number(0.0, "price of one sheet, in your currency", least=0, most=1e6, example=11.5)
    on_hand: int = key.count(0, "how many lie in the shop; used first", least=0, most=10_000, example=2)
    offcut: bool = key.flag(False, "a remainder on the shelf: used first, never bought")
    outline: tuple[tuple[float, float], ...] = key.ring(
        (), "shape of an offcut", unset="a rectangle", example=((0, 0), (300, 0), (150, 200))
    )
    keep_out: tuple[tuple[float, float, float, float], ...] = key.boxes(
        (), "damaged places on the sheets on hand, measured from the lower left corner", example=((20, 30, 40, 25),)
    )


#: Corners of a sheet that a machine may count from.
ORIGINS: tuple[str, ...] = ("bottom-left", "bottom-right", "top-left", "top-right")


def _axis(name: str, ways: tuple[str, str], otherwise: str) -> Any:  # noqa: ANN401 - a field, as of any key
    """Return the field of an axis by its name: the ways that it may grow, and which one where nothing is said."""
    told = f"which way its {name} grows; a DXF is counted so"
    return key.choice(None, told, choices=ways, unset=f"into the sheet, so {otherwise}", example=ways[0])


@dataclass(frozen=True, slots=True)
class MachineKeys:
    """`[machine]`: what is known of the laser; a workshop file has it for all jobs."""

    bed: tuple[float, float] | None = key.pair(
        None,
        "width and height of its bed; a sheet that does not lie on it is refused",
        above=0,
        unset="any sheet is taken",
        example=(900, 600),
    )
    origin: str = key.choice(
        "bottom-left",
        "the corner of a sheet that it counts from, where its beam starts; a DXF has its zero there",
        choices=ORIGINS,
    )
    x_axis: str | None = _axis("x", ("right", "left"), "left from a right corner")
    y_axis: str | None = _axis("y", ("up", "down"), "down from a top corner")
    stroke: float = key.length(
        0.1, "width of drawn lines; some programs cut only what is thin enough", least=0.001, most=1
    )
    decimals: int = key.count(4, "most decimals of the numbers in cut files", least=3, most=4)
    rate: float = key.number(0.0, "what an hour of the machine costs, in your currency", least=0, most=1e5, example=40)
    acceleration: float | None = key.number(
        None,
        "how fast it gets to its speed, mm/s2; makes times true to bends and corners",
        least=10,
        most=1e5,
        unset="speeds are taken as reached at once",
        example=3000,
    )
    spread_heat: float = key.length(
        0.0,
        "cuts that follow each other lie at least so far apart where they can, so that the sheet cools between them; "
        "the head travels more",
        least=0,
        most=1000,
        example=40,
    )
    order: str = key.choice(
        "operation",
        "operation: all inside cuts of a sheet, then all outlines; part: each part is finished before the next is "
        "begun, for sheets that sag, where your laser's program keeps the order of a file",
        choices=("operation", "part"),
        example="part",
    )
    lead_in: float = key.length(
        0.0,
        "each cut begins so far away in the waste, where there is room; 0: on its own line",
        least=0,
        most=20,
        example=2,
    )
    tabs: int = key.count(
        0,
        "how many tabs hold a part on its sheet until you snap it out; where it has no room for so many, fewer",
        least=0,
        most=20,
        example=3,
    )
    tab_width: float = key.length(0.6, "width of a tab as it is left", least=0.1, most=5)
    bed_pitch: float | None = key.length(
        None,
        "how far apart the supports of its bed are: only parts that may fall or tip between them get tabs, those "
        "narrower than about twice that",
        above=0,
        most=1000,
        unset="all parts get tabs",
        example=25,
    )
    time_factor: float = key.number(
        1.0, "a measured time over the one that was told; nameplate time writes it", least=0.2, most=5
    )
    time_date: date | None = key.date(
        None, "when a run was measured for it", unset="none was measured", example=date(2026, 3, 1)
    )


@dataclass(frozen=True, slots=True)
class ColourKeys:
    """`[colours]`: the strokes' colours by operation; in a workshop file the same keys stand below [machine.colours].

    They can be told apart with any colour vision (Okabe and Ito, 2008).
    """

    score: str = key.colour("#009e73", "scored labels")
    cut_inside: str = key.colour("#d55e00", "inside cuts")
    cut_outside: str = key.colour("#0072b2", "outside cuts")


#: What a material is taken to be where the ticket has no table for it (kerf: common practice for these sheets).
DEFAULT_MATERIALS: Mapping[str, MaterialKeys] = {
    "lettering": MaterialKeys(name="cast acrylic", thickness=3.0, kerf=Kerf.of(0.18)),
    "template": MaterialKeys(name="grey board", thickness=1.0, kerf=Kerf.of(0.15)),
    "backing": MaterialKeys(name="birch plywood", thickness=3.0, kerf=Kerf.of(0.2)),
    "blank": MaterialKeys(name="birch plywood", thickness=3.0, kerf=Kerf.of(0.2)),
    "carrier": MaterialKeys(name="birch plywood", thickness=3.0, kerf=Kerf.of(0.2)),
}
