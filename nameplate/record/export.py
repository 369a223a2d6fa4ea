"""What a record knows, for other programs and for safe keeping: all of it as JSON, or its pieces as a table.

The JSON has every table with all of its columns, what only this program can read (outlines, the bytes of files) in
base64 (RFC 4648): a lost record is put back from it without a loss.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from nameplate.errors import RecordError
from nameplate.record.schema import MIGRATIONS
from nameplate.record.store import Store, well_formed
from nameplate.system.reading import read_json, shown
from nameplate.system.spreadsheets import csv_text
from nameplate.system.writing import json_text

#: Version of the exported document; fields are only ever added. The first had not all columns.
VERSION = 2

#: The tables of a record; each names rows only of those before it.
TABLES = ("plates", "looks", "approvals", "runs", "versions", "sheets", "files", "pieces", "offcuts", "marks")

#: Columns that hold JSON, and are exported as what that holds.
_JSON = frozenset({"texts", "look", "figures", "rectangle"})

#: The largest export that is read (bytes): some 10,000 plates, at 40 kB each.
LARGEST = 500_000_000

#: Headings of the table of pieces.
COLUMNS = ("plate", "name", "kind", "copy", "layer", "state", "sheet", "sheet_state", "made", "superseded")


def record_json(store: Store) -> str:
    """Give everything as JSON text; raises RecordError."""
    document: dict[str, Any] = {"version": VERSION, "record": len(MIGRATIONS)}
    for table in TABLES:
        rows = store.rows(f"SELECT * FROM {table} ORDER BY rowid")
        with well_formed(store.path):
            document[table] = [{k: _exported(k, row[k]) for k in row.keys()} for row in rows]  # noqa: SIM118 - a row is no dict
    return json_text(document)


def _exported(column: str, value: Any) -> Any:  # noqa: ANN401 - JSON
    if isinstance(value, bytes):
        return base64.b64encode(value).decode("ascii")
    return json.loads(value) if column in _JSON else value


def put_back(store: Store, file: Path) -> None:
    """Fill an empty record with all that an export of one has; raises RecordError where the file is none."""
    name = shown(file)
    document = read_json(file, LARGEST, RecordError, what="the export of a record")
    if not isinstance(document, dict) or not all(isinstance(document.get(table), list) for table in TABLES):
        raise RecordError(f"{name} is no export of a record: nameplate record export writes one")
    if document.get("version") != VERSION or document.get("record") not in range(1, len(MIGRATIONS) + 1):
        raise RecordError(
            f"{name} was exported by another version of this program (version {document.get('version')} of exports, "
            f"{document.get('record')} of records; this one reads {VERSION} and {len(MIGRATIONS)}); use that version, "
            "or rebuild the record from its out folder"
        )
    with store.transaction():
        for table in TABLES:
            blobs = {row["name"] for row in store.rows(f"PRAGMA table_info({table})") if row["type"] == "BLOB"}
            for number, row in enumerate(document[table], 1):
                try:
                    _put_row(store, table, row, blobs)
                except (RecordError, ValueError, AttributeError, TypeError) as error:
                    raise RecordError(f"{name}: {table}, entry {number} is none of a record ({error})") from error


def _put_row(store: Store, table: str, row: Mapping[str, Any], blobs: set[str]) -> None:
    values = {column: _value(column, value, blobs) for column, value in row.items()}
    if strange := [column for column in values if not column.isidentifier()]:
        raise ValueError(f"no column is called {strange[0]}")
    marks = ", ".join("?" * len(values))
    store.change(f"INSERT INTO {table} ({', '.join(values)}) VALUES ({marks})", tuple(values.values()))


def _value(column: str, value: Any, blobs: set[str]) -> Any:  # noqa: ANN401 - JSON
    """Give a value of an export as its column has it."""
    if column in blobs and value is not None:
        return base64.b64decode(value, validate=True)
    return json.dumps(value, ensure_ascii=False) if column in _JSON else value


def pieces_csv(store: Store) -> str:
    """Give a row for every piece as CSV; `made` is when the run was that made it. Raises RecordError."""
    rows = store.rows(
        "SELECT pieces.plate, ifnull(plates.name, ''), kind, copy, layer, pieces.state, sheets.file, sheets.state, "
        "runs.at, versions.superseded FROM pieces JOIN sheets ON sheets.id = pieces.sheet "
        "JOIN versions ON versions.id = pieces.version JOIN runs ON runs.id = versions.run "
        "LEFT JOIN plates ON plates.id = pieces.plate ORDER BY pieces.plate, kind, layer, copy"
    )
    return csv_text(COLUMNS, [dict(zip(COLUMNS, map(str, tuple(row)), strict=True)) for row in rows])
