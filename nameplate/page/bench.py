"""The bench: what is cut, spoiled, fitted and hung, read from the record and marked in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from nameplate.errors import RecordError
from nameplate.record.clock import user
from nameplate.record.marks import Wanted, in_words, last_mark, steps_of, take, undo
from nameplate.record.overview import SheetState, sheet_states
from nameplate.record.runs import settle, settle_record
from nameplate.record.store import Say, reading, writing

#: What can be ticked, in the order in which it is written.
TICKS: tuple[str, ...] = ("cut", "spoiled", "fitted", "hung")


def sheets_of(record: Path) -> tuple[tuple[SheetState, ...], str]:
    """Give the sheets that the record knows, and its last mark in words; nothing where there is no record yet."""
    settle_record(record)
    with reading(record) as store:
        if store is None:
            return (), ""
        last = last_mark(store)
        return sheet_states(store), last.what if last else ""


def mark(record: Path, ticks: Iterable[tuple[str, Sequence[str]]], *, by: str, say: Say) -> list[str]:
    """Mark things by state, all of it or nothing, and say what was marked; raises RecordError with every reason."""
    if not record.exists():
        raise RecordError("the job was not made yet; nothing can be marked before that")
    if not by.strip():
        raise RecordError("who ticked it? Write a name above; nothing was marked")
    told = []
    with writing(record, say=say) as store:
        settle(store)
        with store.transaction():
            for state, things in ticks:
                if things and (steps := steps_of(store, Wanted(state, tuple(things)))):
                    told.append(in_words(steps, state))
                    take(store, steps, told[-1], who=user(by))
    return told


def undo_last(record: Path, *, say: Say) -> str:
    """Take the last mark back, and say which; raises RecordError where there is none."""
    if not record.exists():
        raise RecordError("there is no mark that could be undone")
    with writing(record, say=say) as store:
        settle(store)
        with store.transaction():
            last = last_mark(store)
            if last is None:
                raise RecordError("there is no mark that could be undone")
            undo(store, last)
    return last.what
