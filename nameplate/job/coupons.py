"""Leaves a coupon in a folder: its cut files, read back and burned virtually, and the page that goes with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from nameplate.cut.coupons import CouponKind, coupon_sheet, kerf_parts, web_parts
from nameplate.cut.laid_sheet import LaidSheet, check_laid, laid_svg
from nameplate.cut.machine import CutPen
from nameplate.cut.read_back import read_sheet
from nameplate.jig.ladder import ladder_parts
from nameplate.job.out_folder import Placed, check_folder, staged, write_file
from nameplate.paperwork.coupon_page import coupon_page
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.materials import GLUED, JIG_MATERIALS, needed_materials
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import MaterialKeys


def leave_coupon(
    kind: CouponKind, out: Path, ticket: Ticket, materials: Mapping[str, MaterialKeys], key: str, placed: Placed
) -> tuple[str, ...]:
    """Leave a coupon of the material `key` in the folder `out`, or leave `out` as it was; give the names of its files.

    The `ticket` says how it is drawn and what it is called. The fit ladder takes that of the templates, too. Raises
    OutputError when `out` is not ours to write or holds what another command left, GeometryError where a kerf is too
    wide for the coupon, and InspectionError where a file that was written does not burn to the coupon.
    """
    said = check_folder(out, page="coupon.html")
    pen, title = CutPen.of(ticket.colours, ticket.machine), ticket.job.title
    sheets = coupon_sheets(kind, materials, key)
    keys = {sheet.material: materials[sheet.material] for sheet in sheets.values()}
    with staged(out, placed=placed, said=said) as stage:
        for name, sheet in sheets.items():
            write_file(stage, name, laid_svg(sheet, pen, title=title))
            check_laid(read_sheet(stage / name), sheet, pen, name)
        write_file(stage, "coupon.html", coupon_page(kind, sheets, keys, title=title))
    return (*sheets, "coupon.html")


def coupon_sheets(kind: CouponKind, materials: Mapping[str, MaterialKeys], key: str) -> Mapping[str, LaidSheet]:
    """Give the sheets of a coupon by the names of their files."""
    if kind == "kerf":
        return {f"kerf-{key}.svg": coupon_sheet(kerf_parts(key), kerf=0.0)}
    if kind == "web":
        return {f"web-{key}.svg": coupon_sheet(web_parts(key), kerf=materials[key].kerf)}
    parts = (replace(part, material=key) if part.material == "lettering" else part for part in ladder_parts())
    return {f"fit-{part.material}.svg": coupon_sheet((part,), kerf=materials[part.material].kerf) for part in parts}


def coupon_materials(kind: CouponKind, ticket: Ticket) -> tuple[str, ...]:
    """Give the materials that names of the ticket and of its designs are cut from, for a fit those that go into a jig.

    >>> from nameplate.ticket.schema import LetteringKeys
    >>> pierced = Ticket(lettering=LetteringKeys(mount="pierced"))
    >>> coupon_materials("web", pierced), coupon_materials("fit", pierced), coupon_materials("fit", Ticket())
    (('blank',), (), ('lettering',))
    """
    tickets = [one for one in tickets_of(ticket) if kind != "fit" or _goes_by_jig(one)]
    return tuple(dict.fromkeys(needed_materials(one)[0] for one in tickets))


def _goes_by_jig(ticket: Ticket) -> bool:
    """Tell whether names of a ticket are glued on by a jig that is cut."""
    glued = ticket.lettering.mount in GLUED and not ticket.face.stands_free
    return glued and ticket.jig.style in JIG_MATERIALS
