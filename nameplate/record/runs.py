"""A run in the record: written down before its out folder takes its place, and made good or taken back afterwards.

Method: what a run made is written as *pending* together with the digest of its list of files, and that is committed;
then the folders change names; then the run becomes the current one. A command that finds a pending run of a process
that was killed looks at the out folder: where the list with that digest lies, the run came through and is made good,
else it is taken back. So record and folder always tell the same, whenever a process ends.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nameplate.errors import RecordError
from nameplate.nest.layout import Layout, PieceKey, SheetLayout, layout_to_json
from nameplate.record.clock import now
from nameplate.record.look import as_text
from nameplate.record.plate_json import KeptParts, KeptPlate, packed_parts, packed_plate, parts_of
from nameplate.record.plate_list import PlateEntry, keep_plates
from nameplate.record.store import Say, Store, TableRow, reading, well_formed, writing
from nameplate.system.digests import LIST, digest_if_there, digest_of_file
from nameplate.system.reading import shown
from nameplate.system.writing import Json

#: Makes a piece that was cut one of the version that a run makes of its plate.
_TAKE_OVER = """
UPDATE pieces SET version = versions.id FROM versions, sheets
WHERE pieces.plate = ? AND kind = ? AND copy = ? AND layer = ? AND versions.plate = pieces.plate AND versions.run = ?
AND sheets.id = pieces.sheet AND sheets.state = 'cut'
"""


@dataclass(frozen=True, slots=True)
class NewVersion:
    """A plate as a run makes it, or what a batch shares under one name: by what it was made, the bytes of it, and its
    parts (kind, layer)."""

    look: Json
    made: bytes
    parts: tuple[tuple[str, int], ...]

    @classmethod
    def of(cls, look: Json, kept: KeptPlate | KeptParts) -> NewVersion:
        """Give the version of what was made so."""
        if isinstance(kept, KeptPlate):
            return cls(look, packed_plate(kept), parts_of(kept.plate.parts))
        return cls(look, packed_parts(kept), parts_of(kept.parts))


@dataclass(frozen=True, slots=True)
class NewSheet:
    """A sheet that a run plans: the widest kerf on it (mm), its entry in the summary, its packed
    `entries_document`, its files by their names, and its remainder as an offcuts file has it.

    `on_hand` is how many of its kind the ticket has on hand, itself among them.
    """

    layout: SheetLayout
    kerf: float
    figures: Mapping[str, Any]
    nominal: bytes
    files: tuple[str, ...]
    rest: Json | None = None
    on_hand: int = 0


@dataclass(frozen=True, slots=True)
class NewRun:
    """What a run made. `versions` are by plate: a new one, or the number of the one that it goes on with.

    `plates` tells of every plate of the list; plates made `again` take the place of what was cut of them, but for
    pieces `taken_over`.
    """

    plates: tuple[PlateEntry, ...] = ()
    versions: Mapping[str, NewVersion | int] = field(default_factory=dict)
    sheets: tuple[NewSheet, ...] = ()
    again: tuple[str, ...] = ()
    taken_over: tuple[PieceKey, ...] = ()


def written_down(store: Store, run: NewRun, stage: Path, out: Path, *, who: str) -> int:
    """Put a run into the record as pending, within a transaction; `stage` has its files. Gives its number.

    Raises RecordError, or OSError when a file cannot be read.
    """
    told = (_text(run.plates), json.dumps(run.again), json.dumps(run.taken_over))
    number = store.change(
        "INSERT INTO runs (at, who, out, state, files_digest, plates, again, taken_over) "
        "VALUES (?, ?, ?, 'pending', ?, ?, ?, ?)",
        (now(), who, place_of(store, out), digest_of_file(stage / LIST), *told),
    )
    versions = {
        plate: what if isinstance(what, int) else put_version(store, number, plate, what)
        for plate, what in run.versions.items()
    }
    for sheet in run.sheets:
        _put_sheet(store, number, sheet, stage, versions)
    return number


def put_version(store: Store, run: int, plate: str, what: NewVersion) -> int:
    """Put a version of a plate into the record, within a transaction; gives its number."""
    return store.change(
        "INSERT INTO versions (plate, run, look, made, parts) VALUES (?, ?, ?, ?, ?)",
        (plate, run, as_text(what.look), what.made, json.dumps(what.parts)),
    )


def _put_sheet(store: Store, run: int, sheet: NewSheet, stage: Path, versions: Mapping[str, int]) -> None:
    layout, laid = layout_to_json(Layout((sheet.layout,))), sheet.layout
    told = (layout, sheet.kerf, _text(sheet.figures), sheet.nominal, sheet.on_hand)
    number = store.change(
        "INSERT INTO sheets (run, file, material, number, state, layout, kerf, figures, nominal, on_hand) "
        "VALUES (?, ?, ?, ?, 'planned', ?, ?, ?, ?, ?)",
        (run, laid.file, laid.material, laid.number, *told),
    )
    store.change_each(
        "INSERT INTO pieces (version, plate, kind, copy, layer, sheet, state) VALUES (?, ?, ?, ?, ?, ?, 'planned')",
        [(versions[at.plate], *at.key, number) for at in laid.placements],
    )
    for name in sheet.files:
        store.put_file(number, name, (stage / name).read_bytes())
    if (rest := sheet.rest) is not None:
        store.change(
            "INSERT INTO offcuts (sheet, name, outline, rectangle) VALUES (?, ?, ?, ?)",
            (number, rest["name"], _text(rest["outline"]), _text(rest["rectangle"])),
        )


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def make_good(store: Store, number: int, *, out: Path | None = None) -> None:
    """Let a pending run be the current one, within a transaction: its plan takes the place of the one before.

    `out` is where its files are in the end, where that is not where they were to be.
    """
    run = _pending(store, number)
    again = json.loads(run["again"])
    if out is not None:
        store.change("UPDATE runs SET out = ? WHERE id = ?", (place_of(store, out), number))
    store.change("UPDATE runs SET state = 'past', plates = '[]' WHERE state = 'current'")
    store.change("UPDATE runs SET state = 'current' WHERE id = ?", (number,))
    store.change("DELETE FROM sheets WHERE state = 'planned' AND run <> ?", (number,))
    store.change("UPDATE sheets SET run = ? WHERE state = 'cut'", (number,))
    store.change_each(_TAKE_OVER, [(*key, number) for key in json.loads(run["taken_over"])])
    store.change_each(
        "UPDATE versions SET superseded = 1 WHERE plate = ? AND run <> ?", [(plate, number) for plate in again]
    )
    store.change("DELETE FROM versions WHERE id NOT IN (SELECT version FROM pieces)")
    keep_plates(store, json.loads(run["plates"]), run["at"])


def taken_back(store: Store, number: int) -> None:
    """Forget a pending run, within a transaction."""
    _pending(store, number)
    store.change("DELETE FROM sheets WHERE run = ?", (number,))
    store.change("DELETE FROM versions WHERE run = ?", (number,))
    store.change("DELETE FROM runs WHERE id = ?", (number,))


def _pending(store: Store, number: int) -> TableRow:
    run = store.row("SELECT * FROM runs WHERE id = ? AND state = 'pending'", (number,))
    if run is None:
        raise RecordError(
            f"another command changed {shown(store.path)} in the moment in which this run was to take its place; "
            "nothing was changed, run it again"
        )
    return run


def settle(store: Store) -> None:
    """Decide about runs that were killed while they took their place, in a transaction of its own."""
    if not _open_runs(store):
        return
    with store.transaction():
        for run in _open_runs(store):  # another command may have settled it meanwhile
            if _lies_there(store, run):
                with well_formed(store.path):
                    make_good(store, run["id"])
            else:
                taken_back(store, run["id"])


@contextmanager
def settled_writing(path: Path, *, say: Say = lambda text: None) -> Iterator[Store]:
    """Give a record for writing, as `writing` does, once it is settled."""
    with writing(path, say=say) as store:
        settle(store)
        yield store


@contextmanager
def settled_reading(path: Path) -> Iterator[Store | None]:
    """Give a record for reading, as `reading` does, once it is settled."""
    with reading(path) as store:
        if store is None or not _open_runs(store):
            yield store
            return
    with settled_writing(path):
        pass
    with reading(path) as store:
        yield store


def _open_runs(store: Store) -> list[TableRow]:
    return store.rows("SELECT * FROM runs WHERE state = 'pending' ORDER BY id")


def _lies_there(store: Store, run: TableRow) -> bool:
    return digest_if_there(folder_of(store, run["out"]) / LIST) == str(run["files_digest"])


# --- where an out folder is -----------------------------------------------------------------------------------------


def place_of(store: Store, out: Path) -> str:
    """Give an out folder as the record has it: from the record's own folder, so that both may move together."""
    try:
        return Path(os.path.relpath(out.resolve(), store.path.resolve().parent)).as_posix()
    except ValueError:  # on another drive
        return out.resolve().as_posix()


def folder_of(store: Store, place: str) -> Path:
    """Give the out folder of such a place."""
    return store.path.resolve().parent / place


def last_out(record: Path) -> Path | None:
    """Give the out folder of the current run of a record; None where there is no record, or no run in it."""
    with settled_reading(record) as store:
        run = store and store.row("SELECT out FROM runs WHERE state = 'current'")
        return folder_of(store, run["out"]) if store and run else None
