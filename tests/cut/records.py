"""The record of a run, made at once of what its sheets must come to."""

from collections.abc import Sequence

from nameplate.cut.expectation import DropIn, SheetExpectation
from nameplate.cut.nominal_file import part_entries, record_lines, sheet_entry


def record(
    sheets: Sequence[tuple[str, SheetExpectation]],
    drop_ins: Sequence[DropIn] = (),
    jigs: Sequence[tuple[str, SheetExpectation]] = (),
    *,
    clearance: float = 0.0,
) -> str:
    """Give the record as JSON; each sheet goes by its file's path in the out folder, like `cut/lettering-01.svg`."""
    entries = part_entries((part for _, sheet in (*sheets, *jigs) for part in sheet.parts), clearance)
    one, two = ([(name, sheet_entry(sheet)) for name, sheet in some] for some in (sheets, jigs))
    return "".join(record_lines(entries, one, two, drop_ins))
