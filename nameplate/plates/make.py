"""One order becomes one plate: its lettering, its jig, its parts and their toolpaths. Runs in a worker process."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from nameplate.cut.kerf import Toolpath, toolpath
from nameplate.errors import GeometryError
from nameplate.findings import Finding, has_errors
from nameplate.geometry.region import bounds
from nameplate.geometry.simplify import without_hairs
from nameplate.jig.make import make_jig
from nameplate.jig.skeleton import make_skeleton, own_cuts
from nameplate.lettering.legibility import legibility_findings, read, small_text, with_unclear
from nameplate.lettering.making import make_lettering
from nameplate.lettering.rules import SMALL_LETTERS, LetteringRules
from nameplate.model import Face, Lettering, Order, Part, Plate
from nameplate.placement.fit import prepared
from nameplate.placement.objective import Level, Standing
from nameplate.plates.by_hand import moved_by_hand
from nameplate.plates.free_standing import hung, standing_free
from nameplate.plates.mounts import Mounted, least_web, mounted, refusals, rules_for, strengthened, zone_for
from nameplate.plates.trial import cut_true, expected_part
from nameplate.plates.typeset import size_of, ways_for
from nameplate.system.shelf import changed, packed
from nameplate.ticket.lettering_schema import LetteringKeys, LineKeys
from nameplate.ticket.materials import GLUED
from nameplate.ticket.schema import JigKeys, Ticket
from nameplate.ticket.workshop_schema import MATERIALS, MaterialKeys
from nameplate.typesetting.fonts import load_fonts
from nameplate.typesetting.setting import Setting, borrowed_letters

#: Lettering of this share of the greatest height allowed is held down by that: thickening adds a little, or less.
CAPPED = 0.98

#: In a batch of one size the level of names on an arc is that of one which spans this share of the zone's width, its
#: middle in the zone's. More raises short names, less lets long ones hang.
SPANNED = 0.7


@dataclass(frozen=True, slots=True)
class PlateContext:
    """What every plate of a design shares; fonts named by path are relative to `folder`.

    `lines` are those that have a style of their own. `materials` are those of each role, and `keys` what the ticket
    calls those that are not called by their role. Without `cuts` no toolpaths are made: an estimate needs none. Sheets
    are to lie `face_down`, which changes nothing about a plate.
    """

    lettering: LetteringKeys
    jig: JigKeys
    materials: Mapping[str, MaterialKeys]
    folder: Path
    face: Face
    cuts: bool = True
    lines: tuple[LineKeys, ...] = ()
    keys: Mapping[str, str] = field(default_factory=dict)
    face_down: bool = False

    @classmethod
    def of(cls, ticket: Ticket, face: Face, cuts: bool = True) -> PlateContext:
        """Take from a ticket, or from one of its designs, what plates are made by."""
        own = {role: ticket.material[key] for role in MATERIALS if (key := ticket.key_of(role)) in ticket.material}
        by = (ticket.own_lettering, ticket.own_jig, own, ticket.folder, face, cuts, ticket.line, ticket.materials)
        return cls(*by, face_down=ticket.files.face_down)

    def material(self, role: str) -> MaterialKeys:
        """Give the material of a role; the ticket's reader has filled in the ones a ticket leaves out."""
        return self.materials.get(role, MaterialKeys())

    def called(self, parts: Iterable[Part]) -> tuple[Part, ...]:
        """Give parts, made of the material of a role, with the ticket's key of that material."""
        return tuple(replace(p, material=self.keys.get(p.material, p.material)) if self.keys else p for p in parts)


@dataclass(frozen=True, slots=True)
class PlateWork:
    """A plate and how to cut it: one toolpath a part with the kerf allowed for, and the jig's nominal one.

    `drawn` is the jig's part where that is only drawn. Of a plate that goes `on`, pieces were cut by an earlier run:
    its parts are as they were then, and have toolpaths as far as copies of them are to be cut. It `lacks` some that are
    not laid this time.
    """

    plate: Plate
    toolpaths: tuple[Toolpath, ...] = ()
    jig: Toolpath | None = None
    drawn: Part | None = None
    on: bool = False
    lacks: bool = False


def make_work(context: PlateContext, order: Order) -> PlateWork:
    """Make one plate and its toolpaths, packed. Never raises for a bad order: the reasons are the plate's findings.

    A plate whose parts do not come out as they should when each is burned by itself is refused here, before it can
    spoil a sheet.
    """
    work = _work(context, order)
    return packed(replace(work, plate=replace(work.plate, parts=context.called(work.plate.parts))))


def _work(context: PlateContext, order: Order) -> PlateWork:
    plate, jig = make_plate(context, order)
    if plate.lettering is None:
        return PlateWork(plate)
    plate = replace(plate, parts=tuple(_smooth(part) for part in plate.parts))
    if not context.cuts:
        return PlateWork(plate)
    try:
        paths, faults = _cut(context, plate)
        nominal = None if jig is None else toolpath(_smooth(jig), 0.0, beside=paths)
    except GeometryError as error:
        return _refused(plate, refusals("cannot-be-cut", error))
    cut = {(part.kind, part.layer) for part in plate.parts if not part.is_waste}
    only_drawn = None if jig is None or (jig.kind, jig.layer) in cut else jig
    return _refused(plate, faults) if faults else PlateWork(plate, paths, nominal, only_drawn)


def make_on(context: PlateContext, work: PlateWork) -> PlateWork:
    """Make the toolpaths of a plate that goes on, packed: of what is to be cut of it, and of its jig's drawing.

    Never raises: where its pieces cannot be cut again, none is, and its findings say why.
    """
    if not context.cuts:
        return packed(work)
    roles = {key: role for role, key in context.keys.items()}
    plate = work.plate
    parts = tuple(replace(p, material=roles.get(p.material, p.material)) for p in plate.parts if p.copies)
    try:
        paths, faults = _cut(context, replace(plate, parts=parts))
        drawing = work.drawn or next((p for p in plate.parts if (p.kind, p.layer) == ("template", 1)), None)
        nominal = None if drawing is None or not plate.jig else toolpath(drawing, 0.0, beside=paths)
    except GeometryError as error:
        paths, faults, nominal = (), refusals("cannot-be-cut", error), None
    if faults:
        found = (*plate.findings, *of_order(plate.order, faults))
        return packed(as_it_stands(replace(work, plate=replace(plate, findings=found), jig=nominal)))
    return packed(replace(work, toolpaths=paths, jig=nominal))


def as_it_stands(work: PlateWork) -> PlateWork:
    """Give a plate that goes on without anything more to be cut of it."""
    parts = tuple(changed(part, copies=0) for part in work.plate.parts)
    return replace(work, plate=replace(work.plate, parts=parts), toolpaths=())


def _smooth(part: Part) -> Part:
    return replace(part, region=without_hairs(part.region))


def _refused(plate: Plate, reasons: Iterable[Finding]) -> PlateWork:
    return PlateWork(Plate(plate.order, None, findings=plate.findings + of_order(plate.order, reasons)))


def _cut(context: PlateContext, plate: Plate) -> tuple[tuple[Toolpath, ...], tuple[Finding, ...]]:
    """Give the toolpath of each part, and what is wrong with it when it is burned by itself."""
    order = plate.order
    paths: list[Toolpath] = []
    faults: list[Finding] = []
    for part in plate.parts:
        expected = expected_part(part, plate.lettering, least_web(order.mount, part.kind, context.lettering))
        path, found = cut_true(own_cuts(part), expected, context.material(part.material).kerf, beside=paths)
        paths.append(path)
        for fault in found:
            message = (
                f"“{order.name}” would not come out right, which is a fault of the program, not of the name: "
                f"{fault.message} (burned by itself, from the corner of its box); the other names are not affected"
            )
            faults.append(replace(fault, message=message))
    return tuple(paths), tuple(faults)


def make_plate(context: PlateContext, order: Order) -> tuple[Plate, Part | None]:
    """Make the lettering and the jig of one order; the jig is also among the plate's parts unless it is only drawn."""
    keys = context.lettering
    lettering, setting, findings = _lettering(context, order)
    if lettering is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    if order.mount in GLUED:
        lettering, more = strengthened(order, context.face, lettering, keys, context.material("lettering"))
        findings += () if context.face.ring else more  # necks of what hangs are judged with its rings
    kerf, clearance = context.material("blank").kerf.inside.widest, context.jig.clearance
    done = mounted(order, context.face, lettering, keys, kerf=kerf, clearance=clearance)
    findings += done.findings
    if done.lettering is not None and keys.legibility != "off":
        done, findings = _judged(order, done, done.lettering, setting, findings, keys)
    if done.lettering is not None and context.face.ring:
        done = hung(order, context.face, done, keys, context.material("lettering"))
        findings += done.findings
    if done.lettering is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    if context.jig.style == "none" or done.located is None:
        return Plate(order, done.lettering, done.parts, of_order(order, findings)), None
    if context.jig.style == "skeleton":  # the piece that is located, the last part, is cut out of the face's outline
        *others, name = done.parts
        kerf = context.material(name.material).kerf.outside.widest
        jig, both = make_skeleton(context.face, done.located, order, context.jig, name, kerf=kerf, web=keys.min_web)
        parts = (*others, *both)
    else:
        jig = make_jig(context.face, done.located, order, context.jig, web=keys.min_web)
        parts = (*done.parts, jig.part) if jig.part is not None and jig.is_cut else done.parts
    findings += jig.findings
    if jig.part is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    return Plate(order, done.lettering, parts, of_order(order, findings), jig.record), jig.part


def _judged(
    order: Order, done: Mounted, lettering: Lettering, setting: Setting, found: Sequence[Finding], keys: LetteringKeys
) -> tuple[Mounted, tuple[Finding, ...]]:
    """Judge how the finished lettering reads; without lettering where it would read as another name.

    What is said of that comes after what was `found`, where small letters that are not clear are named.
    """
    ties, size = lettering.between_words, lettering.size
    letters = read(setting, lettering.whole, origin=lettering.origin, size=size, between_words=ties)
    capped = keys.max_height is not None and bounds(lettering.region).height > CAPPED * keys.max_height
    judged = tuple(
        legibility_findings(
            order.name,
            letters,
            pierced=order.mount == "pierced",
            refuse=keys.legibility == "refuse",
            small=any(f.code == SMALL_LETTERS for f in found),
            cap=keys.max_height if capped else None,
        )
    )
    findings = (*with_unclear(found, letters), *judged)
    if has_errors(judged):
        return replace(done, lettering=None), findings
    lines = [(order.name, setting.x_height)] if setting.is_plain else zip(setting.lines, setting.lows, strict=True)
    findings += tuple(small for text, height in lines if (small := small_text(text, height * size)))
    weakest = letters[0]
    lettering = replace(lettering, legibility=weakest.legibility, weakest_letter=weakest.place)
    return replace(done, lettering=lettering), findings


def _lettering(context: PlateContext, order: Order) -> tuple[Lettering | None, Setting, tuple[Finding, ...]]:
    """Make the lettering of one order; with it comes how it was set."""
    rules, zone = lettering_rules(context, order), zone_for(order.mount, context.face, context.lettering)
    ways, remarks = ways_for(context.lettering, context.folder, order, holding=rules.tied)
    if not context.cuts and not context.lettering.strengthen:
        rules = replace(rules, thickness=None)  # an estimate asks how much, not how strong
    lettering, findings = make_lettering(
        ways, zone, rules, size=size_of(order, context.folder), standing=standing_for(context, order)
    )
    lines = ways[0].lines if lettering is None else lettering.lines
    setting = next(way.setting for way in ways if way.lines == lines)
    setting = setting if lettering is None else setting.at(lettering.size)
    lettering, refused = moved_by_hand(
        order, lettering, zone, lambda size: _lettering(context, replace(order, size=size, dx=0.0, dy=0.0))[0]
    )
    if context.face.free and lettering is not None:
        lettering, refused = standing_free(order, lettering)
    return lettering, setting, (*findings, *refused, *remarks, *borrowed_letters(order.name, setting))


def lettering_rules(context: PlateContext, order: Order) -> LetteringRules:
    """Give the rules that the lettering of an order keeps to."""
    return rules_for(order.mount, context.lettering, context.material("lettering"), context.jig.clearance)


def standing_for(context: PlateContext, order: Order) -> Standing:
    """Give how an order stands on its face; in a batch of one size, on the baseline of all. Without a face it fills
    the size that it is to have, wherever that is."""
    keys, level = context.lettering, None
    if context.face.free:
        return Standing("anywhere")
    if keys.size == "uniform":
        level = common_level(context) if order.baseline is None else Level(0.0, order.baseline)
    return Standing(keys.place, keys.align, level)


def common_level(context: PlateContext) -> Level:
    """Give where the lines of a batch of one size stand, the same on every face: its letters are in the zone's middle.

    The middle of the letters is halfway between that of the capitals and that of the small letters, in the ticket's
    first font, or in that of the largest of its lines; descenders hang below and do not lift a name off the line. On an
    arc the line is that of its apex.
    """
    largest = max(context.lines, key=lambda line: line.size or line.scale, default=None)
    if largest is not None and largest.font:
        font = load_fonts(largest.font[:1], context.folder)[0]
    else:
        font = load_fonts(context.lettering.font[:1], context.folder, axes=context.lettering.font_axes)[0]
    zone = context.face.zone
    middle = prepared(zone).middle[1] + _rise(context.lettering.arc, bounds(zone).width)
    return Level((font.cap_height + font.x_height) / 4, middle)


def _rise(arc: float, width: float) -> float:
    """Give how far an arc's apex (mm) is above the middle of lettering that takes SPANNED of a zone's width."""
    half = min(SPANNED * width / 2, abs(arc))
    return math.copysign((abs(arc) - math.sqrt(arc**2 - half**2)) / 2, arc)


def baseline_at(context: PlateContext, size: float) -> float:
    """Give the y of the baseline, on the face, that a batch of one size (em, mm) shares."""
    level = common_level(context)
    return level.at - size * level.height


def of_order(order: Order, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Say of each finding which plate and row it belongs to."""
    return tuple(replace(f, plate=order.id, row=order.row) for f in findings)
