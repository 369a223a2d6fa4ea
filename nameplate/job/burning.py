"""How long the sheets of a batch take to burn, and what a plate costs with and without that."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from nameplate.cut.machine import Axes
from nameplate.cut.read_back import read_sheet
from nameplate.cut.timing import Speeds, part_seconds, read_seconds
from nameplate.errors import OutputError
from nameplate.geometry.region import Region, closed_lines, union
from nameplate.jig.skeleton import own_cuts
from nameplate.job.prepare import Batch
from nameplate.model import GUIDE_LAYER, PartId, Plate
from nameplate.ticket.workshop_schema import MachineKeys, MaterialKeys


@dataclass(frozen=True, slots=True)
class BatchMoney:
    """What all plates of a batch cost: the sheets that are bought, and the machine; 0 where that is not known. What was
    cut before counts, too, as the plates on it do.

    `plates` counts copies. `seconds` are those of all sheets whose material had a speed.
    """

    plates: int
    material: float
    machine: float
    seconds: float


def money_of(batch: Batch) -> BatchMoney:
    """Work out what the plates of a batch cost; material only where every sheet that is bought has a price."""
    bought = [sheet for sheet in batch.layout.sheets if not sheet.on_hand]
    material = sum(sheet.price for sheet in bought) if all(sheet.price for sheet in bought) else 0.0
    cut = [sheet.figures.get("minutes") for sheet in batch.before.kept.sheets]
    burned = [*batch.burning.values(), *(minutes * 60 for minutes in cut if minutes is not None)]
    seconds = sum(burned)
    known = len(burned) == len(batch.layout.sheets)
    machine = seconds / 3600 * batch.ticket.machine.rate if known else 0.0
    made = sum(work.plate.order.copies for work in batch.works if work.plate.lettering is not None)
    return BatchMoney(made, round(material, 6), round(machine, 6), round(seconds, 3))


def speeds_of(material: MaterialKeys, machine: MachineKeys) -> Speeds | None:
    """Give the speeds that a material has on a machine; None where it has none, and no times are told.

    >>> speeds_of(MaterialKeys(), MachineKeys())
    """
    if material.cut_speed is None:
        return None
    return Speeds(
        cut=material.cut_speed,
        score=material.score_speed or material.cut_speed,
        acceleration=machine.acceleration,
        factor=machine.time_factor,
    )


def file_seconds(path: Path, speeds: Speeds, machine: MachineKeys) -> float:
    """Give the seconds that a cut file takes on a machine.

    Raises OutputError where it cannot be read or is none of ours.
    """
    sheet = read_sheet(path)
    if sheet.faults:
        raise OutputError([fault.message for fault in sheet.faults])
    return read_seconds(sheet.paths, speeds, rest=Axes.of(machine).corner(sheet.width, sheet.height))


def foreseen(batch: Batch) -> dict[str, float]:
    """Give the seconds that each cut file is going to take, of the materials whose speeds are known.

    The way of the beam between parts and cuts is not counted; it is a few per cent of the time. A name that is cut from
    its own template shares its cut with that. What a draft's parts do not show is taken from its lettering
    (`_openings`).
    """
    drafted = [work for work in batch.works if batch.draft and not work.on]
    openings = {key: region for work in drafted for key, region in _openings(work.plate).items()}
    parts = {part.part_id: part for part in batch.parts}
    found = {}
    for sheet in batch.layout.uncut.sheets:
        if (speeds := speeds_of(batch.material(sheet.material), batch.ticket.machine)) is not None:
            keys = [at.part_id for at in sheet.placements]
            opened = (openings[key] for key in keys if key in openings)
            cut = [*(own_cuts(parts[key]).region for key in keys), *opened]
            cuts = [line for region in cut for line in closed_lines(region)]
            found[sheet.file] = part_seconds(cuts, [line for key in keys for line in parts[key].marks], speeds)
    return found


def _openings(plate: Plate) -> dict[PartId, Region]:
    """Give what will be cut out of the parts of a drafted plate: its name where it is pierced, the window of its
    template. The bridges of a pierced plate take about as much from the cut as they add."""
    found: dict[PartId, Region] = {}
    if plate.lettering is None:
        return found
    if plate.order.mount == "pierced":
        found = {part.part_id: plate.lettering.region for part in plate.parts if part.kind == "blank"}
    for part in plate.parts:
        if part.kind == "template" and part.layer != GUIDE_LAYER and not part.is_waste:
            found[part.part_id] = union(*(region for _, region in part.features))
    return found
