"""The jig of one plate, whatever the style, with what it promises; and what a batch shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from nameplate.findings import Finding, counted, has_errors
from nameplate.geometry import region as rg
from nameplate.geometry.engraving_font import label
from nameplate.geometry.region import Array, Region
from nameplate.jig import carrier as ca
from nameplate.jig.closure import pin_tilt
from nameplate.jig.ladder import ladder_parts
from nameplate.jig.layers import Stack, carrier_parts, judge_stack, parts_list, stack_for
from nameplate.jig.locating import judge_face, judge_gap, judge_play, plaque_motions, play_figures, worst_play
from nameplate.jig.play import CUT_ERROR, Motions, Play, play_of, telling_places, total_play
from nameplate.jig.template import cut_template, jig_file_name, loose_figures, sights_of, template_round
from nameplate.jig.window import Opening, make_opening, motions_in
from nameplate.model import Face, Lettering, Order, Part
from nameplate.pdf.paper import CHECK_LINE
from nameplate.ticket.schema import JigKeys

#: Distance of that line below the face, and height of its end strokes and figures, mm.
_LINE_DROP, _LINE_TICK = 8.0, 3.0


@dataclass(frozen=True, slots=True)
class Jig:
    """The jig of one plate: its part (none when it cannot be made), whether that is cut, and its record."""

    part: Part | None
    findings: tuple[Finding, ...]
    record: dict[str, object] = field(default_factory=dict)
    is_cut: bool = True


@dataclass(frozen=True, slots=True)
class Shared:
    """What a batch shares: the carrier's layers, what is said of face and carrier, and the carrier's record."""

    parts: tuple[Part, ...] = ()
    findings: tuple[Finding, ...] = ()
    record: dict[str, object] = field(default_factory=dict)


def make_jig(face: Face, lettering: Lettering, order: Order, keys: JigKeys, *, web: float) -> Jig:
    """Make the jig of one plate in the ticket's style (`template`, `carrier` or `print`)."""
    opening = make_opening(lettering.region, keys)
    others: tuple[Motions, ...] = ()
    part: Part | None
    if keys.style == "carrier":
        part, findings, others = _on_pins(face, opening, order, keys, web)
    else:
        notched = keys.style == "template"
        turns = notched and plaque_motions(face.outline, keys).free
        sights = sights_of(face) if turns else ()
        part, findings = template_round(face, opening, order, keys, web=web, notched=notched, sights=sights)
    if part is None or has_errors(findings):
        return Jig(None, findings)
    if keys.style == "print":
        part = replace(part, marks=(*part.marks, *check_line(face)))
    windows = motions_in(opening, lettering.region, keys)
    in_window = worst_play(lettering.region, windows)
    play = worst_play(lettering.region, windows, others) if others else in_window
    findings += judge_play(in_window, order, keys)
    findings += judge_gap(part.region, lettering.region, order, keys)
    record: dict[str, object] = {
        "file": f"jigs/{jig_file_name(order)}",
        "style": keys.style,
        "window": keys.window,
        "play": play_figures(play),
        "area": round(part.region.area, 1),
        **loose_figures(lettering.region, part.region, keys),
    }
    if others:
        record["far_from"] = _far_from(lettering.region, in_window, *others)
    if opening.nubs:
        record["nubs"] = [[round(float(v), 2) for v in at] for n in opening.nubs for at in n.contacts.points]
        findings += _judge_nubs(opening, order)
    return Jig(None if has_errors(findings) else part, findings, record, keys.style != "print")


def _on_pins(
    face: Face, opening: Opening, order: Order, keys: JigKeys, web: float
) -> tuple[Part, tuple[Finding, ...], tuple[Motions, ...]]:
    """Make a template that drops on the carrier's pins, and give the locators behind its window."""
    plan = ca.plan_carrier(face, keys)
    outline = ca.template_outline(plan, opening.region)
    part, findings = cut_template(outline, opening, ca.template_holes(plan), order, web=web)
    if wrong := [pose for pose in ca.poses_that_fit(plan, part.region) if pose != ca.POSES[0]]:
        findings += (not_keyed(order, wrong),)
    return part, findings, (ca.register_motions(plan), plaque_motions(face.outline, keys))


def not_keyed(order: Order, wrong: Sequence[str]) -> Finding:
    """Say in which wrong ways, in words, a template goes onto the pins of its carrier too."""
    message = (
        f"the template of “{order.name}” also goes onto the carrier's pins {' and '.join(wrong)}, which is a fault of "
        'the program: report it, and choose jig.style = "template" meanwhile'
    )
    return Finding("jig-not-keyed", "error", message, order.id, order.row)


def _far_from(lettering: Region, in_window: Play, pins: Motions, pocket: Motions) -> dict[str, float]:
    """Give what each locator alone lets the farthest point stray, mm; together they give a little less than the sum."""
    places = telling_places(lettering)
    alone = {"window": in_window, "pins": play_of(places, [pins]), "pocket": play_of(places, [pocket])}
    return {locator: round(play.far, 3) for locator, play in alone.items()}


def _judge_nubs(opening: Opening, order: Order) -> tuple[Finding, ...]:
    loose = sum(not n.held for n in opening.nubs)
    if not loose:
        return ()
    message = (
        f"{counted(loose, 'piece')} of “{order.name}” can still turn between the nubs of the window (a "
        "round dot always can); turn what stands askew by hand"
    )
    return (Finding("nubs-do-not-hold", "note", message, order.id, order.row),)


def check_line(face: Face) -> tuple[Array, ...]:
    """Give a line of 100 mm below a face, with end strokes and its figure, by which a print's size is checked."""
    box = rg.bounds(face.outline)
    x, y = box.centre[0] - CHECK_LINE / 2, box.y0 - _LINE_DROP
    ends = [np.array([(at, y - _LINE_TICK / 2), (at, y + _LINE_TICK / 2)]) for at in (x, x + CHECK_LINE)]
    figure = label(f"{CHECK_LINE:g} mm - measure after printing", _LINE_TICK, at=(x, y - 2.5 * _LINE_TICK))
    return (np.array([(x, y), (x + CHECK_LINE, y)]), *ends, *figure)


def make_shared(
    face: Face, keys: JigKeys, *, title: str = "", carrier_thickness: float = 3.0, template_thickness: float = 1.0
) -> Shared:
    """Make what the batch shares: with style `carrier` its layers and parts list; judge the face for every style."""
    if keys.style == "none":
        return Shared()
    parts = shared_parts(face, keys, title=title, carrier_thickness=carrier_thickness)
    findings = judge_face(face, keys, seen=keys.style == "template" and bool(sights_of(face)))
    if keys.style != "carrier":
        return Shared(parts, findings)
    plan = ca.plan_carrier(face, keys)
    stack = stack_for(keys.plaque_height, carrier_thickness)
    carrier = tuple(part for part in parts if part.kind == "carrier")
    record = _carrier_record(face, keys, plan, stack, carrier, template_thickness)
    findings = (*findings, *judge_stack(stack, keys))
    return Shared(parts, findings, record)


def shared_parts(face: Face, keys: JigKeys, *, title: str = "", carrier_thickness: float = 3.0) -> tuple[Part, ...]:
    """Make the parts a batch shares, without judging face or carrier, which takes most of the time."""
    ladder = ladder_parts() if keys.ladder and keys.style not in ("none", "print") else ()
    if keys.style != "carrier":
        return ladder
    stack = stack_for(keys.plaque_height, carrier_thickness)
    return (*carrier_parts(ca.plan_carrier(face, keys), stack, title or "carrier"), *ladder)


def _carrier_record(
    face: Face, keys: JigKeys, plan: ca.CarrierPlan, stack: Stack, parts: tuple[Part, ...], template_thickness: float
) -> dict[str, object]:
    layers = [
        {"layer": p.layer, "what": "floor" if p.layer == 1 else "wall", "thickness": stack.thickness} for p in parts
    ]
    pins = [
        {"x": round(float(at[0]), 3), "y": round(float(at[1]), 3), "diameter": plan.pin, "in": what}
        for at, what in zip(plan.pins, ("round hole", "slot", "wide hole"), strict=True)
    ]
    play = total_play(face.zone, [ca.register_motions(plan), plaque_motions(face.outline, keys)])
    pitch, gap = float(np.linalg.norm(plan.slot - plan.hole)), ca.PIN_GAP + CUT_ERROR
    return {
        "file": "jigs/carrier.svg",
        "layers": layers,
        "pins": pins,
        "register": {"pitch": round(pitch, 3), "turn": round(pin_tilt(2 * gap, pitch), 4)},
        "play": play_figures(play),
        "parts": list(parts_list(plan, stack, template_thickness)),
        "proud": round(stack.proud, 3),
        "area": round(sum(p.region.area for p in parts), 1),
    }
