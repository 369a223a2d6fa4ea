"""Names that stand free: they have the size that was asked for, and rings where they are to hang."""

from __future__ import annotations

from dataclasses import replace

from nameplate.findings import Finding
from nameplate.geometry.region import Region, bounds, difference, offset, union
from nameplate.lettering.building import LEAST_FILLET
from nameplate.lettering.hanging import Finish, hang
from nameplate.lettering.strength import allowable, weakest_neck
from nameplate.lettering.webs import thicken
from nameplate.model import Face, Lettering, Order
from nameplate.plates.mounts import Mounted, fragile, room_to_widen, stronger
from nameplate.ticket.lettering_schema import LARGEST_FACE, LetteringKeys
from nameplate.ticket.workshop_schema import MaterialKeys

#: What is too weak near a ring may become wider by so many minimum webs on each side.
TIE_ROOM = 2.0

#: Necks are strengthened to this share of what their material bears, and too weak where this share of their stress is
#: more: measured anew when the bores are cut, they come out a little weaker or stronger.
REMEASURED = 0.99


def standing_free(order: Order, lettering: Lettering) -> tuple[Lettering | None, tuple[Finding, ...]]:
    """Put the middle of lettering on the origin of its plate, or say that it is too large for any face."""
    box = bounds(lettering.region)
    if max(box.width, box.height) > LARGEST_FACE:
        message = (
            f"“{order.name}” would be {box.width:.0f} mm wide and {box.height:.0f} mm high, and {LARGEST_FACE:g} mm is "
            "the most; ask for a smaller height or width, or give it more lines"
        )
        return None, (Finding("too-large", "error", message, measured=max(box[2:]), allowed=LARGEST_FACE),)
    x, y = box.centre
    return lettering.moved_by(-x, -y), ()


def hung(order: Order, face: Face, done: Mounted, keys: LetteringKeys, sheet: MaterialKeys) -> Mounted:
    """Hang a name that is made, all webs and necks of the whole as good as those of its letters; without lettering
    where that cannot be."""
    lettering = done.lettering
    if lettering is None or face.ring is None:
        return done
    finish = _finish(order, face, lettering, keys, sheet)
    found = hang(lettering.region, bore=face.ring, web=keys.min_web, at=face.ring_at, finish=finish)
    if not found.holds:
        return replace(done, lettering=None, findings=(no_ring(order, face.ring, keys),))
    neck = lettering.neck and weakest_neck(found.region, thickness=sheet.thickness, load=keys.load)
    lettering = replace(lettering, region=found.region, rings=found.rings, neck=neck)
    bears = allowable(sheet.name)
    weak = neck is not None and bears is not None and REMEASURED * neck.stress > bears
    about = (fragile(order, lettering, neck, bears, keys),) if weak and neck and bears else ()
    return _with(done, lettering, about)


def no_ring(order: Order, bore: float, keys: LetteringKeys) -> Finding:
    """Say that a name cannot hang by a ring of so many mm."""
    message = (
        f"no ring of {bore:g} mm can be tied to “{order.name}” with {keys.min_web:g} mm everywhere; give it a "
        "smaller ring, larger letters or a smaller min_web"
    )
    return Finding("no-ring", "error", message)


def approximately_hung(face: Face, done: Mounted, web: float) -> Mounted:
    """Hang a draft: its rings are about where they will be, and nothing is widened."""
    if done.lettering is None or face.ring is None:
        return done
    found = hang(done.lettering.region, bore=face.ring, web=web, at=face.ring_at)
    return _with(done, replace(done.lettering, region=found.region, rings=found.rings))


def _finish(order: Order, face: Face, lettering: Lettering, keys: LetteringKeys, sheet: MaterialKeys) -> Finish:
    """Give what makes webs and necks of lettering with rings as good as those without: within its room, and near what
    was added."""
    crevice, bears = max(LEAST_FILLET, sheet.kerf.widest / 2), allowable(sheet.name)
    room = room_to_widen(order, face, lettering, keys)

    def finish(whole: Region) -> Region:
        thick = thicken(whole, keys.min_web, crevice=crevice, kerf=sheet.kerf.widest).region
        if bears is None or lettering.neck is None or not keys.strengthen:
            return thick
        near = offset(difference(whole, lettering.region), TIE_ROOM * keys.min_web)
        return stronger(thick, keys, sheet, REMEASURED * bears, union(room, near)).region

    return finish


def _with(done: Mounted, lettering: Lettering, findings: tuple[Finding, ...] = ()) -> Mounted:
    """Give a name with this lettering, which is all that is cut of it."""
    (part,) = done.parts
    return replace(
        done, lettering=lettering, located=lettering, parts=(replace(part, region=lettering.region),), findings=findings
    )
