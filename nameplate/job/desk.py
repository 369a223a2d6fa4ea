"""Where a run finds what was cut before, and where what it makes is written down together with the out folder.

The record and the out folder change together: see `nameplate.record.runs`. While a run works, it is the only one that
writes the record; where there is none yet, it is made at the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from nameplate.cut.expectation import DropIn
from nameplate.cut.kept_entries import entries_document
from nameplate.cut.nominal_file import PartEntry, Same, sheet_entry
from nameplate.errors import NameplateError, RecordError
from nameplate.job.bundles import Recorded
from nameplate.job.holdings import LARGEST_SUMMARY, SUMMARY, own_record
from nameplate.job.kept_plates import EVERYTHING, FIRST, Before, Wish
from nameplate.job.looks import look_of_shared
from nameplate.job.prepare import Batch
from nameplate.job.sheets import MadeSheet
from nameplate.nest.offcuts import offcut_document
from nameplate.nest.sheets import kind_count
from nameplate.record.approvals import EMPTY_BOOK, read_sign_book
from nameplate.record.clock import user
from nameplate.record.kept import read_kept, read_planned, state_of
from nameplate.record.plate_json import KeptParts, KeptPlate, compressed
from nameplate.record.plate_list import known_plates
from nameplate.record.runs import (
    NewRun,
    NewSheet,
    NewVersion,
    make_good,
    settled_reading,
    settled_writing,
    taken_back,
    written_down,
)
from nameplate.record.store import Say, Store, reading, writing
from nameplate.system.grouping import grouped
from nameplate.system.reading import shown

#: Sheets named in a message.
MOST_SHEETS = 8

#: The state of a record in which nothing was ever done.
UNTOUCHED = (0, 0, 0, 0, 0)


class Desk:
    """Stands where no record is kept: nothing was cut before, and nothing is written down."""

    def __init__(self, before: Before = FIRST) -> None:
        self.before = before

    def check(self, out: Path) -> None:
        """Look whether an earlier run in `out` is one that this desk knows."""

    def files_that_were_cut(self) -> Iterator[tuple[str, bytes]]:
        """Yield the files of sheets that were cut, by their names under the out folder."""
        yield from ()

    def made(
        self, batch: Batch, sheets: Sequence[MadeSheet], drop_ins: Sequence[DropIn], recorded: Sequence[Recorded]
    ) -> None:
        """Take down what a run made."""

    def ready(self, stage: Path, out: Path) -> None:
        """Write it down: `stage` is complete, and about to take the place of `out`."""

    def in_place(self, out: Path) -> None:
        """Make it good: the finished folder is in its place, or where `out` says."""


NO_DESK = Desk()


class RecordDesk(Desk):
    """Keeps a record. `store` is open for writing where there is one already; a new one is made in `path`."""

    def __init__(self, path: Path, store: Store | None, wish: Wish, *, who: str, say: Say, stack: ExitStack) -> None:
        super().__init__(before_in(store, wish))
        self.path, self._store, self._who, self._say, self._stack = path, store, who, say, stack
        self._run, self._number = NewRun(), 0

    def check(self, out: Path) -> None:
        """Raise RecordError where sheets in `out` were cut, and the record knows of no sheet: it is not that job's."""
        if self._store is not None and self._store.row("SELECT 1 FROM sheets"):
            return
        if cut := _cut_in(out):
            raise RecordError(
                f"{shown(out)} has sheets that were cut ({', '.join(cut[:MOST_SHEETS])}), and no record here knows of "
                f"them: put {self.path.name} back, or make it anew from the folder with nameplate record rebuild; to "
                "begin the job anew, choose another folder with -o"
            )

    def files_that_were_cut(self) -> Iterator[tuple[str, bytes]]:
        """Yield the files of sheets that were cut; raises RecordError where the record has lost them."""
        for sheet in self.before.kept.sheets:
            for name in sheet.files:
                assert self._store is not None
                yield name, self._store.file(sheet.number, name)

    def made(
        self, batch: Batch, sheets: Sequence[MadeSheet], drop_ins: Sequence[DropIn], recorded: Sequence[Recorded]
    ) -> None:
        """Take down what a run made."""
        entries = {part.same: part for own in recorded for part in own.parts}
        self._run = NewRun(
            plates=() if batch.listed is None else tuple(batch.listed.entries),
            versions=dict(_versions(batch, sheets, drop_ins)),
            sheets=tuple(_sheet(batch, own, entries) for own in sheets),
            again=batch.superseded,
            taken_over=tuple(sorted(batch.taken_over)),
        )

    def ready(self, stage: Path, out: Path) -> None:
        """Write the run down as pending, and go on as the only writer; raises RecordError when that cannot be."""
        if self._store is None and not self._open_new():
            return
        store = self._store
        assert store is not None
        if state_of(store) != (self.before.kept.state or UNTOUCHED):
            raise RecordError(
                f"another command changed {shown(self.path)} while this run worked; nothing was changed, run it again"
            )
        self._number = written_down(store, self._run, stage, out, who=self._who)
        store.commit()
        store.begin()

    def in_place(self, out: Path) -> None:
        """Make the run good; raises RecordError when the disk does not allow it, and the next command will do it."""
        if self._store is not None and self._number:
            try:
                make_good(self._store, self._number, out=out)
                self._store.commit()
            except RecordError as error:
                self._number = 0
                text = f"the finished files are in {shown(out)}, and the next command completes the record"
                raise RecordError([*error.problems, text]) from error
            self._number = 0

    def leave(self) -> None:
        """Take back what was written down of a run that did not get its place."""
        if self._store is not None:
            self._store.roll_back()
            if self._number:
                with suppress(NameplateError), self._store.transaction():
                    taken_back(self._store, self._number)

    def _open_new(self) -> bool:
        """Make a record; where none can be, that is said, and the run does without: a first run needs none."""
        try:
            self._store = self._stack.enter_context(writing(self.path, say=self._say))
            self._store.begin()
        except RecordError as error:
            with suppress(OSError):
                if self.path.stat().st_size:
                    raise
            self._store = None
            self._say(f"no record of this job is kept, so nothing can be marked as cut: {'; '.join(error.problems)}")
        return self._store is not None


@contextmanager
def desk_of(record: Path | None, wish: Wish, *, say: Say) -> Iterator[Desk]:
    """Give the desk of a job that keeps this record, or none; raises RecordError when it cannot be used."""
    if record is None:
        yield Desk(Before(wish=wish))
        return
    with ExitStack() as stack:
        store = None
        with reading(record) as there:
            known = there is not None
        if known:
            store = stack.enter_context(settled_writing(record, say=say))
            store.begin()
        desk = RecordDesk(record, store, wish, who=user(), say=say, stack=stack)
        try:
            yield desk
        finally:
            desk.leave()


def before_of(record: Path | None, wish: Wish = EVERYTHING) -> Before:
    """Give what was cut of a job, without writing anything; raises RecordError when its record cannot be used."""
    if record is None:
        return Before(wish=wish)
    with settled_reading(record) as store:
        return before_in(store, wish)


def before_in(store: Store | None, wish: Wish = EVERYTHING) -> Before:
    """Give what an open record has of a job, nothing where there is none yet; raises RecordError."""
    if store is None:
        return Before(wish=wish, book=EMPTY_BOOK)
    return Before(read_kept(store), wish, known_plates(store), read_sign_book(store), read_planned(store))


def _cut_in(out: Path) -> list[str]:
    """Name the sheets that were cut before the run in a folder, as that run says; none where no run can be read."""
    sheets = own_record(out / SUMMARY, LARGEST_SUMMARY).get("sheets")
    every = sheets if isinstance(sheets, list) else []
    return [str(sheet.get("file")) for sheet in every if isinstance(sheet, dict) and sheet.get("state") == "cut"]


# --- what a run made ------------------------------------------------------------------------------------------------


def _versions(
    batch: Batch, sheets: Sequence[MadeSheet], drop_ins: Sequence[DropIn]
) -> Iterator[tuple[str, NewVersion | int]]:
    """Yield by plate what its pieces on new sheets are of: what was cut of it before, or what it is now."""
    going_on, laid = batch.going_on, {at.plate for own in sheets for at in own.task.layout.placements}
    into = grouped((drop_in.outer[0], drop_in) for drop_in in drop_ins)
    fits = {name: tuple(own) for name, own in into.items()}
    for work in batch.works:
        plate, name = work.plate, work.plate.order.id
        if name in laid and work.on:
            yield name, going_on[name]
        elif name in laid:
            yield name, NewVersion.of(dict(batch.looks[name]), KeptPlate(plate, work.drawn, fits.get(name, ())))
    for design, own in batch.shared.items():
        for name in dict.fromkeys(part.plate for part in own.parts if part.plate in laid):
            parts = tuple(part for part in own.parts if part.plate == name)
            look = look_of_shared(parts, batch.contexts[design])
            yield name, going_on.get(name) or NewVersion.of(look, KeptParts(parts, fits.get(name, ())))


def _sheet(batch: Batch, made: MadeSheet, entries: Mapping[Same, PartEntry]) -> NewSheet:
    rest, expected, layout, stock = made.cut.rest, made.expected, made.task.layout, batch.ticket.stock
    is_on_hand = layout.on_hand and 0 <= layout.stock < len(stock)
    return NewSheet(
        layout,
        expected.kerf.widest,
        made.figures,
        compressed(entries_document(sheet_entry(expected), entries)),
        files=tuple(made.cut.digests),
        rest=None if rest is None else offcut_document(rest),
        on_hand=kind_count(stock[layout.stock]) if is_on_hand else 0,
    )
