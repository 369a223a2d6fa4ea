"""What a record knows, as plain values for other programs: all of it as JSON, or its pieces as a table.

What only this program can read (outlines, the bytes of files) stays in the record.
"""

from __future__ import annotations

import csv
import io
import json
from typing import Any

from nameplate.record.store import Store

#: Version of the exported document; fields are only ever added.
VERSION = 1

#: Columns of the record's tables that are let out.
_TABLES = {
    "plates": "id, position, name, texts, design, text_digest, look_digest, current",
    "approvals": "id, plate, text_digest, look_digest, who, at, withdrawn",
    "looks": "id, plate, digest, look, at",
    "runs": "id, at, who, out, state, files_digest",
    "versions": "id, plate, run, look, superseded",
    "sheets": "id, run, file, material, number, state, kerf, figures",
    "files": "sheet, name, digest",
    "pieces": "id, version, plate, kind, copy, layer, sheet, state",
    "offcuts": "sheet, name, rectangle",
    "marks": "id, at, who, what, undone",
}

#: Columns that hold JSON.
_JSON = frozenset({"texts", "look", "figures", "rectangle"})

#: Headings of the table of pieces.
COLUMNS = ("plate", "name", "kind", "copy", "layer", "state", "sheet", "sheet_state", "made", "superseded")


def record_json(store: Store) -> str:
    """Give everything as JSON text; raises RecordError."""
    document: dict[str, Any] = {"version": VERSION}
    for table, columns in _TABLES.items():
        rows = store.rows(f"SELECT {columns} FROM {table} ORDER BY 1, 2")
        document[table] = [{k: json.loads(row[k]) if k in _JSON else row[k] for k in row.keys()} for row in rows]  # noqa: SIM118 - a row is no dict
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def pieces_csv(store: Store) -> str:
    """Give a row for every piece as CSV (RFC 4180); `made` is when the run was that made it. Raises RecordError."""
    rows = store.rows(
        "SELECT pieces.plate, ifnull(plates.name, ''), kind, copy, layer, pieces.state, sheets.file, sheets.state, "
        "runs.at, versions.superseded FROM pieces JOIN sheets ON sheets.id = pieces.sheet "
        "JOIN versions ON versions.id = pieces.version JOIN runs ON runs.id = versions.run "
        "LEFT JOIN plates ON plates.id = pieces.plate ORDER BY pieces.plate, kind, layer, copy"
    )
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([_safe(value) for value in tuple(row)] for row in rows)
    return text.getvalue()


def _safe(value: object) -> object:
    """Keep a spreadsheet program from running a text as a formula."""
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")) else value
