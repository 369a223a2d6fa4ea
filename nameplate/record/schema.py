"""The tables of a record, and how an older record becomes one of today.

Terms. A *run* is one `make`. A *version* is a plate as one run made it, with its outlines; the parts that a batch
shares have versions too, under their own names. A *piece* is one physical piece of a version. A *mark* is what somebody
said happened.

A planned sheet belongs to one run and goes with it; a sheet that was cut stays and moves on to the newest run, whose
out folder has it. Times are in UTC.
"""

from __future__ import annotations

#: What the file says it is, in the header of the database: "npRC".
APPLICATION_ID = 0x6E705243

_FIRST = """
CREATE TABLE plates (
    id TEXT PRIMARY KEY,
    position INTEGER NOT NULL,
    name TEXT NOT NULL,
    texts TEXT NOT NULL,
    design TEXT NOT NULL DEFAULT '',
    text_digest TEXT NOT NULL DEFAULT '',
    look_digest TEXT NOT NULL DEFAULT '',
    current INTEGER NOT NULL DEFAULT 1 CHECK (current IN (0, 1))
) STRICT;

CREATE TABLE runs (
    id INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    out TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('pending', 'current', 'past')),
    files_digest TEXT NOT NULL,
    plates TEXT NOT NULL,
    again TEXT NOT NULL DEFAULT '[]'
) STRICT;

CREATE TABLE versions (
    id INTEGER PRIMARY KEY,
    plate TEXT NOT NULL,
    run INTEGER NOT NULL REFERENCES runs (id),
    look TEXT NOT NULL,
    made BLOB,
    superseded INTEGER NOT NULL DEFAULT 0 CHECK (superseded IN (0, 1))
) STRICT;

CREATE INDEX versions_of_plates ON versions (plate);

CREATE TABLE approvals (
    id INTEGER PRIMARY KEY,
    plate TEXT NOT NULL,
    text_digest TEXT NOT NULL,
    look_digest TEXT NOT NULL,
    who TEXT NOT NULL,
    at TEXT NOT NULL,
    withdrawn TEXT
) STRICT;

CREATE TABLE sheets (
    id INTEGER PRIMARY KEY,
    run INTEGER NOT NULL REFERENCES runs (id),
    file TEXT NOT NULL,
    material TEXT NOT NULL,
    number INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('planned', 'cut')),
    layout TEXT NOT NULL,
    kerf REAL NOT NULL,
    figures TEXT NOT NULL,
    nominal BLOB NOT NULL,
    on_hand INTEGER NOT NULL DEFAULT 0,
    UNIQUE (run, file)
) STRICT;

CREATE TABLE files (
    sheet INTEGER NOT NULL REFERENCES sheets (id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    digest TEXT NOT NULL,
    data BLOB NOT NULL,
    PRIMARY KEY (sheet, name)
) STRICT;

CREATE TABLE pieces (
    id INTEGER PRIMARY KEY,
    version INTEGER NOT NULL REFERENCES versions (id),
    plate TEXT NOT NULL,
    kind TEXT NOT NULL,
    copy INTEGER NOT NULL,
    layer INTEGER NOT NULL,
    sheet INTEGER NOT NULL REFERENCES sheets (id) ON DELETE CASCADE,
    state TEXT NOT NULL CHECK (state IN ('planned', 'cut', 'spoiled', 'fitted', 'hung')),
    UNIQUE (sheet, plate, kind, copy, layer)
) STRICT;

CREATE INDEX pieces_of_versions ON pieces (version);

CREATE TABLE offcuts (
    sheet INTEGER PRIMARY KEY REFERENCES sheets (id) ON DELETE CASCADE,
    name TEXT NOT NULL,
    outline TEXT NOT NULL,
    rectangle TEXT NOT NULL
) STRICT;

CREATE TABLE marks (
    id INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    who TEXT NOT NULL,
    what TEXT NOT NULL,
    before TEXT NOT NULL,
    undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1))
) STRICT;
"""

#: How a plate was to look, each time that this changed, and what stood in its row, by which it is found again.
_LOOKS = """
ALTER TABLE plates ADD COLUMN listed TEXT NOT NULL DEFAULT '';
ALTER TABLE plates ADD COLUMN cells TEXT NOT NULL DEFAULT '';

CREATE TABLE looks (
    id INTEGER PRIMARY KEY,
    plate TEXT NOT NULL,
    digest TEXT NOT NULL,
    look TEXT NOT NULL,
    at TEXT NOT NULL
) STRICT;

CREATE INDEX looks_of_plates ON looks (plate);
"""

#: Of which parts (kind, layer) a version of a plate is made: what is not laid is missed by that.
_PARTS = "ALTER TABLE versions ADD COLUMN parts TEXT NOT NULL DEFAULT '[]';"

#: Who withdrew an approval.
_WITHDRAWN = "ALTER TABLE approvals ADD COLUMN withdrawn_by TEXT NOT NULL DEFAULT '';"

#: Pieces (plate, kind, copy, layer) that were cut of plates that a run makes anew, and that these go on with.
_TAKEN_OVER = "ALTER TABLE runs ADD COLUMN taken_over TEXT NOT NULL DEFAULT '[]';"

#: When a proof that is to be signed was last made of a look; empty of one that only runs and other commands had.
_PROOF = "ALTER TABLE looks ADD COLUMN proof TEXT NOT NULL DEFAULT '';"

#: What that proof shows of it, as JSON; empty where none does.
_SHOWN = "ALTER TABLE looks ADD COLUMN shown TEXT NOT NULL DEFAULT '';"

#: Statements that lead from each version to the next: the first make an empty record. `user_version` counts how many
#: were taken. What was released is never changed; what is new is one more.
MIGRATIONS: tuple[str, ...] = (_FIRST, _LOOKS, _PARTS, _WITHDRAWN, _TAKEN_OVER, _PROOF, _SHOWN)
