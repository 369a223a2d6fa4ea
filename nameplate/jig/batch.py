"""A batch's jigs as a whole, once every plate is made: the stock they take, how far names can stray."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.jig.carrier import CARRIER_WALL
from nameplate.jig.locating import LEAST_CLEARANCE, needed_clearance
from nameplate.jig.play import FREE_TURN
from nameplate.model import Face, Part, Plate
from nameplate.ticket.schema import JigKeys


def jig_stock(plates: Sequence[Plate], shared: Sequence[Part], face: Face) -> dict[str, float] | None:
    """Give the stock that a batch's jigs take (mm2), and what as many frames round the whole face would take.

    Areas are within the outlines: what a window leaves over is used up too. A frame goes round the face as wide as a
    carrier's wall; one a plate, laid over the plaque, is what carrier and templates stand in for. None without jigs
    of their own stock.
    """
    areas = [_taken(part) for plate in plates for part in plate.parts if part.kind == "template" and not part.is_waste]
    if not areas:
        return None
    templates, carrier = sum(areas), sum(_taken(part) for part in shared if part.kind == "carrier")
    frames = len(areas) * float(rg.offset(face.outline, CARRIER_WALL).area)
    return {
        "templates": round(templates, 1),
        "carrier": round(carrier, 1),
        "full_face_frames": round(frames, 1),
        "saved": round(1 - (templates + carrier) / frames, 4),
    }


def _taken(part: Part) -> float:
    return float(rg.filled(part.region).area)


def judge_batch(plates: Sequence[Plate], keys: JigKeys) -> tuple[Finding, ...]:
    """Say, once for the batch, when window, pins and pocket together let names stray farther than the eye lets pass."""
    jigs = {plate.order.id: plate.jig for plate in plates if plate.jig.get("style") == "carrier"}
    plays = {plate: figures(jig, "play") for plate, jig in jigs.items()}
    far = {plate: play["far"] for plate, play in plays.items() if play["far"] > keys.tolerance}
    if not far or any(plays[plate]["turn"] > FREE_TURN for plate in far):
        return ()  # a face that does not locate is told by itself
    worst = max(far, key=lambda plate: (far[plate], plate))
    of = figures(jigs[worst], "far_from")
    needed = min(needed_clearance(figures(jigs[plate], "far_from"), keys) for plate in far)
    advice = (
        f"with jig.clearance = {needed:g} (now {keys.clearance:g}) all would be held"
        if needed >= LEAST_CLEARANCE
        else "no clearance that can be cut would hold them all"
        + (
            f"; lower jig.plaque_tolerance (now {keys.plaque_tolerance:g} mm) where the plaques allow"
            if keys.plaque_tolerance
            else ""
        )
    )
    message = (
        f"{len(far)} of {len(jigs)} names can end up farther off than the tolerance of {keys.tolerance:g} mm, at worst "
        f"{far[worst]:.2f} mm (plate {worst}: {of['window']:.2f} from its window, {of['pins']:.2f} from the pins, "
        f"{of['pocket']:.2f} from the pocket); {advice}, or push every plaque and every name against the same side"
    )
    return (Finding("carrier-play", "warning", message, measured=far[worst], allowed=keys.tolerance),)


def figures(jig: Mapping[str, object], key: str) -> dict[str, float]:
    """Give the figures that a jig's record holds under a key."""
    found = jig.get(key)
    return {str(k): float(v) for k, v in found.items()} if isinstance(found, dict) else {}
