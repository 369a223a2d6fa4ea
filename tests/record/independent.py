"""An independent look at a record and its out folder: sqlite3, json and sha256 alone, none of the program's code."""

import csv
import hashlib
import json
import sqlite3
import zlib
from contextlib import closing


def sha(data):
    return hashlib.sha256(data).hexdigest()


def look(record):
    """A connection that shows rows by the names of their columns."""
    connection = sqlite3.connect(record)
    connection.row_factory = sqlite3.Row
    return closing(connection)


def faults(record, out):
    """What is wrong between a record and an out folder, a sentence each; nothing when they tell the same."""
    with look(record) as db:
        return list(_faults(db, out))


def _faults(db, out):
    if (found := db.execute("PRAGMA integrity_check").fetchone()[0]) != "ok":
        yield f"the database is damaged: {found}"
    if db.execute("PRAGMA foreign_key_check").fetchall():
        yield "a row names another that is not there"
    runs = db.execute("SELECT * FROM runs WHERE state <> 'past'").fetchall()
    if [run["state"] for run in runs] != ["current"]:
        yield f"the runs are {[run['state'] for run in runs]}"
        return
    listed = json.loads((out / "files.json").read_text(encoding="utf-8"))["files"]
    if sha((out / "files.json").read_bytes()) != runs[0]["files_digest"]:
        yield "the folder is not the current run's"
    there = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file()} - {"files.json"}
    if there != set(listed):
        yield f"other files lie there than are listed: {there ^ set(listed)}"
    yield from (f"{name} is another" for name in there & set(listed) if sha((out / name).read_bytes()) != listed[name])
    yield from _pieces(db, out, runs[0]["id"])


def _pieces(db, out, run):
    layout = json.loads((out / "layout.json").read_text(encoding="utf-8"))
    lying = {}
    for sheet in layout["sheets"]:
        file = f"cut/{sheet['material']}-{sheet['number']:02d}.svg"
        lying[file] = sorted((p["plate"], p["kind"], p["copy"], p["layer"]) for p in sheet["placements"])
    known = {}
    for sheet in db.execute("SELECT * FROM sheets"):
        if sheet["run"] != run:
            yield f"{sheet['file']} is of a run that is over"
        pieces = db.execute("SELECT plate, kind, copy, layer FROM pieces WHERE sheet = ?", (sheet["id"],))
        known[sheet["file"]] = sorted(map(tuple, pieces))
        for file in db.execute("SELECT * FROM files WHERE sheet = ?", (sheet["id"],)):
            kept = zlib.decompress(file["data"])
            if not sha(kept) == file["digest"] == sha((out / file["name"]).read_bytes()):
                yield f"{file['name']} is not what the record has"
    if lying != known:
        yield f"the layout has {lying}, the record {known}"
    every = [piece for own in known.values() for piece in own]
    if len(every) != len(set(every)):
        yield "a piece lies in two places"


def states(record):
    """What became of every piece."""
    with look(record) as db:
        rows = db.execute("SELECT plate, kind, copy, layer, state FROM pieces ORDER BY 1, 2, 3, 4")
        return {tuple(row)[:4]: row["state"] for row in rows}


def fingerprint(record, out, roster):
    """What must be the same before and after a command that did nothing: all but times."""
    with look(record) as db:
        marks = [row["what"] for row in db.execute("SELECT what FROM marks WHERE NOT undone ORDER BY id")]
        signed = db.execute("SELECT plate, look_digest, who, withdrawn_by FROM approvals ORDER BY id")
        approvals = list(map(tuple, signed))
    files = sha((out / "files.json").read_bytes())
    return files, states(record), marks, approvals, sha(roster.read_bytes())


def lost_rows(record, roster):
    """Rows of a list (the first column is its name) that the record does not know as the plate of their place: it has
    neither their text nor their cells."""
    with roster.open(encoding="utf-8", newline="") as file:
        names = [row[0] for row in list(csv.reader(file))[1:]]
    with look(record) as db:
        plates = db.execute("SELECT listed, cells FROM plates WHERE current ORDER BY id").fetchall()
    known = [{plate["listed"], *map(str, json.loads(plate["cells"]))} for plate in plates]
    return [name for name, texts in zip(names, known, strict=True) if name not in texts]
