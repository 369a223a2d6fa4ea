"""The bench: what is cut, spoiled, fitted and hung, read from the record and marked in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from nameplate.errors import RecordError
from nameplate.record.clock import user
from nameplate.record.marks import Wanted, in_words, last_mark, steps_of, take, undo
from nameplate.record.overview import PieceState, SheetState, read_overview
from nameplate.record.runs import settled_reading, settled_writing
from nameplate.record.store import Say

#: What can be ticked, in the order in which it is written.
TICKS: tuple[str, ...] = ("cut", "spoiled", "fitted", "hung")


@dataclass(frozen=True, slots=True)
class BenchState:
    """What lies on the bench: the sheets that the record knows, its last mark in words, and by plate what of it is how
    far, where not all of it is equally far."""

    sheets: tuple[SheetState, ...] = ()
    last: str = ""
    apart: Mapping[str, str] = field(default_factory=dict)


def bench_of(record: Path) -> BenchState:
    """Read what lies on the bench; nothing where there is no record yet."""
    with settled_reading(record) as store:
        if store is None:
            return BenchState()
        last, seen = last_mark(store), read_overview(store)
    told = {plate: _apart(pieces) for plate, pieces in seen.pieces.items()}
    return BenchState(seen.sheets, last.what if last else "", {plate: text for plate, text in told.items() if text})


def _apart(pieces: Iterable[PieceState]) -> str:
    """Say how far the pieces of a plate are, each kind once; empty where they are equally far.

    >>> _apart([PieceState("template", 1, "planned"), PieceState("lettering", 1, "cut")])
    'template planned, lettering cut'
    >>> _apart([PieceState("template", 1, "cut"), PieceState("lettering", 1, "cut")])
    ''
    """
    told = dict.fromkeys((piece.kind, piece.state) for piece in pieces)
    return ", ".join(map(" ".join, told)) if len({state for _, state in told}) > 1 else ""


def mark(record: Path, ticks: Iterable[tuple[str, Sequence[str]]], *, by: str, say: Say) -> list[str]:
    """Mark things by state, all of it or nothing, and say what was marked; raises RecordError with every reason."""
    if not record.exists():
        raise RecordError("the job was not made yet; nothing can be marked before that")
    if not by.strip():
        raise RecordError("who ticked it? Write a name above; nothing was marked")
    told = []
    with settled_writing(record, say=say) as store, store.transaction():
        for state, things in ticks:
            if things and (steps := steps_of(store, Wanted(state, tuple(things)))):
                told.append(in_words(steps, state))
                take(store, steps, told[-1], who=user(by))
    return told


def undo_last(record: Path, *, say: Say) -> str:
    """Take the last mark back, and say which; raises RecordError where there is none."""
    if not record.exists():
        raise RecordError("there is no mark that could be undone")
    with settled_writing(record, say=say) as store, store.transaction():
        last = last_mark(store)
        if last is None:
            raise RecordError("there is no mark that could be undone")
        undo(store, last)
    return last.what
