"""The folder beside an out folder in which a run works: it vanishes with the run, and the next clears a dead one's.

`.OUT-TOKEN-new` holds `lock` (under the system's file lock as long as its run lives, with who that is), `new` (what is
being written) and, for the moment in which the two change names, `old` (the out folder there was). Of a run that was
killed in that moment the old folder is put back. Where the file system has no locks, a run counts as dead when its
process is gone from this computer; what another computer left is never touched.
"""

from __future__ import annotations

import json
import os
import platform
import re
import secrets
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from nameplate.errors import OutputError
from nameplate.job.holdings import clear
from nameplate.system.digests import digest
from nameplate.system.interrupts import deferred
from nameplate.system.reading import read_json, shown

#: What lies in a working folder: its lock, the new out folder, the one it takes the place of, and what a run keeps
#: while it works.
LOCK, NEW, OLD, KEPT = "lock", "new", "old", "kept"

#: The largest lock file, bytes; it names a process and a computer.
LARGEST_LOCK = 10_000

#: Where in the lock file Windows locks a byte: behind its text, which others may then still read.
_LOCKED_BYTE = 1 << 20

#: Longest part of the out folder's name that its working folder repeats, bytes; the rest is told by a digest.
_LONGEST = 100


@contextmanager
def work_folder(out: Path) -> Iterator[Path]:
    """Give a new folder beside `out` (whose parent is there); at the end it goes, but for an `old` folder in it."""
    work, handle = _begin(out)
    try:
        yield work
    finally:
        with deferred():
            _remove(work, handle)


def recover(out: Path) -> tuple[str, ...]:
    """Clear what dead runs left beside `out`, and put `out` back where one was stopped while names changed.

    Gives a sentence for each thing that a person should know. Never raises for what it cannot clear.
    """
    said: list[str] = []
    with suppress(OSError):
        pattern = re.compile(rf"\.{re.escape(_short(out.name))}-[0-9a-f]{{16}}-new")
        for name in sorted(os.listdir(out.parent)):  # noqa: PTH208 - names that are no text, too
            if pattern.fullmatch(name):
                with suppress(OSError):
                    said += _clear_dead(out.parent / name, out)
    return tuple(said)


def free_name(out: Path, word: str) -> Path:
    """Give a name beside `out` that nothing has: `out-2`, or `out-WORD-2`, and so on."""
    stem = f"{_short(out.name)}{f'-{word}' if word else ''}"
    number = 2
    while os.path.lexists(out.parent / f"{stem}-{number}"):
        number += 1
    return out.parent / f"{stem}-{number}"


def keep_rest(old: Path, out: Path) -> tuple[str, ...]:
    """Delete an out folder that was replaced as far as it is ours, and give the rest a name that can be found."""
    if clear(old):
        return ()
    kept = free_name(out, "kept")
    with suppress(OSError):
        old.rename(kept)
        old = kept
    return (
        f"{shown(old)} holds what was in {shown(out)} and is not surely an earlier run's own; nothing of it is lost",
    )


def _short(name: str) -> str:
    raw = os.fsencode(name)
    if len(raw) <= _LONGEST:
        return name
    return f"{os.fsdecode(raw[: _LONGEST - 17]).encode('utf-8', 'ignore').decode('utf-8')}-{digest(raw)[:16]}"


def _begin(out: Path) -> tuple[Path, int]:
    """Make the folder and its lock; someone who clears it away between the two makes us begin again."""
    for _ in range(9):
        work = out.parent / f".{_short(out.name)}-{secrets.token_hex(8)}-new"
        work.mkdir()
        try:
            handle = os.open(work / LOCK, os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o644)
        except FileNotFoundError:
            continue
        except OSError:
            work.rmdir()
            raise
        _lock(handle)
        try:
            me = {"pid": os.getpid(), "host": platform.node(), "start": _start_of(os.getpid())}
            os.write(handle, json.dumps(me).encode())
        except OSError:
            _remove(work, handle)
            raise
        if (work / LOCK).exists():
            return work, handle
        os.close(handle)
    raise OutputError(f"nothing stays where it is put in {shown(out.parent)}; choose another folder with -o")


def _remove(work: Path, handle: int | None) -> None:
    """Delete a working folder, its lock last; an `old` folder in it stays, and the folder with it."""
    for made in (NEW, KEPT):
        shutil.rmtree(work / made, ignore_errors=True)
    if os.path.lexists(work / OLD):
        if handle is not None:
            os.close(handle)
        return
    if sys.platform == "win32" and handle is not None:  # an open file cannot be deleted there
        os.close(handle)
        handle = None
    with suppress(OSError):
        (work / LOCK).unlink(missing_ok=True)
        work.rmdir()
    if handle is not None:
        os.close(handle)


def _clear_dead(work: Path, out: Path) -> tuple[str, ...]:
    """Clear one working folder if its run is dead."""
    if work.is_symlink() or not work.is_dir():
        return ()
    if not (work / LOCK).exists():
        if not os.path.lexists(work / OLD):
            shutil.rmtree(work / NEW, ignore_errors=True)  # a worker that outlived its run wrote once more
            work.rmdir()
        return ()
    owner = _owner(work / LOCK)
    handle = os.open(work / LOCK, os.O_RDWR | getattr(os, "O_BINARY", 0))
    free = _lock(handle)
    here = not owner or owner.get("host") == platform.node()
    if free is False or not here or (free is None and _alive(owner)):
        os.close(handle)
        lost = free is not False and os.path.lexists(work / OLD) and not os.path.lexists(out)
        run = f"a run on {owner.get('host')!s:.80}"
        told = f"{shown(work / OLD)} is {shown(out)} as it was before {run}; if that run is over, move it back"
        return (told,) if lost else ()
    try:
        return _put_back(work, out)
    finally:
        _remove(work, handle)


def _put_back(work: Path, out: Path) -> tuple[str, ...]:
    old = work / OLD
    if not os.path.lexists(old):
        return ()
    if os.path.lexists(out):
        return keep_rest(old, out)
    old.rename(out)
    return (f"a run was stopped while it replaced {shown(out)}; the folder there was is back in its place",)


# --- who is alive ---------------------------------------------------------------------------------------------------


def _lock(handle: int) -> bool | None:
    """Take the system's lock on a file: False when another process holds it, None where there are no locks."""
    if sys.platform == "win32":
        import msvcrt

        os.lseek(handle, _LOCKED_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        finally:
            os.lseek(handle, 0, os.SEEK_SET)
        return True
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return None
    return True


def _start_of(pid: int) -> str:
    """Give when a process started, in the system's own count; empty where the system does not tell."""
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()[19]
    except (OSError, IndexError):
        return ""


def _owner(lock: Path) -> dict[str, Any]:
    """Read who holds a lock; an empty record when that cannot be told (it died before it said)."""
    try:
        record = read_json(lock, LARGEST_LOCK, OutputError, what="a lock")
    except OutputError:
        return {}
    return record if isinstance(record, dict) else {}


def _alive(owner: dict[str, Any]) -> bool:
    """Tell whether the process that holds a working folder on this computer may still run."""
    pid = owner.get("pid")
    if not isinstance(pid, int) or pid <= 0 or sys.platform == "win32":
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return not owner.get("start") or owner["start"] == _start_of(pid)
