"""summary.json: the figures of a run, for people's own programs. Version 1; fields are only ever added."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict

from nameplate import __version__
from nameplate.geometry.region import bounds, solids
from nameplate.jig.ladder import clearances
from nameplate.jig.skeleton import skeleton_stock
from nameplate.job.burning import money_of
from nameplate.job.designs import stock_of_jigs
from nameplate.job.holdings import GENERATOR
from nameplate.job.layout_stage import on_hand_used
from nameplate.job.prepare import Batch
from nameplate.lettering.legibility import READING_RATIO
from nameplate.model import Face, HangingRings, Lettering, Neck, Plate
from nameplate.nest.buying.figures import Estimate, SheetFigures
from nameplate.record.states import state_of_pieces
from nameplate.system.digests import LIST
from nameplate.system.writing import Json, json_text
from nameplate.ticket.lettering_schema import LARGEST_FACE
from nameplate.ticket.materials import GLUED


def summary_json(batch: Batch, estimate: Estimate, sheets: Sequence[Json], files: Sequence[str]) -> str:
    """Write the summary of a run as JSON text.

    `sheets` are those of `sheet_records`; `files` lists everything the run writes but this summary; `files.json` beside
    it has their digests.
    """
    where, states, approved = batch.files_of_names, states_of(batch), _approvals(batch)
    lost = Counter(plate for plate, *_ in batch.lost_pieces)
    record: Json = {
        "version": 1,
        "generator": GENERATOR,
        "generator_version": __version__,
        "title": batch.ticket.job.title,
        **_carriers(batch),
        "ladder": _ladder(batch),
        "jig_stock": stock_of_jigs(batch.designs),
        "skeleton_stock": skeleton_stock([part for plate in batch.plates for part in plate.parts]),
        "on_hand": on_hand_used(batch.layout.uncut, batch.supply),
        "materials": _materials(batch),
        "faces": {name: _face(context.face) for name, context in batch.contexts.items()},
        "plates": [
            {
                **_plate(plate, where.get(plate.order.id, [])),
                "state": states.get(plate.order.id),
                "approved": approved.get(plate.order.id),
                **_signatures(batch, plate.order.id),
                "lost": lost[plate.order.id],
            }
            for plate in batch.plates
        ],
        "sheets": [*_cut_sheets(batch), *sheets],
        **estimate_record(estimate),
        "plate_cost": asdict(money_of(batch)),
        "fragile": _fragile(batch),
        **_wall(batch),
        "findings": [asdict(finding) for finding in batch.findings],
        "files": sorted([*files, LIST]),
    }
    return json_text(record)


def _wall(batch: Batch) -> Json:
    """Tell of the wall, where there is one, its size and lines (mm), and how many places are taken and free."""
    if batch.wall is None:
        return {}
    grid, taken = batch.wall.grid, len(batch.wall.hangings)
    figures = {"width": grid.wall.width, "height": grid.wall.height, "centre": -grid.wall.x0, "level": -grid.floor}
    return {
        "wall": {
            **{key: _figure(value) for key, value in figures.items()},
            "above_floor": _figure(grid.wall.y0 - grid.floor),
            "pitch": [_figure(length) for length in grid.pitch],
            "places": len(grid.places),
            "taken": taken,
            "free": len(grid.places) - taken,
        }
    }


def sheet_records(
    batch: Batch, estimate: Estimate, sheets: Mapping[str, tuple[float, float | None]], cuts: Mapping[str, Json]
) -> dict[str, Json]:
    """Give the entries of the sheets that are made, by their cut files.

    `sheets` says what it takes to burn each, in the order of the layout; `cuts` how parts come free of some.
    """
    return {
        name: {
            **_sheet(name, figures, *burning),
            **({"offcut": layout.offcut} if layout.offcut else {}),
            **({} if layout.at is None else {"at": list(layout.at)}),
            **({"face_down": True} if layout.face_down else {}),
            **cuts.get(name, {}),
            "state": "planned",
            **({"left_out": True} if name in batch.left_out else {}),
        }
        for (name, burning), figures, layout in zip(
            sheets.items(), estimate.sheets, batch.layout.uncut.sheets, strict=True
        )
    }


def _approvals(batch: Batch) -> dict[str, str | None]:
    """Name who approved each plate as it is ordered now, or as it was cut and stays; None where nobody did."""
    stay = batch.ids_on
    signs = batch.listed.signs if batch.listed else {}
    return {plate: (sign.who_as_cut if plate in stay else sign.who) or None for plate, sign in signs.items()}


def _signatures(batch: Batch, plate: str) -> Json:
    """Tell who approved which look (by its digest) of a plate and when, as a lost record is made anew by it."""
    signed = batch.before.book.signed.get(plate, ()) if batch.before.book else ()
    own = [{"look": look, "who": approval.who, "at": approval.at} for look, approval in signed]
    return {"approvals": own} if own else {}


def _cut_sheets(batch: Batch) -> Iterator[Json]:
    """Yield the entries of sheets that were cut, with those of their pieces that became something else than cut."""
    states = batch.states
    for sheet in batch.before.kept.sheets:
        keys = (piece.key for piece in sheet.pieces if states[piece.key] != "cut")
        pieces = [
            {"plate": plate, "kind": kind, "copy": copy, "layer": layer, "state": states[plate, kind, copy, layer]}
            for plate, kind, copy, layer in keys
        ]
        yield {**sheet.figures, "state": "cut", **({"pieces": pieces} if pieces else {})}


def states_of(batch: Batch) -> dict[str, str]:
    """Say of every plate that has pieces what is next to be done for it, by the piece that is farthest behind:
    planned, cut, fitted or hung.

    Of jigs, which are never fitted or hung, nothing is asked once they are cut.
    """
    begun = batch.before.kept.begun
    states: dict[str, str] = {}
    for work in batch.works:
        plate = work.plate.order.id
        if work.plate.lettering is None:
            continue
        if not work.on or work.lacks or any(part.copies for part in work.plate.parts):
            states[plate] = "planned"
            continue
        own = [piece for piece in begun[plate].pieces if piece.stands]
        states[plate] = state_of_pieces([(piece.key[1], piece.state) for piece in own])
    return states


def _face(face: Face) -> Json:
    """Tell how large a face is (mm), how many holes it has, and its area without them (mm2).

    Where names stand free it has the size that was asked of their lettering, None where none was, and no area.
    """
    box = bounds(face.outline)
    if face.free:
        width, height = (_figure(size) if size <= LARGEST_FACE else None for size in (box.width, box.height))
        return {"width": width, "height": height, "holes": 0, "area": 0.0, "free_standing": True}
    return {
        "width": _figure(box.width),
        "height": _figure(box.height),
        "holes": len(solids(face.keep_outs)),
        "area": _figure(face.outline.area - face.keep_outs.area, 2),
    }


def _materials(batch: Batch) -> Json:
    """Tell of each material that is cut what it was taken for, wherever that was said (mm)."""
    cut = {sheet.material for sheet in batch.layout.sheets}
    known = batch.ticket.material
    return {
        key: {"name": known[key].name, "thickness": known[key].thickness, "kerf": known[key].kerf.plain}
        for key in sorted(cut & set(known))
    }


def _carriers(batch: Batch) -> Json:
    """Tell of the carrier of rows without a design, and of those of designs."""
    records = {name: own.record for name, own in batch.shared.items() if own.record}
    carriers = {name: record for name, record in records.items() if name}
    return {"carrier": records.get("") or None, **({"carriers": carriers} if batch.ticket.designs else {})}


def _ladder(batch: Batch) -> Json | None:
    """Tell the clearances (mm) of the fit ladder's pockets, and the files that its coupon and plug are cut from."""
    if not any(part.kind == "coupon" for part in batch.shared_parts):
        return None
    sheets = (sheet for sheet in batch.layout.sheets if any(at.kind == "coupon" for at in sheet.placements))
    return {"clearances": list(clearances()), "sheets": [sheet.file for sheet in sheets]}


def estimate_record(estimate: Estimate) -> Json:
    """Give what to buy, what it costs and the least there could be, as in summary.json."""
    return {
        "stock": [asdict(line) for line in estimate.sizes],
        "cost": _figure(estimate.cost, 2),
        "density": _figure(estimate.density, 4),
        "bound": {
            material: {"sheets": bound.sheets, "density": _figure(bound.density, 4)}
            for material, bound in estimate.bounds
        },
        "sheets_used": {material: _figure(used, 4) for material, used in estimate.sheets_used},
    }


def _plate(plate: Plate, files: Sequence[str]) -> Json:
    """Tell of a plate; `files` are those of its copies, spares among them, once each; without any it is not made.

    Its `sheets` are these files; `sheet` is the one of the name that is glued on, and null where nothing is.
    """
    order, sheets = plate.order, list(dict.fromkeys(files))
    lettering = plate.lettering if files else None
    glued = order.mount in GLUED and not order.free
    copies = len(files) if lettering else order.copies
    return {
        "id": order.id,
        "name": order.name,
        "line2": order.line2,
        "row": order.row,
        "design": order.design,
        "mount": order.mount,
        "status": "made" if lettering else "held" if order.hold or order.aside else "refused",
        **({"aside": True} if order.aside else {}),
        "copies": min(copies, order.copies),
        "spares": max(0, copies - order.copies),
        "position": order.position,
        "lines": _lines(order.mount, lettering) if lettering else [],
        "placed": _placed(lettering) if lettering else None,
        "lettering": _lettering(lettering) if lettering else None,
        "sheet": sheets[0] if sheets and glued else None,
        "sheets": sheets,
        "jig": plate.jig or None,
        **({"rings": _rings(lettering.rings)} if lettering and lettering.rings else {}),
        "extra": dict(order.extra),
    }


def _lines(mount: str, lettering: Lettering) -> list[Json]:
    """Tell of each line what it says, its font, its em (mm), its baseline's y and where the middle of its box lies.

    All lines of a name that is marked are scored. One on an arc has the radius of that (mm), and for its baseline the
    arc's top, or its bottom where it bows the other way.
    """
    arc = lettering.arc
    return [
        {
            "text": text,
            "font": place.font,
            "size": _figure(place.size),
            "baseline": _figure(baseline),
            "operation": "score" if mount == "marked" or place.scored else "cut",
            "arc": 0.0 if arc is None else _figure(baseline - arc.y),
            "x": _figure(place.x),
            "y": _figure(place.y),
        }
        for text, baseline, place in zip(lettering.lines, lettering.baselines, lettering.line_places, strict=True)
    ]


def _placed(lettering: Lettering) -> Json:
    """Tell where lettering has its middle from that of its zone (mm), and what standing there costs in size."""
    dx, dy = lettering.placed
    return {"dx": _figure(dx), "dy": _figure(dy), "of_largest": _figure(lettering.of_largest)}


def _lettering(lettering: Lettering) -> Json:
    box = lettering.rings or bounds(lettering.region)
    return {
        "width": _figure(box.width),
        "height": _figure(box.height),
        "size": _figure(lettering.size),
        "letter_height": _figure(lettering.letter_height),
        "baselines": [_figure(y) for y in lettering.baselines],
        "readable_from_m": _figure(lettering.letter_height * READING_RATIO / 1000, 1),
        "legibility": None if lettering.legibility is None else _figure(lettering.legibility),
        "weakest_letter": lettering.weakest_letter or None,
        "lines": list(lettering.lines),
        "pieces": lettering.pieces,
        "area": _figure(lettering.region.area, 2),
        "neck": _neck(lettering.neck),
        "drawn_neck": _neck(lettering.drawn_neck),
    }


def _rings(rings: HangingRings) -> Json:
    """Tell of the rings a name hangs by where they are, and how far aside of them its centre of mass is (mm)."""
    return {
        "bore": _figure(rings.bore),
        "rim": _figure(rings.rim),
        "at": [[_figure(x), _figure(y)] for x, y in rings.at],
        "aside": _figure(rings.aside),
    }


def _neck(neck: Neck | None) -> Json | None:
    return None if neck is None else {k: _figure(v) for k, v in asdict(neck).items()}


def _fragile(batch: Batch) -> list[Json]:
    """List the names by the stress at their weakest neck, weakest first."""
    necks = [(p, p.lettering.neck) for p in batch.plates if p.lettering is not None and p.lettering.neck is not None]
    ranked = sorted(necks, key=lambda pair: (-pair[1].stress, pair[0].order.row))
    return [{"id": p.order.id, "name": p.order.name, "stress": _figure(n.stress, 1)} for p, n in ranked]


def _sheet(name: str, figures: SheetFigures, cut_length: float, seconds: float | None) -> Json:
    return {
        "file": name,
        "material": figures.material,
        "width": figures.width,
        "height": figures.height,
        "parts": figures.parts,
        "density": _figure(figures.density, 4),
        "used_length": _figure(figures.used_length, 2),
        "cut_length": _figure(cut_length, 1),
        "minutes": None if seconds is None else _figure(seconds / 60, 1),
    }


def _figure(value: float, decimals: int = 3) -> float:
    return round(value, decimals) + 0.0
