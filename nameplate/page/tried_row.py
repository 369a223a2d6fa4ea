"""A row of the list as it would be with other cells: its order and its picture, before anything is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from nameplate.errors import NameplateError
from nameplate.findings import errors_in
from nameplate.job.kept_plates import at_size
from nameplate.model import Order
from nameplate.page.drawing import DrawingRoom
from nameplate.page.edits import NameList
from nameplate.page.opened import JobView, text_of, view_with
from nameplate.plates.line_orders import lettered_columns
from nameplate.plates.orders import make_orders
from nameplate.roster.delimited_text import CellTable
from nameplate.roster.reader import rows_of
from nameplate.roster.rewrite import Place
from nameplate.roster.rules import quoted
from nameplate.system.file_names import jig_stems

#: The id of a plate that is not in the list yet.
NEW = "new"

#: What is said of a plate whose row or ticket changes nothing of what was cut.
AS_CUT = "it was cut, and stays as it was cut"


@dataclass(frozen=True, slots=True)
class TriedRow:
    """A row as it would be: a job of its plate alone, by the plate's id; or why it cannot be made. What is to be said
    of one that was cut is in `looks`."""

    plate: str
    view: JobView | None = None
    problems: tuple[str, ...] = ()
    looks: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """What stands for its picture; empty where it has none."""
        return "" if self.view is None else self.view.keys.get(self.plate, "")


def tried_row(view: JobView, names: NameList, row: int, cells: Mapping[Place, str], room: DrawingRoom) -> TriedRow:
    """Order a row (0: a new one) with some cells changed. One of a batch of one size has the size that the batch has by
    now, as far as the `room` has drawn it; one that was cut is shown so unless its text is another."""
    there = next((order for order in view.orders if order.row == row), None)
    plate = there.id if there else NEW
    if plate in view.on and not cells:
        return TriedRow(plate, view)
    try:
        table = _table(names, row or len(names.table.rows) + 1, cells)
        shown = lettered_columns(view.ticket)
        read = rows_of(table, names.path.name, designs=bool(view.ticket.designs), lettered=shown)
        roster = replace(read, rows=tuple(replace(own, hold=False) for own in read.rows))
        made = make_orders(roster, view.ticket)
    except NameplateError as error:
        return TriedRow(plate, problems=error.problems)
    if not made.orders:
        return TriedRow(plate, problems=errors_in((*roster.findings, *made.findings)))
    cut_as = view.retold.get(plate, "")
    if plate in view.on:
        as_cut = view.on[plate].plate.order
        if as_cut.texts == made.orders[0].texts:
            return TriedRow(plate, view, looks=(AS_CUT,))
        cut_as = text_of(as_cut)
    looks = (told_again(cut_as),) if cut_as and cells else ()
    stem = jig_stems([(plate, made.orders[0].name)])[0]
    order = _of_one_size(replace(made.orders[0], id=plate, stem=stem), view, room)
    return TriedRow(plate, view_with(view, order), looks=looks)


def told_again(cut_as: str) -> str:
    """Say what is shown of a plate that was cut with another text."""
    return f"cut as {quoted(cut_as)}; shown as it would be made again, in Make; what was cut stays as it is until then"


def _table(names: NameList, row: int, cells: Mapping[Place, str]) -> CellTable:
    """Give the list with one row alone below its headings, some cells changed."""
    rows: list[list[str]] = [[] for _ in range(max(row, len(names.table.rows)))]
    for number, own in enumerate(names.table.rows, 1):
        if number in (names.header.row, row):
            rows[number - 1] += own
    for (number, column), text in cells.items():
        changed = rows[number - 1]
        changed += [""] * (column - len(changed))
        changed[column - 1] = text
    return CellTable(tuple(map(tuple, rows)))


def _of_one_size(order: Order, view: JobView, room: DrawingRoom) -> Order:
    """Give an order the size and the baseline that its batch has, where that is of one size and drawn already."""
    if not view.is_of_one_size(order):
        return order
    if order.design in view.cut_sizes:
        return at_size(order, *view.cut_sizes[order.design])
    others = (o.id for o in view.anew.values() if o.design == order.design and o.size is None)
    known = (room.known(view.keys[plate]) for plate in others)
    sized = next((drawn for drawn in known if drawn and drawn.baseline is not None), None)
    return order if sized is None else replace(order, size=order.size or sized.size, baseline=sized.baseline)
