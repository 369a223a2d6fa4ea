"""A lost record made anew from an out folder, as far as that tells.

Sheets, their files, pieces and remainders, the plates with their outlines and their states, and who approved which look
are all there; pieces of a plate that was made anew since have a version of their own, as they were spelt and cut. What
is not: marks made since the last run and who made any; what was approved or withdrawn since; how plates were to look
before they were changed; and by which keys of the ticket a plate was made: such a plate is never said to differ from
it, but for its text. An export of the record (`export.py`) has all of that.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import TypeAlias

from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.kept_entries import entries_document
from nameplate.cut.nominal_file import RECORD, part_entries, sheet_entry
from nameplate.cut.nominal_file import Record as RunRecord
from nameplate.cut.read_nominal import read_record
from nameplate.errors import RecordError
from nameplate.geometry.lie import UNMOVED
from nameplate.model import Lettering, LinePlace, Order, Part, Plate
from nameplate.nest.layout import REST_OF, Layout, PieceKey, SheetLayout
from nameplate.nest.offcuts import remainder_table
from nameplate.nest.stored import read_layout
from nameplate.record.ids import KnownPlate, listed_text
from nameplate.record.plate_json import KeptParts, KeptPlate, compressed
from nameplate.record.plate_list import PlateEntry, plate_entry
from nameplate.record.runs import NewRun, NewSheet, NewVersion, make_good, put_version, written_down
from nameplate.record.states import ORDER
from nameplate.record.store import Store
from nameplate.system.digests import LIST, digest_if_there
from nameplate.system.grouping import grouped
from nameplate.system.reading import read_json, read_regular, shown
from nameplate.system.spreadsheets import safe_cell
from nameplate.system.writing import Json
from nameplate.ticket.schema import ENDINGS

#: A version of a plate that is made anew since: what it was, and its pieces.
_Superseded: TypeAlias = tuple[NewVersion, Sequence[PieceKey]]

#: The largest files of a run that are read (bytes): as large as those of 20,000 names.
LARGEST = 500_000_000

#: Words of the worklist for pieces that cannot be used: the record has them as spoiled, but for those of a plate that
#: was made anew, whose version is known.
ANEW = "made anew"
LOST = frozenset({"spoiled", ANEW})


@dataclass(frozen=True, slots=True)
class _Row:
    """What the worklist says of a piece: what became of it, and the cells of its name and second line."""

    status: str
    cells: tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Folder:
    """What an out folder tells: its files' digests, figures, layout, what it must burn to, remainders by name, and the
    rows of the worklist by plate, kind and copy."""

    files: Mapping[str, str]
    summary: Json
    layout: Layout
    nominal: RunRecord
    rests: Mapping[str, Json]
    rows: Mapping[tuple[str, str, int], _Row]


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What an out folder told: how many pieces, sheets that were cut, and approvals; plates whose approvals it did not
    tell, and plates that were cut, of which nobody knows by which keys."""

    pieces: int
    cut: int
    approvals: int
    unsigned: tuple[str, ...]
    begun: tuple[str, ...]


def rebuild(store: Store, out: Path, *, who: str) -> Rebuilt:
    """Fill an empty record from an out folder; raises NameplateError where that was changed since, or is none."""
    folder = _read(out)
    try:
        run = _run(folder)
        superseded = tuple(_superseded(folder))
        states, approvals = _states(folder, superseded), list(_approvals(folder))
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise RecordError(f"{shown(out / 'summary.json')} is no summary of a run ({error!r})") from error
    with store.transaction():
        number = written_down(store, run, out, out, who=who)
        make_good(store, number)
        _keep_superseded(store, number, superseded)
        cut = [s["file"] for s in folder.summary["sheets"] if s.get("state") == "cut"]
        store.change_each("UPDATE sheets SET state = 'cut' WHERE file = ?", [(file,) for file in cut])
        store.change_each(
            "UPDATE pieces SET state = ? WHERE plate = ? AND kind = ? AND copy = ? AND layer = ?",
            [(state, *key) for key, state in states.items()],
        )
        store.change_each(
            "INSERT INTO approvals (plate, text_digest, look_digest, who, at) VALUES (?, '', ?, ?, ?)", approvals
        )
    told, begun = ({plate for plate, *_ in known} for known in (approvals, states))
    plates = [plate for plate in folder.summary["plates"] if plate["row"]]
    return Rebuilt(
        sum(len(sheet.layout.placements) for sheet in run.sheets),
        len(cut),
        len(approvals),
        tuple(plate["id"] for plate in plates if plate.get("approved") and plate["id"] not in told),
        tuple(plate["id"] for plate in plates if plate["id"] in begun),
    )


def _approvals(folder: _Folder) -> Iterator[tuple[str, str, str, str]]:
    """Yield plate, digest of the look, who and when of every approval."""
    every = ((plate["id"], one) for plate in folder.summary["plates"] for one in plate.get("approvals", ()))
    return ((str(plate), str(one["look"]), str(one["who"]), str(one["at"])) for plate, one in every)


def _read(out: Path) -> _Folder:
    listed = read_json(out / LIST, LARGEST, RecordError, what="the list of a run's files")
    files = listed.get("files") if isinstance(listed, dict) else None
    if not isinstance(files, dict):
        raise RecordError(f"{shown(out / LIST)} lists no files; name the out folder of a run")
    changed = [name for name, wanted in sorted(files.items()) if digest_if_there(out / name) != wanted]
    if changed:
        raise RecordError([f"{shown(out / name)} was changed since the run, or is missing" for name in changed])
    summary = read_json(out / "summary.json", LARGEST, RecordError, what="the summary of a run")
    offcuts = read_json(out / "offcuts.json", LARGEST, RecordError, what="what is left of the sheets of a run")
    worklist = read_regular(out / "worklist.csv", LARGEST, RecordError, what="the worklist of a run")
    try:
        rests = {rest["name"]: rest for rest in offcuts.get("offcuts", ())}
    except (KeyError, TypeError, AttributeError) as error:
        raise RecordError(f"{shown(out / 'offcuts.json')} is no list of what a run left ({error!r})") from error
    try:
        rows = {
            (row["plate"], row["piece"], int(row["copy"])): _Row(row["status"], (row["name"], row["line2"]))
            for row in csv.DictReader(io.StringIO(worklist.decode("utf-8-sig")))
            if row["copy"]
        }
    except (KeyError, TypeError, ValueError, csv.Error) as error:
        told = type(error).__name__ if isinstance(error, UnicodeDecodeError) else repr(error)
        raise RecordError(f"{shown(out / 'worklist.csv')} is no worklist of a run ({told})") from error
    return _Folder(files, summary, read_layout(out / "layout.json"), read_record(out / RECORD), rests, rows)


def _sheets(folder: _Folder) -> Iterator[tuple[SheetLayout, SheetExpectation]]:
    """Yield the sheets that were handed over, and what must be left of each."""
    expected = dict(folder.nominal.sheets)
    return ((sheet, expected[sheet.file]) for sheet in folder.layout.sheets if sheet.file in expected)


def _run(folder: _Folder) -> NewRun:
    plates = {plate["id"]: plate for plate in folder.summary["plates"]}
    drops = grouped((drop_in.outer[0], drop_in) for drop_in in folder.nominal.drop_ins)
    drawings = dict(folder.nominal.jigs)
    versions = {}
    for name, parts in _parts(_expected(folder)).items():
        fits, plate = tuple(drops.get(name, ())), plates.get(name)
        if plate is None or not plate["lettering"]:
            versions[name] = NewVersion.of({"shared": True}, KeptParts(parts, fits))
        else:
            versions[name] = _version(KeptPlate(_plate(plate, parts), _drawn(plate, parts, drawings), fits))
    listed = [plate for plate in plates.values() if plate["row"]]
    return NewRun(
        tuple(_listed(plate, place) for place, plate in enumerate(listed)),
        versions,
        tuple(_sheet(folder, sheet, expected) for sheet, expected in _sheets(folder)),
    )


def _sheet(folder: _Folder, sheet: SheetLayout, expected: SheetExpectation) -> NewSheet:
    forms = [sheet.file.removesuffix(ENDINGS["svg"]) + ending for ending in ENDINGS.values()]
    entries = {entry.same: entry for entry in part_entries(expected.parts)}
    rest = folder.rests.get(REST_OF + sheet.name)
    return NewSheet(
        sheet,
        expected.kerf.widest,
        next(told for told in folder.summary["sheets"] if told["file"] == sheet.file),
        compressed(entries_document(sheet_entry(expected), entries)),
        files=tuple(name for name in forms if name in folder.files),
        rest=rest and remainder_table(rest["name"], sheet.material, rest["rectangle"], rest["outline"]),
    )


def _states(folder: _Folder, superseded: Sequence[_Superseded]) -> dict[PieceKey, str]:
    """Give the state of every piece on a sheet that was cut."""
    anew = {key for _, pieces in superseded for key in pieces}
    told = _told(folder).items()
    lost = {key for key, said in told if said in LOST and not (said == ANEW and key in anew)}
    return {key: "spoiled" if key in lost else said if said in ORDER[1:] else "cut" for key, said in told}


def _told(folder: _Folder) -> dict[PieceKey, str]:
    """Give what the folder says of every piece on a sheet that was cut."""
    cut = {s["file"]: s.get("pieces", ()) for s in folder.summary["sheets"] if s.get("state") == "cut"}
    told = {(p["plate"], p["kind"], p["copy"], p["layer"]): p["state"] for own in cut.values() for p in own}
    lying = [at for sheet, _ in _sheets(folder) if sheet.file in cut for at in sheet.placements]
    rows = {at.key: folder.rows.get((at.plate, at.kind, at.copy)) for at in lying}
    return {key: told.get(key) or (row.status if row else "cut") for key, row in rows.items()}


# --- plates that were made anew -------------------------------------------------------------------------------------


def _superseded(folder: _Folder) -> Iterator[_Superseded]:
    """Yield by plate and spelling what was cut before the plate was made anew.

    That is what is told so, and what is spelt otherwise; what has no name on it goes with the first that has.
    """
    plates = {plate["id"]: plate for plate in folder.summary["plates"] if plate["lettering"]}
    texts: dict[str, list[tuple[str, str]]] = {}
    nameless, pieces = [], {}
    for key, said in _told(folder).items():
        row, plate = folder.rows.get(key[:3]), plates.get(key[0])
        if plate is None or (said != ANEW and (row is None or row.cells == _cells(plate))):
            continue
        if row is None:
            nameless.append(key)
        else:
            pieces[key] = row.cells
            texts.setdefault(key[0], []).append(row.cells)
    pieces |= {key: texts[key[0]][0] for key in nameless if key[0] in texts}
    for (plate_id, cells), keys in grouped(((key[0], cells), key) for key, cells in pieces.items()).items():
        own = _parts((part, material) for part, material in _expected(folder) if part.key in keys)[plate_id]
        name, line2 = map(_uncelled, cells)
        as_cut = plates[plate_id] | {"name": name, "line2": line2, "jig": None}
        yield _version(KeptPlate(_plate(as_cut, own))), keys


def _keep_superseded(store: Store, run: int, superseded: Sequence[_Superseded]) -> None:
    """Put versions of plates that were made anew into a record that has their pieces."""
    for version, pieces in superseded:
        number = put_version(store, run, pieces[0][0], version)
        store.change("UPDATE versions SET superseded = 1 WHERE id = ?", (number,))
        store.change_each(
            "UPDATE pieces SET version = ? WHERE plate = ? AND kind = ? AND copy = ? AND layer = ?",
            [(number, *key) for key in pieces],
        )


def _cells(plate: Json) -> tuple[str, str]:
    """Give the cells of a plate's name and second line as a worklist has them."""
    return safe_cell(plate["name"]), safe_cell(plate["line2"])


def _uncelled(cell: str) -> str:
    """Give the text of a cell, without what guards it from being run as a formula.

    >>> _uncelled("'=Ada"), _uncelled("'Ada"), _uncelled("Ada"), _uncelled("")
    ('=Ada', "'Ada", 'Ada', '')
    """
    bare = cell.removeprefix("'")
    return bare if safe_cell(bare) == cell else cell


# --- plates ---------------------------------------------------------------------------------------------------------


def _version(kept: KeptPlate) -> NewVersion:
    """Give a version of a plate, of which nobody knows by which keys it was made."""
    return NewVersion.of({"text": [text for text in (kept.plate.order.name, kept.plate.order.line2) if text]}, kept)


def _expected(folder: _Folder) -> Iterator[tuple[ExpectedPart, str]]:
    """Yield every part that lies on a sheet, with the material of the sheet."""
    return ((part, sheet.material) for sheet, expected in _sheets(folder) for part in expected.parts)


def _parts(lying: Iterable[tuple[ExpectedPart, str]]) -> dict[str, tuple[Part, ...]]:
    """Give parts that lie on sheets of a material, by plate, each as its newest copy was made."""
    copies = grouped((own[0].part_id, own) for own in lying).values()
    newest = [max(own, key=lambda one: one[0].copy) for own in copies]
    waste = {part.plate for part, _ in newest if part.is_waste}
    found = (
        _part(part, material, "template" if part.kind == "lettering" and part.plate in waste else "")
        for part, material in newest
    )
    return {plate: tuple(own) for plate, own in grouped((part.plate, part) for part in found).items()}


def _part(part: ExpectedPart, material: str, cut_from: str = "") -> Part:
    """Give a part in plate coordinates."""
    lie = part.at or UNMOVED
    return Part(
        part.plate,
        part.kind,
        material,
        lie.region_back(part.region),
        marks=lie.lines_back(part.marks or ()),
        layer=part.layer,
        is_waste=part.is_waste,
        cut_from=cut_from,
    )


def _drawn(plate: Json, parts: Sequence[Part], drawings: Mapping[str, SheetExpectation]) -> Part | None:
    """Give the part of a jig that is only drawn."""
    drawing = drawings.get((plate["jig"] or {}).get("file", ""))
    if drawing is None or len(drawing.parts) != 1:
        return None
    (own,) = drawing.parts
    cut = {(part.kind, part.layer) for part in parts if not part.is_waste}
    return None if (own.kind, own.layer) in cut else _part(own, "template")


def _listed(plate: Json, place: int) -> PlateEntry:
    order = Order(plate["id"], plate["row"], plate["name"], plate["line2"], design=plate["design"])
    return plate_entry(KnownPlate(order.id, listed_text(order.name, order.line2), "", place), order)


def _plate(plate: Json, parts: Sequence[Part]) -> Plate:
    told, lines = plate["lettering"], plate["lines"]
    jig = plate["jig"] or {}
    order = Order(
        id=plate["id"],
        row=plate["row"],
        name=plate["name"],
        line2=plate["line2"],
        copies=plate["copies"],
        fonts=tuple(dict.fromkeys(line["font"] for line in lines)) or ("",),
        position=plate["position"],
        mount=plate["mount"],
        extra=tuple(plate["extra"].items()),
        stem=PurePosixPath(jig.get("file", "")).stem,
        design=plate["design"],
    )
    shape = next((part for kind in ("lettering", "blank") for part in parts if part.kind == kind), parts[0])
    lettering = Lettering(
        region=shape.region,
        size=told["size"],
        letter_height=told["letter_height"],
        lines=tuple(told["lines"]),
        pieces=told["pieces"],
        baselines=tuple(told["baselines"]),
        placed=(plate["placed"]["dx"], plate["placed"]["dy"]),
        of_largest=plate["placed"]["of_largest"],
        line_places=tuple(LinePlace(line["font"], line["size"], line["x"], line["y"]) for line in lines),
        legibility=told["legibility"],
        weakest_letter=told["weakest_letter"] or "",
    )
    return Plate(order, lettering, tuple(parts), jig=jig)
