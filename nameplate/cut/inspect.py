"""The inspection: reads a written sheet back, burns it virtually, and compares with what was to be made.

Checks, each an error with plate, place and number: the file's form; exactly the expected parts and solids; each within
tolerances.BURN of its nominal shape; no web under its minimum; no two parts nearer than the gap; none past the edge
margin; nothing cut twice; tabs, lead-ins and an order by part as they were asked for (`style_checks.py`); scored what
was to be scored, no label of it on a part that is seen; each operation in its colour. Where the kerf is wider than a
crevice of the nominal shape, the beam cannot enter it: there the nominal shape closed by half a kerf is what must come
out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TypeAlias

import numpy as np

from nameplate import tolerances
from nameplate.cut.burn import PartKey, burn, whose
from nameplate.cut.closing import closed_up
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.fidelity import comes_out, farthest_off
from nameplate.cut.machine import CutPen
from nameplate.cut.read_back import ReadSheet
from nameplate.cut.scores import judge_scores
from nameplate.cut.style_checks import judge_lead_ins, judge_style
from nameplate.findings import Finding
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf
from nameplate.geometry.compare import Deviation, near_pairs, shared_runs, strips
from nameplate.geometry.measure import cores, narrowed
from nameplate.geometry.nearby import Index, boxes_within
from nameplate.geometry.region import Region
from nameplate.geometry.room import Room
from nameplate.geometry.simplify import simplified
from nameplate.ticket.workshop_schema import ColourKeys
from nameplate.units import trimmed

#: Cuts nearer to each other than this (mm) run over the same place: the tolerance of a written curve.
TWICE_WITHIN = tolerances.CURVE

#: How much (mm) an outline is thinned out before its webs are looked at; small beside the slack of a web.
THIN = 0.002

#: So far (mm) the middle of a label's lines stays from the edges of parts, at least.
LABEL_CLEAR = 0.4

#: Over this length (mm) two cuts must run together to be one line cut twice; a crossing is much shorter.
TWICE_LEAST = 0.25


#: What is left of each part.
Burned: TypeAlias = Mapping[PartKey, Region]


@dataclass(frozen=True, slots=True, eq=False)
class Inspected:
    """What is wrong with a written sheet, and what is left of its parts that must fit others, in plate coordinates."""

    findings: tuple[Finding, ...]
    burned: Burned = field(default_factory=dict)


def examine(sheet: ReadSheet, expected: SheetExpectation, name: str) -> Inspected:
    """Inspect a sheet as read; `name` is its file's, which every message begins with."""
    if not sheet.paths and sheet.faults:
        return Inspected(sheet.faults)
    as_read, closed = sheet, closed_up(sheet)
    sheet = closed.sheet
    burned = burn(sheet, expected.kerf, [lead.line for lead in closed.lead_ins])
    there = {key: left for key, left in burned.items() if not left.is_empty}
    found = [
        *sheet.faults,
        *judge_style(as_read, closed, expected),
        *_size(sheet, expected),
        *_strokes(sheet, expected.pen),
        *_parts(burned, expected),
        *judge_scores(sheet.paths, expected.parts),
        *_labels_on_parts(burned, expected),
        *_near(there, expected),
        *judge_lead_ins(closed, burned, expected.gap),
        *_past_edge(there, expected),
        *_past_outline(there, expected),
        *_cut_twice(sheet),
        *_cut_loose_too_early(sheet),
    ]
    findings = tuple(f if f.message.startswith(name) else replace(f, message=f"{name}: {f.message}") for f in found)
    return Inspected(findings, _laid_back(burned, expected))


def _laid_back(burned: Burned, expected: SheetExpectation) -> dict[PartKey, Region]:
    """Lay what is left of the parts that must fit others back where it belongs on its plate."""
    places = {part.key: part.at for part in expected.parts if part.fits and part.at is not None}
    return {key: places[key].region_back(left) for key, left in burned.items() if key in places}


def _size(sheet: ReadSheet, expected: SheetExpectation) -> Iterator[Finding]:
    for side, got, want in (("wide", sheet.width, expected.width), ("high", sheet.height, expected.height)):
        if abs(got - want) > tolerances.SAME_POINT:
            message = f"the sheet is {got:g} mm {side} in the file, and {want:g} mm in the layout"
            yield Finding("sheet-size", "error", message, None, None, got, want)


def _strokes(sheet: ReadSheet, pen: CutPen) -> Iterator[Finding]:
    """Compare colour and width of each operation's lines, by which a laser's program knows what to do with them."""
    wanted, width = wanted_strokes(pen.colours), trimmed(pen.width, tolerances.DECIMALS)
    for operation, told in dict.fromkeys(sheet.widths):
        if told != width:
            yield Finding("file-form", "error", f"the lines of {operation} are {told!r} wide; {width!r} is right")
    for operation, stroke in dict.fromkeys(sheet.strokes):
        if stroke != wanted[operation]:
            message = f"the lines of {operation} are drawn in {stroke!r}, and not in {wanted[operation]}"
            yield Finding("colour", "error", message)


def wanted_strokes(colours: ColourKeys) -> dict[str, str]:
    """Give the colour that the lines of each operation must have: told here anew, not taken from what writes them."""
    return {"score": colours.score, "cut-inside": colours.cut_inside, "cut-outside": colours.cut_outside}


# --- each part ------------------------------------------------------------------------------------------------------


def _parts(burned: Burned, expected: SheetExpectation) -> Iterator[Finding]:
    wanted = {p.key for p in expected.parts}
    for key in burned:
        if key not in wanted:
            yield Finding("part-extra", "error", f"{whose(key)} is in the file and should not be", key[0])
    for part in expected.parts:
        if part.key in burned:
            yield from _part(part, burned[part.key], expected)
        else:
            yield Finding("part-missing", "error", f"{whose(part.key)} is missing", part.plate, None, 0, 1)


def _part(part: ExpectedPart, left: Region, expected: SheetExpectation) -> Iterator[Finding]:
    who = whose(part.key)
    if part.is_waste:
        if left.is_empty:
            yield Finding("part-missing", "error", f"{who} burns away", part.plate, None, 0, 1)
        return
    count = len(region.solids(left))
    if count != part.pieces:
        x, y = _middle(part.region)
        message = f"{who} near ({x:.1f}, {y:.1f}) comes out in {count} pieces; {part.pieces} expected"
        yield Finding("piece-count", "error", message, part.plate, None, count, part.pieces)
    if left.is_empty:
        return
    allowed = tolerances.BURN + expected.slack
    if (off := _off(left, part.region, expected.kerf, allowed)) is not None:
        message = (
            f"{who} comes out {off.distance:.3f} mm off its shape at ({off.x:.2f}, {off.y:.2f}); "
            f"at most {allowed:g} mm allowed"
        )
        yield Finding("shape-off", "error", message, part.plate, None, round(off.distance, 4), allowed)
    if part.web:
        yield from _thin_webs(part, left, part.web)


def _middle(shape: Region) -> tuple[float, float]:
    return (0.0, 0.0) if shape.is_empty else region.bounds(shape).centre


def _off(burned: Region, nominal: Region, kerf: Kerf, allowed: float) -> Deviation | None:
    """Tell where the burned shape is farthest off where it is too far off, else None."""
    if nominal.is_empty:
        return Deviation(math.inf, *_middle(burned))
    if comes_out(burned, nominal, kerf, allowed):
        return None
    off = farthest_off(burned, nominal, kerf)
    return off if off.distance > allowed else None


def _thin_webs(part: ExpectedPart, solids: Region, web: float) -> Iterator[Finding]:
    limit = web - tolerances.WEB_SLACK_BURN
    for solid in region.solids(simplified(solids, THIN)):
        if not _holds(solid, limit):
            width = _web_width(solid, limit)
            x, y = _web_place(solid, width + 0.02)
            message = (
                f"{whose(part.key)} is only about {width:.2f} mm wide near ({x:.1f}, {y:.1f}); min_web is {web:g} mm"
            )
            yield Finding("web-thin", "error", message, part.plate, None, round(width, 3), web)


def _holds(solid: region.Solid, web: float) -> bool:
    """Tell whether every web is at least `web` mm: shrunk by half of it, one body with all its holes is left."""
    bodies = cores(solid, web / 2)
    return len(bodies) == 1 and len(bodies[0].interiors) == len(solid.interiors)


def _web_width(solid: region.Solid, limit: float) -> float:
    """Narrow the least web down to 0.01 mm by halving."""
    return narrowed(0.0, limit, partial(_holds, solid), within=0.01)[0]


def _web_place(solid: region.Solid, width: float) -> tuple[float, float]:
    """Give the middle of the largest bit of the solid that a disc so wide cannot reach."""
    rest = region.difference(solid, region.offset(region.offset(solid, -width / 2), width / 2 + 0.001))
    bits = region.solids(rest)
    return region.bounds(region.largest(bits)).centre if bits else region.bounds(solid).centre


# --- between parts --------------------------------------------------------------------------------------------------


def _near(there: Burned, expected: SheetExpectation) -> Iterator[Finding]:
    gap = expected.gap
    waste = {p.key for p in expected.parts if p.is_waste}
    keys = list(there)
    for pair in near_pairs(list(there.values()), gap - tolerances.BURN):
        a, b = keys[pair.first], keys[pair.second]
        if waste & {a, b} and (a[0], a[2]) == (b[0], b[2]):
            continue  # one was cut out of the other
        message = (
            f"{whose(a)} and {whose(b)} are {pair.measure:.3f} mm apart at ({pair.x:.2f}, {pair.y:.2f}); "
            f"the gap is {gap:g} mm"
        )
        yield Finding("gap", "error", message, a[0], None, round(pair.measure, 4), gap)


def _past_edge(there: Burned, expected: SheetExpectation) -> Iterator[Finding]:
    for key, left in there.items():
        box = region.bounds(left)
        least = min(box.x0, box.y0, expected.width - box.x1, expected.height - box.y1)
        if least < expected.edge_margin - tolerances.BURN:
            message = (
                f"{whose(key)} is {least:.3f} mm from the sheet's edge (x {box.x0:.2f} to {box.x1:.2f}, "
                f"y {box.y0:.2f} to {box.y1:.2f}); the margin is {expected.edge_margin:g} mm"
            )
            yield Finding("edge-margin", "error", message, key[0], None, round(least, 4), expected.edge_margin)


def _past_outline(there: Burned, expected: SheetExpectation) -> Iterator[Finding]:
    """Yield the parts that leave the room there is on an offcut or beside damaged places."""
    if expected.room is None:
        return
    room = Room(expected.room)
    for key, left in there.items():
        if not room.holds(left, beyond=tolerances.BURN):
            message = (
                f"{whose(key)} reaches {room.outside(left):.3f} mm out of where parts may lie: "
                f"{expected.edge_margin:g} mm from the offcut's edge, {expected.gap:g} mm from damaged places"
            )
            yield Finding("edge-margin", "error", message, key[0], None, None, expected.edge_margin)


def _labels_on_parts(burned: Burned, expected: SheetExpectation) -> Iterator[Finding]:
    """Find labels that are not clear of every part; on sheets that lie face down they may be well within their own."""
    keys, index = list(burned), Index(list(burned.values()))
    for part in expected.parts:
        for line in part.labels:
            (strip,) = strips([line], 2 * LABEL_CLEAR)
            met = [keys[i] for i in index.near(strip)]
            own = expected.face_down and met == [part.key] and region.covers(burned[part.key], strip)
            if met and not own:
                x, y = line[0]
                message = f"the label of {whose(part.key)} at ({x:.1f}, {y:.1f}) is scored on {whose(met[0])}"
                yield Finding("label-on-part", "error", message, part.plate)
                break


def _cut_twice(sheet: ReadSheet) -> Iterator[Finding]:
    cuts = [p for p in sheet.paths if p.operation != "score"]
    for pair in shared_runs([p.points for p in cuts], TWICE_WITHIN, TWICE_LEAST):
        a, b = cuts[pair.first], cuts[pair.second]
        message = (
            f"{whose(a.key)} and {whose(b.key)} share {pair.measure:.2f} mm of cut at ({pair.x:.2f}, {pair.y:.2f}); "
            "nothing may be cut twice"
        )
        yield Finding("cut-twice", "error", message, a.plate, None, round(pair.measure, 3), 0.0)


def _cut_loose_too_early(sheet: ReadSheet) -> Iterator[Finding]:
    """Find outlines cut after a line of another part that they lie in: that part has dropped out by then, or moved."""
    cuts = [p for p in sheet.paths if p.operation != "score"]
    outlines = [k for k, p in enumerate(cuts) if p.operation == "cut-outside"]
    if not outlines:
        return
    boxes = np.array([(*p.points.min(axis=0), *p.points.max(axis=0)) for p in cuts])
    rows, around = boxes_within(boxes[outlines], boxes)
    for row, earlier in zip(rows.tolist(), around.tolist(), strict=True):
        inner, outer = cuts[outlines[row]], cuts[earlier]
        if earlier >= outlines[row] or (inner.key == outer.key and outer.operation == "cut-inside"):
            continue  # a loose letter may lie in another one's counter
        if region.covers(region.from_ring(outer.points), region.from_ring(inner.points)):
            x, y = inner.points[0]
            message = f"{whose(inner.key)} at ({x:.2f}, {y:.2f}) is cut after {whose(outer.key)}, in which it lies"
            yield Finding("burning-order", "error", message, inner.plate)
