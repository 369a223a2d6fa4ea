"""The worklist: which piece lies where, which template sets it, and where the plate hangs - as a table and on paper."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.geometry import region as rg
from nameplate.geometry.region import Region
from nameplate.model import Face, Part, PartKind, Plate
from nameplate.nest.layout import Layout, Placement, SheetLayout
from nameplate.paperwork.pages import render
from nameplate.paperwork.pictures import PlatePictures, plate_pictures, sheet_picture
from nameplate.ticket.cautions import CAUTIONS
from nameplate.ticket.checks import MOUNT_MATERIALS

#: The table's own columns. `x_mm` and `y_mm` are the middle of the piece on its sheet, from the lower left corner;
#: `turn_deg` is how far it lies turned counter-clockwise.
COLUMNS: tuple[str, ...] = (
    "plate",
    "name",
    "line2",
    "copy",
    "copies",
    "status",
    "sheet",
    "x_mm",
    "y_mm",
    "turn_deg",
    "jig",
    "jig_sheet",
    "position",
    "row",
    "piece",
)

#: What the pieces of a plate are called on paper, where it has several.
_PIECES = {"lettering": "name", "blank": "plaque"}

#: The column that has all lines of a plate, where any plate has lines of their own style.
LINES = "lines"

#: The column that has those of them that are scored on its plaque, where any plate has such lines.
SCORED = "scored"

#: A spreadsheet program takes a cell that begins so for a formula.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")

_PLAIN_NUMBER = re.compile(r"[-+]?[0-9]+(?:[.,][0-9]+)?")

#: Mounts with a piece of lettering, which is glued on.
GLUED = frozenset(mount for mount, materials in MOUNT_MATERIALS.items() if "lettering" in materials)

#: Width of a sheet's map and box of a plate's picture on paper (mm).
_MAP_WIDTH = 180.0
_PICTURE = (34.0, 24.0)


def worklist_rows(plates: Sequence[Plate], layout: Layout, files: Sequence[str]) -> list[dict[str, str]]:
    """Return one row for every piece of lettering and every plaque, and one for every plate that could not be made.

    ``files`` names the cut file of each sheet of the layout, in its order. Columns of the roster that mean nothing to
    the program follow the table's own; one of the same heading gets "(list)" behind it. Where there are designs, one
    of the table's own, `design`, follows the others.
    """
    places = _places(layout, files)
    headings = _extra_headings(plates)
    own = [(plate, _more_columns(plates, plate)) for plate in plates]
    return [{**row, **more, **_extras(plate, headings)} for plate, more in own for row in _rows(plate, places)]


def _more_columns(plates: Sequence[Plate], plate: Plate) -> dict[str, str]:
    """Return the cells of a plate in columns that not every batch has: lines of their own, designs."""
    styled, designs = any(p.order.styled for p in plates), any(p.order.design for p in plates)
    lines = {LINES: " / ".join(plate.order.texts)} if styled else {}
    if any(line.scored for p in plates for line in p.order.styled):
        lines[SCORED] = " / ".join(line.text for line in plate.order.styled if line.text and line.scored)
    return {**lines, **({"design": plate.order.design} if designs else {})}


Place = tuple[str, Placement]


def _places(layout: Layout, files: Sequence[str]) -> dict[tuple[str, str], list[Place]]:
    """Return where the pieces of each plate and kind lie, copies in order."""
    found: dict[tuple[str, str], list[Place]] = {}
    for file, sheet in zip(files, layout.sheets, strict=True):
        for at in sheet.placements:
            found.setdefault((at.plate, at.kind), []).append((file, at))
    for places in found.values():
        places.sort(key=lambda p: (p[1].copy, p[1].layer))
    return found


def _rows(plate: Plate, places: Mapping[tuple[str, str], list[Place]]) -> Iterator[dict[str, str]]:
    order = plate.order
    shared = {
        "plate": order.id,
        "name": order.name,
        "line2": order.line2,
        "copies": str(order.copies),
        "position": order.position,
        "row": str(order.row),
    }
    empty = dict.fromkeys(COLUMNS, "")
    parts: dict[str, Part] = {part.kind: part for part in plate.parts}
    pieces = [(kind, p) for kind in _PIECES for p in places.get((order.id, kind), [])]
    if plate.lettering is None or not pieces:
        yield {**empty, **shared, "status": "held" if order.hold else "refused"}
        return
    templates = list(dict.fromkeys(file for file, _ in places.get((order.id, "template"), [])))
    jig = {"jig": str(plate.jig.get("file", "")), "jig_sheet": " ".join(templates)}
    for kind, (file, at) in pieces:
        x, y = rg.bounds(_lying(parts[kind], at)).centre
        where = {"sheet": file, "x_mm": f"{x:.1f}", "y_mm": f"{y:.1f}", "turn_deg": f"{at.turn:g}"}
        yield {**empty, **shared, "copy": str(at.copy), "status": "made", "piece": kind, **where, **jig}


def _lying(part: Part, at: Placement) -> Region:
    return rg.moved(part.region, at.x, at.y, turn=at.turn)


def _extra_headings(plates: Sequence[Plate]) -> dict[str, str]:
    """Return the table's heading for each extra column of the roster."""
    names = dict.fromkeys(heading for plate in plates for heading, _ in plate.order.extra)
    headings: dict[str, str] = {}
    for name in names:
        heading = name
        while heading in (*COLUMNS, LINES, SCORED) or heading in headings.values():
            heading += " (list)"
        headings[name] = heading
    return headings


def _extras(plate: Plate, headings: Mapping[str, str]) -> dict[str, str]:
    values = dict(plate.order.extra)
    return {heading: values.get(name, "") for name, heading in headings.items()}


def worklist_csv(plates: Sequence[Plate], layout: Layout, files: Sequence[str]) -> str:
    """Return the worklist as CSV."""
    rows = worklist_rows(plates, layout, files)
    return csv_text(list(rows[0]) if rows else COLUMNS, rows)


def csv_text(headings: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
    """Return a table as CSV (RFC 4180) that spreadsheet programs open with every letter right.

    It starts with a byte order mark, by which they see UTF-8; a cell that they would run as a formula gets an
    apostrophe in front, plain numbers do not.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([safe_cell(h) for h in headings])
    writer.writerows([safe_cell(row[h]) for h in headings] for row in rows)
    return "\ufeff" + text.getvalue()


def safe_cell(text: str) -> str:
    """Return a cell that no spreadsheet program takes for a formula.

    >>> safe_cell("=1+1"), safe_cell("-Ada"), safe_cell("-2,5"), safe_cell("Ada"), safe_cell("")
    ("'=1+1", "'-Ada", '-2,5', 'Ada', '')
    """
    if text.lstrip(" ").startswith(_FORMULA_STARTS) and not _PLAIN_NUMBER.fullmatch(text):
        return "'" + text
    return text


def worklist_html(
    plates: Sequence[Plate],
    layout: Layout,
    files: Sequence[str],
    faces: Mapping[str, Face],
    *,
    title: str,
    findings: Sequence[Finding] = (),
    shared: Sequence[Part] = (),
    carriers: Mapping[str, Mapping[str, object]] | None = None,
) -> Iterator[str]:
    """Give, piece by piece, the worklist as a page to print: cautions, a map of every sheet, a picture of every plate.

    ``faces`` and ``carriers`` are by design. ``shared`` are the parts on the sheets that belong to no plate (the
    carriers of the jigs); a carrier is told by its record: its layers and what it needs besides.
    ``findings`` of refused rows are shown beside them, besides the plate's own.
    """
    from markupsafe import Markup

    rows = worklist_rows(plates, layout, files)
    draw = {name: plate_pictures(face, width=_PICTURE[0], height=_PICTURE[1]) for name, face in faces.items()}
    by_row: dict[int | None, list[Finding]] = {}
    for finding in findings:
        by_row.setdefault(finding.row, []).append(finding)
    by_id = {p.order.id: p for p in plates if p.lettering is not None}
    made = _finished(rows, by_id)
    lying = [*(part for plate in plates for part in plate.parts), *shared]
    parts = {(part.plate, part.kind, part.layer): part for part in lying}
    maps = (
        {"file": file, "about": _about(sheet), "picture": Markup(_map(sheet, parts, file))}
        for file, sheet in zip(files, layout.sheets, strict=True)
    )
    values = {
        "title": title,
        "cautions": CAUTIONS,
        "maps": maps,
        "sheets": len(layout.sheets),
        "made": made,
        "names": _PIECES,
        "ways": _ways(made, faces, carriers or {}),
        "picture": lambda plate: Markup(_picture(by_id[plate], draw)),
        "refused": [
            (p.order, ("on hold, as the list has it",) if p.order.hold else _reasons(p, by_row.get(p.order.row, ())))
            for p in plates
            if p.lettering is None
        ],
    }
    return render("worklist.html", values)


@dataclass(frozen=True, slots=True)
class FinishedPlate:
    """One copy of a plate on paper: the rows of its pieces, and what the list has besides; whether it is glued."""

    design: str
    pieces: tuple[Mapping[str, str], ...]
    extra: tuple[tuple[str, str], ...]
    glued: bool


def _finished(rows: Sequence[Mapping[str, str]], by_id: Mapping[str, Plate]) -> list[FinishedPlate]:
    """Put the rows of each copy of a plate that is made together, in their order."""
    found: dict[tuple[str, str], list[Mapping[str, str]]] = {}
    for row in rows:
        if row["status"] == "made":
            found.setdefault((row["plate"], row["copy"]), []).append(row)
    plates = [(by_id[plate].order, own) for (plate, _), own in found.items()]
    return [FinishedPlate(o.design, tuple(own), _from_the_list(own[0]), o.mount in GLUED) for o, own in plates]


@dataclass(frozen=True, slots=True)
class OrderOfWork:
    """What the order of work of a design hangs on."""

    design: str
    plaques: bool
    templates: bool
    glued: bool
    carrier: Mapping[str, object] | None


def _ways(
    made: Sequence[FinishedPlate], faces: Iterable[str], carriers: Mapping[str, Mapping[str, object]]
) -> list[OrderOfWork]:
    """Give the order of work of each design that has a plate; that of the ticket alone where none has."""
    used = [name for name in faces if any(plate.design == name for plate in made)] or [""]
    ways = []
    for name in used:
        own = [plate for plate in made if plate.design == name]
        rows = [row for plate in own for row in plate.pieces]
        plaques, templates = any(row["piece"] == "blank" for row in rows), any(row["jig"] for row in rows)
        ways.append(OrderOfWork(name, plaques, templates, any(plate.glued for plate in own), carriers.get(name)))
    return ways


def _picture(plate: Plate, draw: Mapping[str, PlatePictures]) -> str:
    assert plate.lettering is not None
    return draw[plate.order.design].of(plate.lettering, plate.order.name)


def _from_the_list(row: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return the roster's extra columns that say something about a row."""
    return tuple(
        (heading, value) for heading, value in row.items() if heading not in (*COLUMNS, LINES, SCORED) and value
    )


def _map(sheet: SheetLayout, parts: Mapping[tuple[str, PartKind, int], Part], file: str) -> str:
    pieces = [(at.plate, _lying(parts[at.plate, at.kind, at.layer], at)) for at in sheet.placements]
    return sheet_picture(sheet.width, sheet.height, pieces, f"map of {file}", paper_width=_MAP_WIDTH)


def _about(sheet: SheetLayout) -> str:
    count = len(sheet.placements)
    return f"{sheet.material}, {sheet.width:g} x {sheet.height:g} mm, {count} piece{'' if count == 1 else 's'}"


def _reasons(plate: Plate, findings: Sequence[Finding]) -> tuple[str, ...]:
    """Give the errors of a plate: its own, and those among the findings of its row."""
    return tuple(dict.fromkeys(f.message for f in (*plate.findings, *findings) if f.severity == "error"))
