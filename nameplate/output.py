"""The out folder: written whole or not at all, and never over files that are not ours.

Method: everything is written into a new folder beside the old one; when it is complete and inspected, the two change
names. A folder is ours when its summary.json says so, and clean when it holds nothing that summary.json does not list.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeAlias

from nameplate.cut.files import write_chunks_atomic
from nameplate.errors import OutputError
from nameplate.shelf import Shelf

#: What summary.json carries as `generator`, by which a later run knows its own folder.
GENERATOR = "nameplate"

#: Files that file managers leave in any folder; they are nobody's work.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


def check_folder(out: Path) -> None:
    """Raise OutputError when a run must not or cannot write to `out`; names the files that stand in the way."""
    try:
        there = out.exists()
        _check_place(out.resolve())
    except OutputError:
        raise
    except (OSError, ValueError) as error:
        raise OutputError(f"{out} cannot be a folder: {_reason(error)}; choose another with -o") from error
    if not there:
        return
    present = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_file() and p.name not in LITTER}
    if not present:
        return
    ours = _files_of_run(out)
    if ours is None:
        raise OutputError(
            f"{out} already holds files that are not an earlier run's ({_some(present)}); "
            "choose another folder with -o or empty this one"
        )
    foreign = present - ours
    if foreign:
        raise OutputError(
            f"{out} holds files of yours beside an earlier run's ({_some(foreign)}); "
            "move them elsewhere or choose another folder with -o"
        )


def _check_place(out: Path) -> None:
    """Raise OutputError when no folder can be made or changed there, before hours of work are spent on it."""
    nearest = next(place for place in (out, *out.parents) if place.exists())
    if not nearest.is_dir():
        raise OutputError(f"{nearest} is a file; choose a folder with -o")
    for place in (nearest, out.parent) if nearest == out else (nearest,):
        if not os.access(place, os.W_OK):
            raise OutputError(f"nothing may be written in {place}; choose another folder with -o")


def _reason(error: OSError | ValueError) -> str:
    return getattr(error, "strerror", None) or str(error)


def _files_of_run(out: Path) -> frozenset[str] | None:
    try:
        summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
        if summary["generator"] != GENERATOR:
            return None
        return frozenset(summary["files"]) | {"summary.json"}
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _some(names: frozenset[str] | set[str]) -> str:
    first = sorted(names)[:3]
    return ", ".join(first) + (f" and {len(names) - len(first)} more" if len(names) > len(first) else "")


@contextmanager
def staged(out: Path) -> Iterator[Path]:
    """Give a new folder that takes the place of `out` when the block ends well, and vanishes when it does not.

    Raises OutputError when the disk does not allow it; then `out` is as it was.
    """
    out = out.resolve()
    check_folder(out)
    stage = out.parent / f".{out.name}-{os.getpid()}-new"
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(stage, ignore_errors=True)
        stage.mkdir()
        yield stage
        _swap(stage, out)
    except OutputError as error:
        named = [problem.replace(str(stage), str(out)) for problem in error.problems]
        raise OutputError([*named, "nothing was changed"]) from error
    except OSError as error:
        raise OutputError(f"{out} cannot be written: {error.strerror or error}; nothing was changed") from error
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def _swap(stage: Path, out: Path) -> None:
    old = out.parent / f".{out.name}-{os.getpid()}-old"
    shutil.rmtree(old, ignore_errors=True)
    if out.exists():
        out.rename(old)
    try:
        stage.rename(out)
    except OSError:
        if old.exists():
            old.rename(out)
        raise
    shutil.rmtree(old, ignore_errors=True)


def shelf_beside(out: Path) -> Shelf:
    """Give a shelf for what a run makes; what is much lies beside the out folder, where there must be room anyway."""
    out = out.resolve()
    folder = next(place for place in out.parents if place.is_dir())
    return Shelf(folder, prefix=f".{out.name}-{os.getpid()}-")


#: What is in a file: text, bytes, or the text of a long one in pieces, made while they are written.
Content: TypeAlias = str | bytes | Iterable[str]


def write_file(folder: Path, name: str, content: Content) -> None:
    """Write a file under its relative name (with `/`): text as UTF-8, bytes as they are."""
    chunks = [content] if isinstance(content, str | bytes) else content
    write_chunks_atomic(folder / name, (c.encode("utf-8") if isinstance(c, str) else c for c in chunks))
