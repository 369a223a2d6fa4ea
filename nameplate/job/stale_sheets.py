"""Planned sheets that are no longer as the list, the approvals and the marks have it: `make` would plan them anew.

Terms. A sheet is *stale* for a plate when one of its pieces should not be cut: the plate left the list, is on hold,
cannot be made or lost its approval; it is to look otherwise than the run made it; or, of a plate that goes on as it was
cut, its text was changed while no name of it is there to be used, or so many pieces stand by now that this one is one
too many (a mark as spoiled was undone).

Known limit: what no approval is of (the kerf, the jig, the nest) is not compared.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TypeAlias

from nameplate.job.desk import before_in
from nameplate.job.kept_plates import Before
from nameplate.job.sign_off import ListedJob, lacking, read_list
from nameplate.record.kept import STANDING
from nameplate.record.look import look_digest
from nameplate.record.marks import stem_of
from nameplate.record.plate_lists import plates_in_words
from nameplate.record.states import OF_THE_PLATE
from nameplate.record.store import Store, TableRow, well_formed
from nameplate.system.grouping import grouped
from nameplate.ticket.schema import Ticket

#: Pieces of plates whose version counts, with the run that made that and the one that planned their sheet.
_PIECES = """
SELECT pieces.plate, kind, layer, pieces.state, sheets.file, versions.run AS made, sheets.run AS planned
FROM pieces JOIN sheets ON sheets.id = pieces.sheet JOIN versions ON versions.id = pieces.version
WHERE NOT superseded AND json_extract(versions.look, '$.shared') IS NULL ORDER BY material, number, pieces.id
"""

#: By stale sheet the plates that make it so.
Stale: TypeAlias = Mapping[str, tuple[str, ...]]


def stale_of(ticket: Ticket, store: Store) -> Stale:
    """Give the stale sheets of a job; raises what reading the list raises, and RecordError."""
    before = before_in(store)
    return stale_sheets(read_list(ticket, before), store, before, ticket.job.approval)


def stale_sheets(job: ListedJob, store: Store, before: Before, approval: str) -> Stale:
    """Give the stale sheets of a job whose list was read; raises RecordError."""
    orders = {order.id: order for order in job.orders.orders}
    unsigned = {order.id for order in lacking(job, before)} if approval == "required" else set[str]()
    looks = _looks_of_run(store)
    changed = {plate for plate, look in job.looks.items() if looks.get(plate, "") not in ("", look_digest(look))}
    pieces = store.rows(_PIECES)
    begun = before.kept.begun
    retold = {plate for plate in begun.keys() & orders if begun[plate].lacks_name(orders[plate].texts)}
    surplus = _surplus(pieces, {plate: order.copies for plate, order in orders.items()})

    def is_stale(row: TableRow) -> bool:
        plate, goes_on = row["plate"], row["made"] < row["planned"]
        otherwise = plate in retold or surplus[_part(row)] > 0 if goes_on else plate in changed
        return row["state"] == "planned" and (plate not in orders or plate in unsigned or otherwise)

    stale = grouped(dict.fromkeys((stem_of(row["file"]), row["plate"]) for row in pieces if is_stale(row)))
    return {sheet: tuple(plates) for sheet, plates in stale.items()}


def _part(row: TableRow) -> tuple[str, str, int]:
    return row["plate"], row["kind"], row["layer"]


def _surplus(pieces: Sequence[TableRow], copies: Mapping[str, int]) -> Counter[tuple[str, str, int]]:
    """Count by part the pieces that stand or are planned, less those that are wanted of it: of a jig at least one."""
    found = Counter(_part(row) for row in pieces if row["state"] == "planned" or row["state"] in STANDING)
    for plate, kind, layer in found:
        found[plate, kind, layer] -= max(copies.get(plate, 0), kind not in OF_THE_PLATE)
    return found


def _looks_of_run(store: Store) -> dict[str, str]:
    """Give by plate the digest of how it was to look when the current run made it."""
    run = store.row("SELECT plates FROM runs WHERE state = 'current'")
    with well_formed(store.path):
        return {} if run is None else {plate["id"]: plate.get("look_digest", "") for plate in json.loads(run["plates"])}


def in_sentence(sheet: str, plates: Sequence[str]) -> str:
    """Say what a stale sheet is, and what to do.

    >>> in_sentence("lettering-02", ["004"])
    'lettering-02 was planned before plate 004 changed (its row, its approval or a mark); run nameplate make first'
    """
    its = "its row, its approval" if len(plates) == 1 else "their rows, their approvals"
    return f"{sheet} was planned before {plates_in_words(plates)} changed ({its} or a mark); run nameplate make first"
