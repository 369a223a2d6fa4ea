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

from nameplate.errors import InspectionError, OutputError
from nameplate.job.bundles import Bundle, Recorded, draw_and_record
from nameplate.job.out_folder import write_file
from nameplate.job.sheets import CutSheet, SheetTask, cut_sheet, files_of
from nameplate.pool.interface import Assignment, Failure, Pool, Task
from nameplate.system.digests import digest
from nameplate.system.shelf import packed

#: Seconds an errand may take for itself, and for each of its parts: ten times what they take on an idle core.
SHEET_LIMIT_S = 20.0
PART_LIMIT_S = 1.0


@dataclass(frozen=True, slots=True)
class Plates:
    """What became of a bundle: its record, and the digests of its files by name.

    `problems` are sentences about files that could not be written.
    """

    recorded: Recorded
    digests: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Handed:
    """What became of an errand, and the bytes of its files by their names, as inspected."""

    made: CutSheet | Plates
    files: dict[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Underway:
    """All sheets of a batch and its bundles, under way in one task of the pool."""

    folder: Path
    task: Task[None, SheetTask | Bundle, Handed]
    bundles: Sequence[Bundle]

    def tend(self) -> None:
        """Take what is ready and hand out more, without waiting."""
        self.task.tend()

    def finish(self) -> tuple[list[CutSheet | Failure], list[Plates]]:
        """Wait for all and say what became of each sheet, and of each bundle.

        A bundle whose worker failed is made here. Raises OutputError when that cannot be written either,
        InspectionError when it took too long.
        """
        sheets: list[CutSheet | Failure] = []
        plates: list[Plates] = []
        outcomes = self.task.finish()
        first = len(outcomes) - len(self.bundles)
        for outcome in outcomes[:first]:
            if isinstance(outcome, Failure):
                sheets.append(outcome)
            elif isinstance(outcome.made, CutSheet):
                sheets.append(outcome.made)
        for bundle, outcome in zip(self.bundles, outcomes[first:], strict=True):
            handed = self._here(bundle, outcome) if isinstance(outcome, Failure) else outcome
            if isinstance(handed.made, Plates):
                plates.append(handed.made)
        return sheets, plates

    def _here(self, bundle: Bundle, failure: Failure) -> Handed:
        if failure.late:
            named = bundle.files or (bundle.plates[0].parts[0].plate,)
            raise InspectionError(f"the inspection of {named[0]} to {named[-1]} {failure.reason}")
        return _put_down(self.folder, make_bundle(bundle))


def begin_cutting(
    pool: Pool,
    sheets: Sequence[SheetTask],
    bundles: Sequence[Bundle],
    folder: Path,
    *,
    done: Callable[[], None],
    keep: Callable[[CutSheet | Plates], CutSheet | Plates],
) -> Underway:
    """Have every sheet and jig made and inspected; their files are put under `folder` as soon as they are there.

    `keep` gives what stays of what is known of each.
    """

    def put_down(handed: Handed) -> Handed:
        return Handed(keep(_put_down(folder, handed).made))

    errands: list[SheetTask | Bundle] = [*sheets, *bundles]
    task = pool.begin(Assignment(run_errand, errands, None, _limit, done, _size, put_down))
    return Underway(folder, task, bundles)


def run_errand(_: None, errand: SheetTask | Bundle) -> Handed:
    """Make one sheet, or draw and record some plates (in a worker process)."""
    return make_sheet(errand) if isinstance(errand, SheetTask) else make_bundle(errand)


def make_bundle(bundle: Bundle) -> Handed:
    """Draw the jigs of some plates, inspect the drawings and record the plates (in a worker process)."""
    with tempfile.TemporaryDirectory(prefix="nameplate-") as name:
        recorded = draw_and_record(Path(name), bundle)
        return Handed(packed(Plates(recorded)), {file: (Path(name) / file).read_bytes() for file in bundle.files})


def make_sheet(task: SheetTask) -> Handed:
    """Make and inspect one sheet (in a worker process)."""
    with tempfile.TemporaryDirectory(prefix="nameplate-") as name:
        folder = Path(name)
        sheet = cut_sheet(folder, task)
        if sheet.problems:
            where = f"a temporary file in {folder.parent}"
            return Handed(replace(sheet, problems=tuple(f"{where}: {problem}" for problem in sheet.problems)))
        return Handed(sheet, {file: (folder / file).read_bytes() for file in files_of(task)})


def _put_down(folder: Path, handed: Handed) -> Handed:
    """Write the files of an errand; what cannot be written is its problem."""
    made = handed.made
    if isinstance(made, Plates):
        made = replace(made, digests={name: digest(content) for name, content in handed.files.items()})
    problems = _laid(folder, handed.files)
    return Handed(replace(made, problems=tuple(problems)) if problems else made)


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


def _size(errand: SheetTask | Bundle) -> float:
    """Tell how long an errand takes, roughly."""
    return len(errand.toolpaths) if isinstance(errand, SheetTask) else sum(len(p.parts) for p in errand.plates) / 4


def _limit(errand: SheetTask | Bundle) -> float:
    parts = len(errand.toolpaths) if isinstance(errand, SheetTask) else sum(len(p.parts) for p in errand.plates)
    return SHEET_LIMIT_S + PART_LIMIT_S * parts
