"""The inspection of a whole out folder: which files are not as the run left them, and what they now come to.

The chain of digests (`nameplate.system.digests`) finds any byte that was changed since. Besides, and whether or not a
digest says so, every drawing is read, burned and compared with the record; other forms of it are compared with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from nameplate.cut.burn import PartKey
from nameplate.cut.drop_in import judge_drop_ins
from nameplate.cut.inspect_files import examine_files, examine_jig
from nameplate.cut.nominal_file import RECORD, Record
from nameplate.cut.read_nominal import read_record
from nameplate.errors import OutputError
from nameplate.findings import Finding
from nameplate.geometry.region import Region
from nameplate.job.holdings import LARGEST_LIST, LITTER
from nameplate.system.digests import LIST, digest_if_there, is_digest, seal_of
from nameplate.system.reading import parse_json, read_regular, shown
from nameplate.ticket.schema import ENDINGS

#: Folders in which nothing may lie that is not of the run: what lies there is cut, or printed.
_OURS = ("cut", "jigs")


@dataclass(frozen=True, slots=True)
class FolderReport:
    """What is wrong with an out folder, and the seal of its list, None where that does not hold."""

    findings: tuple[Finding, ...]
    seal: str | None = None


@dataclass(frozen=True, slots=True)
class _Files:
    """The digests that a run's list has, its seal, and what is wrong with itself."""

    digests: Mapping[str, str] = field(default_factory=dict)
    seal: str | None = None
    findings: tuple[Finding, ...] = ()


def look_over(folder: Path) -> FolderReport:
    """Inspect what an earlier run left.

    Raises OutputError when the folder holds no record that can be used, and no list that says what is missing.
    """
    files = _read_list(folder)
    try:
        run = read_record(folder / RECORD)
    except OutputError as error:
        if not (folder / LIST).exists() and not (folder / RECORD).exists():
            raise OutputError(
                f"{shown(folder)} is not what a run left: it has no {LIST} and no {RECORD}; name the folder that "
                "`nameplate make -o` wrote"
            ) from None
        if not files.digests:
            raise
        unusable = Finding("record", "error", f"{error}; without it nothing can be burned and compared")
        return FolderReport((*files.findings, *_changed(folder, files), unusable, *_extra(folder, files)))
    found = [*files.findings, *_changed(folder, files), *_extra(folder, files, run), *_unlisted(files, run)]
    return FolderReport((*found, *_burned(folder, files, run)), files.seal)


# --- what is there --------------------------------------------------------------------------------------------------


def _read_list(folder: Path) -> _Files:
    """Read the list of digests; whatever is wrong with it is a finding."""
    path = folder / LIST
    try:
        data = read_regular(path, LARGEST_LIST, OutputError, what="the list of a run's files")
        document = parse_json(data.decode("utf-8"), OutputError, name=shown(path))
    except (OutputError, UnicodeDecodeError) as error:
        return _Files(findings=(Finding("list", "error", f"{error}; nothing says what else was changed"),))
    digests = document.get("files") if isinstance(document, dict) else None
    if not isinstance(digests, dict) or not digests or not all(map(_is_entry, digests, digests.values())):
        message = f"{LIST} lists no digests of the run's files; nothing says what else was changed"
        return _Files(findings=(Finding("list", "error", message),))
    seal = seal_of(data)
    if seal is None:
        message = f"{LIST} was changed since the run: its seal is not that of its text"
        return _Files(digests, None, (Finding("file-changed", "error", message),))
    return _Files(digests, seal)


def _is_entry(name: str, value: object) -> bool:
    """Tell whether this is the relative name of a file in the folder, and a digest."""
    plain = 0 < len(name) < 500 and not re.search(r"[\\:\x00-\x1f]|^/|(?:^|/)\.{0,2}(?:/|$)", name)
    return plain and is_digest(value)


def _changed(folder: Path, files: _Files) -> Iterator[Finding]:
    for name, wanted in sorted(files.digests.items()):
        path = folder / name
        got = None if path.is_symlink() else digest_if_there(path)
        if got is None:
            yield Finding("file-missing", "error", f"{name} is missing in {folder}, or is no ordinary file")
        elif got != wanted:
            yield Finding("file-changed", "error", f"{name} was changed since the run")


def _extra(folder: Path, files: _Files, run: Record | None = None) -> Iterator[Finding]:
    """Find what lies beside the run's files where everything is cut or printed."""
    known = set(files.digests) | {name for name, _ in (*run.sheets, *run.jigs)} if run else set(files.digests)
    for place in _OURS:
        for path in sorted((folder / place).glob("**/*")):
            name = path.relative_to(folder).as_posix()
            inside = path.is_dir() and not path.is_symlink() and any(path.iterdir())
            if name not in known and path.name not in LITTER and not inside:
                yield Finding("file-extra", "error", f"{name} does not belong to this run")


def _unlisted(files: _Files, run: Record) -> Iterator[Finding]:
    """Find where the list of digests and the record are not of the same run."""
    recorded = {name for name, _ in (*run.sheets, *run.jigs)}
    listed = {name for name in files.digests if name.startswith(("cut/", "jigs/")) and name.endswith(".svg")}
    for name in sorted(recorded - listed) if files.digests else ():
        yield Finding("record", "error", f"{name} is in {RECORD}, and {LIST} does not list it")
    for name in sorted(listed - recorded):
        yield Finding("record", "error", f"{name} is listed in {LIST}, and {RECORD} does not have it")


# --- what it comes to -----------------------------------------------------------------------------------------------


def _burned(folder: Path, files: _Files, run: Record) -> Iterator[Finding]:
    burned: dict[PartKey, Region] = {}
    sources: dict[PartKey, str] = {}
    for name, expected in run.sheets:
        if not (folder / name).is_file():
            if name not in files.digests:
                yield Finding("file-missing", "error", f"{name} is missing in {folder}")
            continue
        endings = [ending for form, ending in ENDINGS.items() if form != "svg"]
        others = [file for ending in endings for file in _other_form(folder, files, name, ending)]
        inspected = examine_files(folder, (name, *others), expected)
        yield from inspected.findings
        burned |= inspected.burned
        sources |= dict.fromkeys(inspected.burned, name)
    for name, expected in run.jigs:
        if (folder / name).is_file() and expected.parts:
            yield from examine_jig(folder, (name, *_other_form(folder, files, name, ".pdf")), expected)
    yield from judge_drop_ins(run.drop_ins, burned, sources)


def _other_form(folder: Path, files: _Files, name: str, suffix: str) -> tuple[str, ...]:
    other = name.removesuffix(".svg") + suffix
    return (other,) if other in files.digests and (folder / other).is_file() else ()
