"""Sheets made wherever the pool is, and handed over by value: a worker need not share a disk with this process.

Method: a worker writes a sheet's files into a temporary folder of its own, reads them back from there, burns them
virtually, and hands over their bytes. This process writes those bytes where they belong, reads them back from the disk
and compares: what lies there is, byte for byte, what was inspected. The home of the pool makes no difference to that.

Known limit: a sheet's files exist twice on the disk for as long as it is inspected; that is a few
hundred kilobytes.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeAlias

from nameplate.errors import OutputError
from nameplate.job.out_folder import write_file
from nameplate.job.sheets import CutSheet, SheetTask, cut_sheet, files_of
from nameplate.pool.interface import Assignment, Failure, Pool, Task

#: Seconds a sheet may take for itself, and for each of its parts: ten times what they take on an idle core.
SHEET_LIMIT_S = 20.0
PART_LIMIT_S = 1.0


@dataclass(frozen=True, slots=True)
class Handed:
    """What became of a sheet, and the bytes of its files by their names, as inspected."""

    sheet: CutSheet
    files: dict[str, bytes] = field(default_factory=dict)


#: All sheets of a batch, under way.
Sheets: TypeAlias = Task[None, SheetTask, Handed]


def begin_sheets(
    pool: Pool,
    tasks: Sequence[SheetTask],
    folder: Path,
    *,
    done: Callable[[], None],
    keep: Callable[[CutSheet], CutSheet],
) -> Sheets:
    """Have every sheet made and inspected; its files are put under `folder` as soon as they are there.

    `keep` gives what stays of what is known of each.
    """

    def put_down(handed: Handed) -> Handed:
        return Handed(keep(_put_down(folder, handed)))

    return pool.begin(Assignment(make_sheet, tasks, None, _limit, done, _size, put_down))


def sheets_made(sheets: Sheets) -> list[CutSheet | Failure]:
    """Wait for all sheets and say what became of each."""
    return [handed if isinstance(handed, Failure) else handed.sheet for handed in sheets.finish()]


def make_sheet(_: None, task: SheetTask) -> Handed:
    """Make and inspect one sheet (in a worker process)."""
    with tempfile.TemporaryDirectory(prefix="nameplate-") as name:
        folder = Path(name)
        sheet = cut_sheet(folder, task)
        if sheet.problems:
            where = f"a temporary file in {folder.parent}"
            return Handed(replace(sheet, problems=tuple(f"{where}: {problem}" for problem in sheet.problems)))
        return Handed(sheet, {file: (folder / file).read_bytes() for file in files_of(task)})


def _put_down(folder: Path, handed: Handed) -> CutSheet:
    """Write the files of a sheet and compare what lies on the disk; what cannot be written is the sheet's problem."""
    for name, content in handed.files.items():
        try:
            write_file(folder, name, content)
            there = (folder / name).read_bytes()
        except OutputError as error:
            return replace(handed.sheet, problems=error.problems)
        except OSError as error:
            return replace(handed.sheet, problems=(f"{folder / name} cannot be read back: {error.strerror or error}",))
        if there != content:
            changed = f"{folder / name} was changed after it was inspected, by another program or a failing disk"
            return replace(handed.sheet, problems=(f"{changed}; run the job again",))
    return handed.sheet


def _size(task: SheetTask) -> float:
    return len(task.toolpaths)


def _limit(task: SheetTask) -> float:
    return SHEET_LIMIT_S + PART_LIMIT_S * _size(task)
