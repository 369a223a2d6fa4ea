"""The ids of a list's plates.

A row without one has that of its plate in the record, and a new one a number of its own (`record/ids.py`), refused rows
included, so that a corrected row keeps its number. A row that may be several plates of the record is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeAlias

from nameplate.findings import Finding, row_ranges
from nameplate.record.ids import KnownPlate, Numbering, listed_row, number_rows
from nameplate.roster.reader import Row, fold
from nameplate.roster.rules import quoted

#: What became of plates by their ids, as said of them: `approved`, or `cut`.
Settled: TypeAlias = Mapping[str, str]

#: Of a job of which nothing is approved or cut.
NOTHING_SETTLED: Settled = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class PlateIds:
    """An id for each row that no other has, what is ``asked`` of rows, which plates are ``lost`` to it, and the rest as
    `Orders` has it."""

    ids: tuple[str, ...]
    asked: tuple[Finding, ...]
    listed: tuple[KnownPlate, ...]
    waiting: tuple[str, ...]
    lost: tuple[Finding, ...] = ()


def plate_ids(rows: Sequence[Row], known: Sequence[KnownPlate], settled: Settled) -> PlateIds:
    """Give rows their ids, by the plates of a record that are known.

    >>> plate_ids([Row(2, "Ada"), Row(3, "Bo", id="7")], (), {}).ids
    ('1', '7')
    """
    as_listed = [listed_row(row) for row in rows]
    numbering = number_rows(as_listed, known, settled)
    ids, listed, used = [], [], set[str]()
    for place, (row, own) in enumerate(zip(as_listed, numbering.ids, strict=True)):
        if own and fold(own) not in used:
            listed.append(KnownPlate(own, row.text, row.cells, place))
            ids.append(own)
        else:  # a repeated one gets its row behind it, which is refused anyway
            ids.append(f"{own or '?'} (row {rows[place].number})")
        used.add(fold(own))
    waiting = dict.fromkeys(plate.id for question in numbering.questions for plate in question.plates)
    asked, lost = tuple(_questions(rows, numbering, settled)), tuple(_lost(rows, numbering, settled))
    return PlateIds(tuple(ids), asked, tuple(listed), tuple(waiting), lost)


def ids_by_order(rows: Sequence[Row]) -> Iterator[Finding]:
    """Say which ids hang on the order of the list, where no record keeps them."""
    ids = number_rows([listed_row(row) for row in rows]).ids
    counted = [plate_id for row, plate_id in zip(rows, ids, strict=True) if not row.id]
    if counted:
        which = counted[0] if len(counted) == 1 else f"{counted[0]} to {counted[-1]}"
        text = (
            f"the numbers of {'a plate' if len(counted) == 1 else f'{len(counted)} plates'} ({which}) come from the "
            "order of the list, and change when it is sorted or a row is put in; add a column id that holds them"
        )
        yield Finding("ids-by-order", "note", text)


def _questions(rows: Sequence[Row], numbering: Numbering, settled: Settled) -> Iterator[Finding]:
    """Yield which plate of the record a row is, where it may be several, or a new one."""
    for question in numbering.questions:
        row = rows[question.place]
        plates = " or ".join(_told(plate, settled) for plate in question.plates)
        numbers = ", ".join(plate.id for plate in question.plates)
        text = (
            f"{quoted(row.name)}: is it {plates}, or a new plate? That cannot be told from the list any more; write "
            f"its number into a column id of this row ({numbers}, or {numbering.free} for a new plate)"
        )
        yield Finding("which-plate", "error", text, row=row.number)


def _lost(rows: Sequence[Row], numbering: Numbering, settled: Settled) -> Iterator[Finding]:
    """Yield which plates that were approved or cut have no row any more, and the rows that are new instead.

    Where no row is new, that a plate stays that was cut is said where it goes on.
    """
    rows_new = [rows[place] for place in numbering.new]
    for plate in numbering.lost:
        start = f"{_told(plate, settled)}: no row of the list is this plate any more"
        if rows_new:
            are, them = ("is a new plate", "it") if len(rows_new) == 1 else ("are new plates", "one of them")
            where = row_ranges([row.number for row in rows_new])
            text = (
                f"{start}, and {where} {are}; if {them} is meant to be this one, "
                f"write {plate.id} into a column id of its row before anything is cut"
            )
            yield Finding("plate-left", "warning", text, row=rows_new[0].number if len(rows_new) == 1 else None)
        elif settled[plate.id] == "approved":
            yield Finding("plate-left", "note", f"{start}; if it is to be made, put its row back")


def _told(plate: KnownPlate, settled: Settled) -> str:
    what = f" ({settled[plate.id]})" if plate.id in settled else ""
    return f"plate {plate.id} {quoted(plate.text)}{what}"
