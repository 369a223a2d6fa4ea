"""Sheets and jigs made wherever the pool is, handed over by value: a worker need not share a disk with this process.

Terms. An *errand* is what a worker is sent for: one sheet, or a bundle of plates whose jigs are drawn and recorded.

Method: a worker writes an errand's files into a temporary folder of its own, reads them back from there, burns them
virtually, and hands over their bytes. This process writes those bytes where they belong, reads them back from the disk
and compares: what lies there is, byte for byte, what was inspected. The home of the pool makes no difference to that.

Known limit: a sheet's files exist twice on the disk for as long as it is inspected; that is a few
hundred kilobytes.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeAlias, cast

from nameplate.errors import InspectionError, OutputError
from nameplate.job.bundles import Bundle, Recorded, draw_and_record
from nameplate.job.out_folder import write_file
from nameplate.job.sheets import CutSheet, SheetTask, cut_sheet
from nameplate.pool.interface import Assignment, Failure, Pool, Task
from nameplate.system.shelf import packed

#: Seconds an errand may take for itself, and for each of its parts: ten times what they take on an idle core.
SHEET_LIMIT_S = 20.0
PART_LIMIT_S = 1.0

#: An errand, what becomes of one, what is told of each that is done, and what gives what stays of it.
Errand: TypeAlias = SheetTask | Bundle
Made: TypeAlias = CutSheet | Recorded
Done: TypeAlias = Callable[[], None]
Keep: TypeAlias = Callable[[Made], Made]


@dataclass(frozen=True, slots=True)
class Handed:
    """What became of an errand, and the bytes of its files by their names, as inspected."""

    made: Made
    files: dict[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Underway:
    """All sheets of a batch and its bundles, under way in one task of the pool."""

    folder: Path
    task: Task[None, Errand, Handed]
    bundles: Sequence[Bundle]

    def tend(self) -> None:
        """Take what is ready and hand out more, without waiting."""
        self.task.tend()

    def finish(self) -> tuple[list[CutSheet | Failure], list[Recorded]]:
        """Wait for all and say what became of each sheet, and of each bundle.

        A bundle whose worker failed is made here. Raises OutputError when that cannot be written either,
        InspectionError when it took too long.
        """
        outcomes = self.task.finish()
        first = len(outcomes) - len(self.bundles)
        sheets = [o if isinstance(o, Failure) else cast(CutSheet, o.made) for o in outcomes[:first]]
        drawn = zip(self.bundles, outcomes[first:], strict=True)
        handed = (self._here(bundle, o) if isinstance(o, Failure) else o for bundle, o in drawn)
        return sheets, [cast(Recorded, own.made) for own in handed]

    def _here(self, bundle: Bundle, failure: Failure) -> Handed:
        if failure.late:
            named = bundle.files or (bundle.plates[0].parts[0].plate,)
            raise InspectionError(f"the inspection of {named[0]} to {named[-1]} {failure.reason}")
        return _put_down(self.folder, make_errand(bundle))


def begin_cutting(
    pool: Pool, sheets: Sequence[SheetTask], bundles: Sequence[Bundle], folder: Path, *, done: Done, keep: Keep
) -> Underway:
    """Have every sheet and jig made and inspected; their files are put under `folder` as soon as they are there.

    `keep` gives what stays of what is known of each.
    """

    def put_down(handed: Handed) -> Handed:
        return Handed(keep(_put_down(folder, handed).made))

    errands: list[Errand] = [*sheets, *bundles]
    task = pool.begin(Assignment(run_errand, errands, None, _limit, done, _size, put_down))
    return Underway(folder, task, bundles)


def run_errand(_: None, errand: Errand) -> Handed:
    """Do an errand (in a worker process)."""
    return make_errand(errand)


def make_errand(errand: Errand) -> Handed:
    """Make and inspect one sheet, or draw the jigs of some plates, inspect the drawings and record the plates."""
    with tempfile.TemporaryDirectory(prefix="nameplate-") as name:
        folder = Path(name)
        made = cut_sheet(folder, errand) if isinstance(errand, SheetTask) else packed(draw_and_record(folder, errand))
        if made.problems:
            where = f"a temporary file in {folder.parent}"
            return Handed(replace(made, problems=tuple(f"{where}: {problem}" for problem in made.problems)))
        return Handed(made, {file: (folder / file).read_bytes() for file in made.digests})


def _put_down(folder: Path, handed: Handed) -> Handed:
    """Write the files of an errand; what cannot be written is its problem."""
    problems = _laid(folder, handed.files)
    return Handed(replace(handed.made, problems=tuple(problems)) if problems else handed.made)


def _laid(folder: Path, files: Mapping[str, bytes]) -> Sequence[str]:
    """Write files and compare what lies on the disk then; gives what is wrong with the first that is not as it was."""
    for name, content in files.items():
        try:
            write_file(folder, name, content)
            there = (folder / name).read_bytes()
        except OutputError as error:
            return error.problems
        except OSError as error:
            return (f"{folder / name} cannot be read back: {error.strerror or error}",)
        if there != content:
            changed = f"{folder / name} was changed after it was inspected, by another program or a failing disk"
            return (f"{changed}; run the job again",)
    return ()


def _parts(errand: Errand) -> int:
    return len(errand.toolpaths) if isinstance(errand, SheetTask) else sum(len(p.parts) for p in errand.plates)


def _size(errand: Errand) -> float:
    """Tell how long an errand takes, roughly."""
    return _parts(errand) / (1 if isinstance(errand, SheetTask) else 4)


def _limit(errand: Errand) -> float:
    return SHEET_LIMIT_S + PART_LIMIT_S * _parts(errand)
