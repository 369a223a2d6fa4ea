"""`nameplate approve`: who signed off which plates, and the corrections that came back with a proof."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from nameplate.errors import RecordError, RosterError
from nameplate.findings import counted
from nameplate.job.desk import before_in, before_of
from nameplate.job.kept_plates import Before, cut_otherwise
from nameplate.job.sign_off import ListedJob, numbering_of, read_list
from nameplate.record.approvals import EMPTY_BOOK, SignBook, approve, withdraw
from nameplate.record.clock import now
from nameplate.record.ids import listed_row
from nameplate.record.look import look_digest
from nameplate.record.plate_list import PlateEntry, keep_corrected, keep_plates
from nameplate.record.plate_lists import plates_among, plates_in_words
from nameplate.record.runs import settled_writing
from nameplate.record.store import Say
from nameplate.roster.corrections import corrected, read_corrections
from nameplate.roster.reader import read_bytes, table_of
from nameplate.roster.reader import rows_of as roster_of
from nameplate.system.grouping import grouped
from nameplate.system.interrupts import deferred
from nameplate.system.reading import shown
from nameplate.system.writing import write_bytes_atomic
from nameplate.ticket.schema import Ticket


def approve_plates(
    ticket: Ticket, record: Path, given: Sequence[str], *, by: str, say: Say, but: Sequence[str] = ()
) -> tuple[str, ...]:
    """Keep that somebody approved some plates as they are ordered now: those given, or all that can be made `but` some.

    Gives what is to be said. Raises RecordError with every plate that cannot be approved, and what reading the list
    raises.
    """
    who = " ".join(by.split())
    with settled_writing(record, say=say) as store, store.transaction():
        before = before_in(store)
        job = read_list(ticket, before)
        ids = _to_approve(job, given, but)
        seen = {plate: looks[-1].digest for plate, looks in (before.book or EMPTY_BOOK).seen.items()}
        keep_plates(store, _entries(job, before, approved=ids), now())
        new = approve(store, {plate: job.looks[plate] for plate in ids}, who=who, at=now())
    unseen = [plate for plate in ids if seen.get(plate) != look_digest(job.looks[plate])]
    asked = frozenset(ids)
    otherwise = cut_otherwise((order for order in job.orders.orders if order.id in asked), before.kept)
    left = sum(not job.signs[plate].by and plate not in asked for plate in job.looks)
    waiting = f"{left} of {len(job.looks)} plates wait for an approval" if left else ""
    every = "every plate that can be made is approved"
    return (*_said(ids, new, who), *_remarks(unseen, otherwise), waiting or every)


def withdraw_plates(ticket: Ticket, record: Path, given: Sequence[str], *, by: str, say: Say) -> tuple[str, ...]:
    """Keep that somebody withdrew their own approvals of some plates, of every one where none is given.

    Gives what is to be said. Raises RecordError for what is no plate, or was not approved by them.
    """
    who = " ".join(by.split())
    with settled_writing(record, say=say) as store, store.transaction():
        before = before_in(store)
        job = read_list(ticket, before)
        ids, problems = plates_among(given, [plate.id for plate in job.orders.listed])
        had = withdraw(store, ids if given else list(job.signs), who=who, at=now())
        own = frozenset(had)
        others = [plate for plate in ids if plate not in own]
        problems += tuple(_not_theirs(others, before.book or EMPTY_BOOK, who))
        if problems:
            raise RecordError(problems)
    return (f"{who} withdrew the approval of {plates_in_words(had)}" if had else f"{who} has approved no plate",)


def _not_theirs(plates: Sequence[str], book: SignBook, who: str) -> Iterator[str]:
    """Say which plates somebody has not approved, and who has."""
    signers = {plate: dict.fromkeys(approval.who for _, approval in book.signed.get(plate, ())) for plate in plates}
    for names, own in grouped((", ".join(others), plate) for plate, others in signers.items()).items():
        told = f"it is approved by {names}, who can withdraw that (--by)" if names else "nobody has"
        yield f"{plates_in_words(own)}: {who} has no approval there to withdraw; {told}"


def _to_approve(job: ListedJob, given: Sequence[str], but: Sequence[str]) -> tuple[str, ...]:
    """Give the plates that are meant; raises RecordError for what is none, or cannot be made as the list has it."""
    every = [plate.id for plate in job.orders.listed]
    if not given:
        left_out, problems = plates_among(but, every)
        if problems:
            raise RecordError(problems)
        meant = tuple(plate for plate in job.looks if plate not in left_out)
        if not job.looks:
            raise RecordError("there is no plate to approve: none can be made as the list has it")
        if not meant:
            rest = plates_in_words(list(job.looks))
            raise RecordError(
                f"nothing is approved: --except leaves out all that can be made, {rest}; name fewer there"
            )
        return meant
    ids, problems = plates_among(given, every)
    held = {order.id for order in job.orders.held}
    for plate in (plate for plate in ids if plate not in job.looks):
        why = "is on hold" if plate in held else "cannot be made as the list has it (nameplate proof says why)"
        problems += (f"plate {plate} {why}, so nobody can have approved it",)
    if problems:
        raise RecordError(problems)
    return ids


def _said(ids: Sequence[str], new: Sequence[str], who: str) -> Iterator[str]:
    fresh = frozenset(new)
    yield f"{who} approved {plates_in_words(new)}" if new else f"{who} had approved {plates_in_words(ids)} already"
    if new and len(new) < len(ids):
        yield f"{plates_in_words([p for p in ids if p not in fresh])} had been approved by {who} already"


def _remarks(unseen: Sequence[str], otherwise: Sequence[str]) -> Iterator[str]:
    """Say of which approved plates nobody has seen a proof, and which were cut with another text."""
    if unseen:
        yield f"note: nobody has seen {plates_in_words(unseen)} on a proof as approved now; nameplate proof makes one"
    if otherwise:
        stay = "stays as it was" if len(otherwise) == 1 else "stay as they were"
        yield f"note: {plates_in_words(otherwise)} {stay} cut, with another text, until nameplate make --again"


def correct_list(ticket: Ticket, record: Path, file: Path, *, write: bool, say: Say) -> bool:
    """Say what a table of corrections changes in the list and, if told so, `write` it; tell whether it is as corrected.

    Plates keep their ids, however much their text changes: the record has the new texts before the list has them, and
    finds a plate by either. Raises RosterError with every correction that cannot be made, OutputError when the list
    cannot be written.
    """
    corrections = read_corrections(file)
    job = read_list(ticket, before_of(record))
    path = ticket.job.roster
    assert path is not None
    data = read_bytes(path)
    rows = {row.number: row for row in job.roster.rows}
    done = corrected(path, data, corrections, {order.id: rows[order.row] for order in job.orders.every})
    count = counted(len(done.changes), "correction")
    for change in done.changes:
        say(change.sentence)
    if not done.changes:
        say(f"{shown(path)} says all this already")
        return True
    if not write:
        say(f"nothing was written; --apply writes {count} into {shown(path)}")
        return False
    if done.data is None:
        raise RosterError(
            f"{shown(path)} is a spreadsheet and is not written: make the changes above in it and save it"
        )
    write_list(ticket, record, path, done.data, job, seen=False)
    say(f"{count} written into {shown(path)}")
    return True


def write_list(ticket: Ticket, record: Path, path: Path, data: bytes, job: ListedJob, *, seen: bool = True) -> None:
    """Write the list with cells changed, the record first: whenever this ends, the list as it lies there has its
    plates. The new bytes have the same rows as the list of the ``job``; ``seen`` tells whether who changed them saw
    the plates as they are now. Raises OutputError, RecordError, RosterError.
    """
    file = shown(Path(path.name))
    new = roster_of(table_of(data, path, file), file, designs=bool(ticket.designs)).rows
    texts = {plate.id: listed_row(new[plate.place or 0]).text for plate in job.orders.listed}
    _write(ticket, record, path, data, job, texts, seen=seen)


def write_other_rows(ticket: Ticket, record: Path, path: Path, data: bytes, job: ListedJob | None) -> None:
    """Write the list with other rows than that of the ``job`` (None: there was none), which the record keeps first:
    rows that stay are found by their cells, and no number is given twice. Raises as `write_list` does.
    """
    _write(ticket, record, path, data, job, {}, seen=True)


def _write(
    ticket: Ticket,
    record: Path,
    path: Path,
    data: bytes,
    job: ListedJob | None,
    texts: Mapping[str, str],
    *,
    seen: bool,
) -> None:
    """Write the list; `texts` are those that plates of the job are about to have."""
    with deferred(), settled_writing(record) as store:
        if job is not None:
            with store.transaction():
                keep_plates(store, _entries(job, before_in(store)), now())
                keep_corrected(store, texts)
        write_bytes_atomic(path, data)
        with store.transaction():
            before = before_in(store)
            entries = _entries(read_list(ticket, before), before)
            keep_plates(store, entries if seen else [{**entry, "look": ""} for entry in entries], now())


def _entries(job: ListedJob, before: Before, *, approved: Sequence[str] = ()) -> list[PlateEntry]:
    """Give what the record is to keep of the plates of a list.

    As long as it is asked which new row a plate is that has lost its own, that plate stays in the list, all plates
    where they stood, and new rows have no numbers there: kept as new plates, or with plates beside them that stood
    elsewhere, they would be asked about no more, or otherwise. One that is `approved` is a new plate, and so are all.
    """
    if not any(finding.code == "plate-left" for finding in job.findings):
        return job.entries
    numbering = numbering_of(job, before)
    open_plates = {numbering.ids[place] for place in numbering.new}
    if not open_plates or not open_plates.isdisjoint(approved):
        return job.entries
    stood = {plate.id: {"position": plate.place} for plate in before.known if plate.place is not None}
    entries = [{**entry, **stood.get(entry["id"], {})} for entry in job.entries if entry["id"] not in open_plates]
    return [*entries, *({"id": plate.id} for plate in numbering.lost)]
