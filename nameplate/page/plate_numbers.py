"""Rows of which the list does not say any more which plate they are: what may be answered, and the column that says it.

An answer is written into the column `id`, which the list gets where it has none, and with it the numbers of all other
rows: those of the record, of new rows those that they have in the order of the list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from nameplate.errors import RosterError
from nameplate.findings import row_ranges
from nameplate.job.sign_off import ListedJob
from nameplate.page.edits import NameList
from nameplate.record.ids import Numbering
from nameplate.roster.reader import id_key
from nameplate.roster.rewrite import Place
from nameplate.roster.rules import quoted

#: The column that has the numbers of plates.
ID = "id"

#: The findings that ask for it.
ASKING = frozenset(("which-plate", "plate-left"))


#: The answer that no row of the list is a plate any more of which that is asked.
NONE = "none"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked, beside the findings of a row or those of none: `answers` are by row and number what they say. A
    plate that is `lost` may be no row any more."""

    row: int | None
    said: str
    answers: Mapping[tuple[int, str], str]
    lost: str = ""


def asked_of(job: ListedJob, numbering: Numbering) -> Iterator[Asked]:
    """Yield what is asked: which plate a row is, and which new row is a plate that has lost its own."""
    rows = job.roster.rows
    free = _free(job, numbering)
    for question in numbering.questions:
        number = rows[question.place].number
        answers = {(number, plate.id): f"plate {plate.id} {quoted(plate.text)}" for plate in question.plates}
        own = next(free)
        answers[number, own] = f"a new plate, {own}"
        yield Asked(number, f"Row {number} {quoted(rows[question.place].name)} is", answers)
    new = [rows[place] for place in numbering.new]
    for plate in numbering.lost if new else ():
        answers = {(row.number, plate.id): f"row {row.number} {quoted(row.name)}" for row in new}
        said = f"Plate {plate.id} {quoted(plate.text)} is"
        yield Asked(new[0].number if len(new) == 1 else None, said, answers, plate.id)


def _free(job: ListedJob, numbering: Numbering) -> Iterator[str]:
    """Yield numbers for new plates, each once: from the next one on, written as that is."""
    given = {id_key(row.id) for row in job.roster.rows if row.id}
    digits = len(numbering.free)
    return (f"{n:0{digits}d}" for n in count(int(numbering.free)) if str(n) not in given)


def number_cells(
    names: NameList, job: ListedJob, asked: Sequence[Asked], given: Sequence[str]
) -> tuple[dict[Place, str], str]:
    """Give the cells that write some answers, each a row and a number, and the numbers of the other rows; and what they
    do in words. With NONE among the answers plates that are asked about are no row where nothing else is answered; else
    the rows that they may be have no number written, so that it is asked again.

    Raises RosterError where nothing is answered, or what nobody asked any more, or two answers contradict each other.
    """
    every = [answer for own in asked for answer in own.answers]
    answers = [answer for answer in every if f"{answer[0]} {answer[1]}" in given]
    if not any(given):
        raise RosterError("nothing was written: choose which plate the row is")
    told = {plate for _, plate in answers}
    left = [own for own in asked if own.lost and own.lost not in told]
    known = {f"{row} {plate}" for row, plate in answers} | ({NONE} if left else set())
    if set(filter(None, given)) - known:
        raise RosterError("nothing was written: the list does not ask any more what was answered; look at it again")
    if len({row for row, _ in answers}) < len(answers) or len(told) < len(answers):
        where = row_ranges(sorted({row for row, _ in answers}))
        raise RosterError(f"nothing was written: in the answers for {where} a row is two plates, or two rows are one")
    rows = job.roster.rows
    numbers = {rows[plate.place].number: plate.id for plate in job.orders.listed if plate.place is not None}
    perhaps = set() if NONE in given else {row for own in left for row, _ in own.answers}
    lacking = {n: numbers[n] for row in rows if (n := row.number) in numbers and not row.id and n not in perhaps}
    cells: dict[Place, str] = {}
    for row, plate in {**lacking, **dict(answers)}.items():
        cells |= names.setting(row, {ID: plate})
    said = [f"row {row} is plate {plate}" for row, plate in answers]
    gone = [f"no row is plate {own.lost}" for own in left if NONE in given]
    return cells, ", ".join((*said, *gone))
