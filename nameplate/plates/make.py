"""One order becomes one plate: its lettering, its jig, its parts and their toolpaths. Runs in a worker process."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from nameplate.cut.kerf import Toolpath, toolpaths
from nameplate.errors import GeometryError
from nameplate.findings import Finding, has_errors
from nameplate.geometry.hairs import without_hairs
from nameplate.geometry.region import filled
from nameplate.jig.make import make_jig
from nameplate.jig.skeleton import make_skeleton
from nameplate.lettering.legibility import legibility_findings, read, small_text
from nameplate.lettering.making import make_lettering
from nameplate.model import Face, Lettering, Order, Part, Plate
from nameplate.placement.convex_fit import area_centroid
from nameplate.placement.objective import Level
from nameplate.plates.mounts import GLUED, Mounted, least_web, mounted, rules_for, strength_findings, zone_for
from nameplate.plates.trial import expected_part, tried
from nameplate.system.shelf import packed
from nameplate.ticket.schema import MaterialKeys, Ticket
from nameplate.typesetting.fonts import Font, bundled_fonts, load_font, load_fonts, load_row_fonts
from nameplate.typesetting.setting import Setting, borrowed_letters, settings


@dataclass(frozen=True, slots=True)
class Shop:
    """What every plate of a batch shares. Without `cuts` no toolpaths are made: an estimate needs none."""

    ticket: Ticket
    face: Face
    cuts: bool = True

    def material(self, key: str) -> MaterialKeys:
        """Give the material with this key; the ticket's reader has filled in the ones a ticket leaves out."""
        return self.ticket.material.get(key, MaterialKeys())


@dataclass(frozen=True, slots=True)
class Work:
    """A plate and how to cut it: one toolpath a part with the kerf allowed for, and the jig's nominal one."""

    plate: Plate
    toolpaths: tuple[Toolpath, ...] = ()
    jig: Toolpath | None = None


def make_work(shop: Shop, order: Order) -> Work:
    """Make one plate and its toolpaths, packed. Never raises for a bad order: the reasons are the plate's findings.

    A plate whose parts do not come out as they should when each is burned by itself is refused here, before it can
    spoil a sheet.
    """
    return packed(_work(shop, order))


def _work(shop: Shop, order: Order) -> Work:
    plate, jig = make_plate(shop, order)
    if plate.lettering is None:
        return Work(plate)
    plate = replace(plate, parts=tuple(_smooth(part) for part in plate.parts))
    if not shop.cuts:
        return Work(plate)
    try:
        cuts = [(_own_cuts(part), shop.material(part.material).kerf) for part in plate.parts]
        paths = toolpaths([*cuts, (_smooth(jig), 0.0)] if jig is not None else cuts)
    except GeometryError as error:
        return _refused(plate, [Finding("cannot-be-cut", "error", problem) for problem in error.problems])
    faults = list(_burned_wrong(shop, plate, paths))
    if faults:
        return _refused(plate, faults)
    return Work(plate, paths[: len(cuts)], paths[-1] if jig is not None else None)


def _smooth(part: Part) -> Part:
    return replace(part, region=without_hairs(part.region))


def _refused(plate: Plate, reasons: Iterable[Finding]) -> Work:
    return Work(Plate(plate.order, None, findings=plate.findings + of_order(plate.order, reasons)))


def _burned_wrong(shop: Shop, plate: Plate, paths: Sequence[Toolpath]) -> Iterator[Finding]:
    """Burn each part by itself and say what is wrong with it; `paths` begins with those of the plate's parts."""
    order = plate.order
    for part, path in zip(plate.parts, paths, strict=False):
        expected = expected_part(part, plate.lettering, least_web(order.mount, part.kind, shop.ticket.lettering))
        for fault in tried(path, expected, shop.material(part.material).kerf):
            message = (
                f"“{order.name}” would not come out right, which is a fault of the program, not of the name: "
                f"{fault.message} (burned by itself, from the corner of its box); the other names are not affected"
            )
            yield replace(fault, message=message)


def make_plate(shop: Shop, order: Order) -> tuple[Plate, Part | None]:
    """Make the lettering and the jig of one order; the jig is also among the plate's parts unless it is only drawn."""
    keys = shop.ticket.lettering
    lettering, setting, findings = _lettering(shop, order)
    if lettering is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    if order.mount in GLUED:
        lettering, more = strength_findings(order, shop.face, lettering, keys, shop.material("lettering"))
        findings += more
    done = mounted(order, shop.face, lettering, keys, kerf=shop.material("blank").kerf)
    findings += done.findings
    if done.lettering is not None and keys.legibility != "off":
        done, more = _judged(order, done, setting, refuse=keys.legibility == "refuse" and order.mount == "pierced")
        findings += more
    if done.lettering is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    if shop.ticket.jig.style == "none" or done.located is None:
        return Plate(order, done.lettering, done.parts, of_order(order, findings)), None
    if shop.ticket.jig.style == "skeleton":
        return _in_skeleton(shop, order, done, findings)
    jig = make_jig(shop.face, done.located, order, shop.ticket.jig, web=keys.min_web)
    findings += jig.findings
    if jig.part is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    parts = (*done.parts, jig.part) if jig.is_cut else done.parts
    return Plate(order, done.lettering, parts, of_order(order, findings), jig.record), jig.part


def _judged(order: Order, done: Mounted, setting: Setting, *, refuse: bool) -> tuple[Mounted, tuple[Finding, ...]]:
    """Judge how the finished lettering reads; without lettering where it would read as another name."""
    lettering = done.lettering
    assert lettering is not None
    letters = read(setting, lettering.region, origin=lettering.origin, size=lettering.size)
    findings = list(legibility_findings(order.name, letters, refuse=refuse))
    if has_errors(findings):
        return replace(done, lettering=None), tuple(findings)
    if small := small_text(order.name, setting.x_height * lettering.size):
        findings.append(small)
    weakest = letters[0]
    lettering = replace(lettering, legibility=weakest.legibility, weakest_letter=weakest.place)
    return replace(done, lettering=lettering), tuple(findings)


def _in_skeleton(shop: Shop, order: Order, done: Mounted, findings: tuple[Finding, ...]) -> tuple[Plate, Part | None]:
    """Cut the piece that a jig would locate (the last of the plate's parts) out of a blank of the face's outline."""
    *others, name = done.parts
    kerf, web = shop.material(name.material).kerf, shop.ticket.lettering.min_web
    assert done.located is not None
    jig, both = make_skeleton(shop.face, done.located, order, shop.ticket.jig, name, kerf=kerf, web=web)
    findings += jig.findings
    if jig.part is None:
        return Plate(order, None, findings=of_order(order, findings)), None
    return Plate(order, done.lettering, (*others, *both), of_order(order, findings), jig.record), jig.part


def _own_cuts(part: Part) -> Part:
    """Leave out of waste the window that the cut of another part makes."""
    return replace(part, region=filled(part.region)) if part.is_waste else part


def _lettering(shop: Shop, order: Order) -> tuple[Lettering | None, Setting, tuple[Finding, ...]]:
    """Make the lettering of one order; with it comes how it was set."""
    keys = shop.ticket.lettering
    (font, *fallbacks), remarks = fonts_of(shop.ticket, order)
    rules = rules_for(order.mount, keys, shop.material("lettering"), shop.ticket.jig.clearance)
    candidates = settings(
        order.name,
        order.line2,
        font,
        words=keys.words,
        features=keys.features,
        fallbacks=fallbacks,
        holding=rules.tied,
    )
    if not shop.cuts and not keys.strengthen:
        rules = replace(rules, thickness=None)  # an estimate asks how much, not how strong
    zone = zone_for(order.mount, shop.face, keys)
    lettering, findings = make_lettering(candidates, zone, rules, size=order.size, level=level_of(shop, order))
    lines = candidates[0].lines if lettering is None else lettering.lines
    setting = next(way for way in candidates if way.lines == lines)
    return lettering, setting, (*findings, *remarks, *borrowed_letters(order.name, font, candidates[0]))


def fonts_of(ticket: Ticket, order: Order) -> tuple[tuple[Font, ...], tuple[Finding, ...]]:
    """Find the fonts of an order; a row's own font takes the ticket's weight and axes, or it is said that it cannot."""
    keys = ticket.lettering
    if order.fonts[0] == keys.font[0]:
        return load_fonts(order.fonts, ticket.folder, axes=keys.font_axes), ()
    fonts, lacking = load_row_fonts(order.fonts, ticket.folder, axes=keys.font_axes)
    message = f"“{order.name}”: {fonts[0].name} has no {' and no '.join(lacking)}; it is set as the font is"
    return fonts, (Finding("no-such-axis", "warning", message),) if lacking else ()


def font_files(ticket: Ticket, orders: Iterable[Order]) -> tuple[Path, ...]:
    """Give the font files, of the user's, that these orders are lettered from."""
    bundled = {info.path for info in bundled_fonts()}
    specs = dict.fromkeys(spec for order in orders for spec in order.fonts)
    return tuple(path for spec in specs if (path := load_font(spec, ticket.folder).path) not in bundled)


def level_of(shop: Shop, order: Order) -> Level | None:
    """Give where the baseline of an order stands in a batch of one size; None where names fill their faces."""
    if shop.ticket.lettering.size != "uniform":
        return None
    return common_level(shop) if order.baseline is None else Level(0.0, order.baseline)


def common_level(shop: Shop) -> Level:
    """Give where the lines of a batch of one size stand, the same on every face: its letters are in the zone's middle.

    The middle of the letters is halfway between that of the capitals and that of the small letters, in the ticket's
    first font; descenders hang below and do not lift a name off the line.
    """
    font = load_fonts(shop.ticket.lettering.font[:1], shop.ticket.folder, axes=shop.ticket.lettering.font_axes)[0]
    return Level((font.cap_height + font.x_height) / 4, area_centroid(shop.face.zone)[1])


def baseline_at(shop: Shop, size: float) -> float:
    """Give the y of the baseline, on the face, that a batch of one size (em, mm) shares."""
    level = common_level(shop)
    return level.at - size * level.height


def of_order(order: Order, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Say of each finding which plate and row it belongs to."""
    return tuple(replace(f, plate=order.id, row=order.row) for f in findings)
