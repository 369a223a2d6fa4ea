"""The out folder: written whole or not at all, and never over anything that is not an earlier run's own.

Method: everything is written into a working folder beside the old one (`work_folder.py`); when it is complete and
inspected, what the old one holds is looked at once more (`holdings.py`), and the two change names. Where something of
the user's came meanwhile, the old folder stays as it is and the finished run gets the next free name beside it.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeAlias

from nameplate.errors import OutputError
from nameplate.findings import named
from nameplate.job.holdings import SUMMARY, Holdings, seal, survey
from nameplate.job.work_folder import KEPT, NEW, OLD, free_name, keep_rest, recover, work_folder
from nameplate.system.interrupts import deferred
from nameplate.system.reading import shown
from nameplate.system.writing import write_bytes_atomic

#: What is in a file: text, bytes, or the text of a long one in pieces, made while they are written.
Content: TypeAlias = str | bytes | Iterable[str | bytes]

#: Told once a finished run is in its place: where, and what a person should know about what was there before.
Placed = Callable[[Path, Sequence[str]], None]

#: Told of a folder that is complete, and about to take its place.
Ready = Callable[[Path], None]


def check_folder(out: Path, *, page: str = "") -> tuple[str, ...]:
    """Raise OutputError when a run must not or cannot write to `out`; names the files that stand in the way.

    What dead runs left beside it is cleared first; gives what is to be said about that. A command that leaves a `page`,
    and less than a run, replaces only what left the same page, and no finished run.
    """
    place = _resolved(out)
    said = recover(place)
    try:
        there = os.path.lexists(place)
        _check_place(out, place)
        found = survey(place) if there else Holdings(ours=False)
        problem = _of_another(out, place, found, page) or (_in_the_way(out, found) if there else "")
    except OutputError:
        raise
    except (OSError, ValueError) as error:
        raise OutputError(f"{shown(out)} cannot be a folder: {_reason(error)}; choose another with -o") from error
    if problem:
        raise OutputError([*said, problem])
    return said


def put_back(out: Path) -> tuple[str, ...]:
    """Clear what dead runs left beside `out`, put it back where one moved it aside; says what a person should know."""
    try:
        return recover(_resolved(out))
    except OutputError:
        return ()  # whoever reads the folder says what is wrong with it


def _resolved(out: Path) -> Path:
    """Follow links to where the folder really is, which must be told before anything changes names."""
    try:
        return out.resolve()
    except (OSError, ValueError, RuntimeError) as error:  # RuntimeError is a link that leads to itself
        reason = "a link that leads to itself" if isinstance(error, RuntimeError) else _reason(error)
        raise OutputError(f"{shown(out)} cannot be a folder: {reason}; choose another with -o") from error


def _check_place(out: Path, place: Path) -> None:
    """Raise OutputError when no folder can be made or changed there, before hours of work are spent on it."""
    nearest = next(p for p in (place, *place.parents) if p.exists())
    if not nearest.is_dir():
        raise OutputError(f"{shown(nearest)} is a file; choose a folder with -o")
    if nearest == place:
        here = Path.cwd().resolve()
        if place == here or place in here.parents:
            raise OutputError(
                f"you are in {shown(place)}, which cannot be replaced from inside; leave it first (cd ..)"
            )
        if place.parent == place or os.path.ismount(place):
            raise OutputError(f"{shown(out)} is a whole drive; choose a folder on it with -o")
    for needed in (nearest, place.parent) if nearest == place else (nearest,):
        if not os.access(needed, os.W_OK):
            raise OutputError(f"nothing may be written in {shown(needed)}; choose another folder with -o")


def _reason(error: OSError | ValueError | RuntimeError) -> str:
    return getattr(error, "strerror", None) or str(error)


def _in_the_way(out: Path, found: Holdings) -> str:
    """Say why a run must not replace a folder; nothing when it may."""
    if not found.ours and found.foreign:
        return (
            f"{shown(out)} already holds files that are not an earlier run's ({_some(found.foreign)}); "
            "choose another folder with -o or empty this one"
        )
    mine = [f"files of yours beside an earlier run's ({_some(found.foreign)})"] if found.foreign else []
    changed = [f"files that were changed since that run wrote them ({_some(found.changed)})"] if found.changed else []
    if not mine and not changed:
        return ""
    return f"{shown(out)} holds {' and '.join(mine + changed)}; move them elsewhere or choose another folder with -o"


def _of_another(out: Path, place: Path, found: Holdings, page: str) -> str:
    """Say what else a folder holds than what a command with such a page left; nothing where that may be replaced."""
    if page and (place / SUMMARY).exists():
        return f"{shown(out)} holds a finished run, which is not replaced by {page}; choose another folder with -o"
    if not page or not found.ours or (place / page).exists():
        return ""
    return f"{shown(out)} holds files of another command, which {page} does not replace; choose another folder with -o"


def _some(names: Sequence[str]) -> str:
    return named([shown(Path(name)) + ("/" if name.endswith("/") else "") for name in names], most=3)


@contextmanager
def staged(
    out: Path, *, ready: Ready = lambda stage: None, placed: Placed = lambda where, said: None, said: Sequence[str] = ()
) -> Iterator[Path]:
    """Give a new folder that takes the place of `out` when the block ends well, and vanishes when it does not.

    `ready` is told once the folder is complete, before anything changes names; `placed` where the finished run is, and
    what was `said` before (by `check_folder`). Raises OutputError when the disk does not allow it, and says whether
    `out` is as it was; also when `out` has come to hold something of the user's: then the run is beside it.
    """
    place = _resolved(out)
    problem, stage = "", place
    with _parents_of(place):
        try:
            with work_folder(place) as work:
                stage = work / NEW
                stage.mkdir()
                (work / KEPT).mkdir()
                yield stage
                seal(stage)
                with deferred():
                    ready(stage)
                    problem = _put_in_place(work, place, out, lambda where, more: placed(where, (*said, *more)))
        except OutputError as error:
            told = [problem.replace(str(stage), str(out)) for problem in error.problems]
            raise OutputError([*told, "nothing was changed"]) from error
        except OSError as error:
            reason = f"{shown(out)} cannot be written: {error.strerror or error}"
            raise OutputError(f"{reason}; nothing was changed") from error
    if problem:
        raise OutputError(problem)


@contextmanager
def _parents_of(place: Path) -> Iterator[None]:
    """Make the folders that a new folder lies in; they go again when the block leaves nothing in them."""
    missing = [parent for parent in place.parents if not parent.exists()]
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        yield
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(f"{shown(place)} cannot be made: {_reason(error)}; nothing was changed") from error
    finally:
        for parent in missing:
            with suppress(OSError):
                parent.rmdir()


def _put_in_place(work: Path, place: Path, out: Path, placed: Placed) -> str:
    """Let the finished folder take the place of `place`; say what was in the way, and where the run is then."""
    problem = ""
    if os.path.lexists(place):
        try:
            problem = _in_the_way(out, survey(place))
        except OSError as error:
            problem = f"{shown(out)} cannot be read any more: {_reason(error)}"
    said: tuple[str, ...] = ()
    if not problem:
        try:
            said = _swap(work, place)
        except OSError as error:
            problem = f"{shown(out)} cannot be replaced: {_reason(error)}"
    if not problem:
        placed(out, said)
        return ""
    return f"{problem}; {_state_of(work, place, out)}, and the finished run {_beside(work, place, placed)}"


def _beside(work: Path, place: Path, placed: Placed) -> str:
    """Give the finished folder the next free name beside `place`; say what became of it."""
    beside = free_name(place, "")
    try:
        (work / NEW).rename(beside)
    except OSError as error:
        return f"cannot be put beside it: {_reason(error)}"
    placed(beside, ())
    return f"is in {shown(beside)}"


def _state_of(work: Path, place: Path, out: Path) -> str:
    """Say truly where the earlier folder is after a swap that failed."""
    if not os.path.lexists(place) and os.path.lexists(work / OLD):
        return f"what was in it is in {shown(work / OLD)} and comes back with the next run"
    return f"{shown(out)} is as it was"


def _swap(work: Path, place: Path) -> tuple[str, ...]:
    """Change the names; when the second change fails, the first is taken back. Raises OSError."""
    old = work / OLD
    if os.path.lexists(place):
        place.rename(old)
    try:
        (work / NEW).rename(place)
    except OSError:
        with suppress(OSError):
            if os.path.lexists(old) and not os.path.lexists(place):
                old.rename(place)
        raise
    return keep_rest(old, place) if os.path.lexists(old) else ()


def write_file(folder: Path, name: str, content: Content) -> str:
    """Write a file under its relative name (with `/`), text as UTF-8 and bytes as they are, and give its digest."""
    sum_up = hashlib.sha256()

    def summed() -> Iterator[bytes]:
        for piece in (content,) if isinstance(content, str | bytes) else content:
            data = piece.encode("utf-8") if isinstance(piece, str) else piece
            sum_up.update(data)
            yield data

    write_bytes_atomic(folder / name, summed())
    return sum_up.hexdigest()


def keep_only(folder: Path, names: Iterable[str]) -> None:
    """Delete every file of a folder that is not among these relative names (with `/`)."""
    kept = frozenset(names)
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.relative_to(folder).as_posix() not in kept:
            path.unlink()
