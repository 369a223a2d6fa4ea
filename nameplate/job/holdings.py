"""What lies in an out folder: what an earlier run wrote and nobody touched, and what is the user's.

A run lists its files with their digests in files.json. A file that is not listed, a listed file whose bytes are others,
a link, an empty folder: all these are the user's, and nothing here deletes them or follows a link. Folders of versions
without that list are known by their summary.json; of their files nobody can tell whether they were changed.
"""

from __future__ import annotations

import os
import stat
import unicodedata
from collections.abc import Container, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nameplate.errors import OutputError
from nameplate.system.digests import LIST, digest_if_there, digest_of_file, is_digest, sealed
from nameplate.system.reading import read_json
from nameplate.system.writing import json_text, write_text_atomic

#: The figures of a run, by which older runs are known.
SUMMARY = "summary.json"

#: What these and the list of files carry as `generator`, by which a later run knows its own folder.
GENERATOR = "nameplate"

#: The largest list and summary that are read, bytes: some five times those of 20,000 names.
LARGEST_LIST, LARGEST_SUMMARY = 50_000_000, 500_000_000

#: Files that file managers leave in any folder; they are nobody's work.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})


@dataclass(frozen=True, slots=True)
class Holdings:
    """What is in a folder, by paths relative to it: the user's things (folders end in `/`), and files changed since.

    `ours` says whether an earlier run wrote into it.
    """

    ours: bool
    foreign: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Listed:
    """The files of an earlier run and their digests (None: unknown), the folders they lie in; is there a list?"""

    digests: Mapping[str, str | None]
    folders: frozenset[str]
    sealed: bool


def seal(folder: Path) -> None:
    """Write the list of all files in a finished folder; raises OutputError when the disk does not allow it."""
    digests = {name: digest_of_file(path) for name, path, kind in _entries(folder) if kind == "file"}
    record = {"version": 1, "generator": GENERATOR, "files": dict(sorted(digests.items())), "seal": ""}
    write_text_atomic(folder / LIST, sealed(json_text(record)))


def survey(folder: Path) -> Holdings:
    """Look at everything in a folder, but not into folders of the user's; raises OSError when it cannot be listed."""
    listed = _listed(folder)
    inside = frozenset[str]() if listed is None else listed.folders
    known = {} if listed is None else listed.digests
    foreign: list[str] = []
    changed: list[str] = []
    for name, path, kind in _entries(folder, inside):
        if kind == "file" and _key(name) in known:
            if not is_as_written(path, known[_key(name)]):
                changed.append(name)
        elif kind == "folder":
            if _key(name) not in inside:
                foreign.append(f"{name}/")
        elif path.name not in LITTER or kind != "file":
            foreign.append(name)
    return Holdings(listed is not None, tuple(sorted(foreign)), tuple(sorted(changed)))


def clear(folder: Path) -> bool:
    """Delete what an earlier run wrote and nobody touched, and the folder if that was all; tell whether it is gone."""
    listed = _listed(folder)
    with suppress(OSError):
        found = list(_entries(folder, listed.folders)) if listed is not None else []
        for name, path, kind in reversed(found):  # what is in a folder before the folder
            with suppress(OSError):
                if listed is not None and _may_go(name, path, kind, listed):
                    (path.rmdir if kind == "folder" else path.unlink)()
        folder.rmdir()
    return not os.path.lexists(folder)


def _may_go(name: str, path: Path, kind: str, listed: _Listed) -> bool:
    """Tell whether something is surely a run's own; of a folder only the empty one can be deleted anyway."""
    if kind == "folder":
        return _key(name) in listed.folders
    if kind != "file":
        return False
    want = listed.digests.get(_key(name))
    return path.name in LITTER or (want is not None and is_as_written(path, want)) or (name == LIST and listed.sealed)


def is_as_written(path: Path, want: str | None) -> bool:
    """Tell whether a file has this digest; one that an older version wrote without a digest passes."""
    return want is None or digest_if_there(path) == want


def _entries(folder: Path, inside: Container[str] | None = None) -> Iterator[tuple[str, Path, str]]:
    """Give everything under a folder: relative name, path, and `file`, `folder` or `other`; no link is followed.

    A folder comes before what is in it; `inside` names the folders that are looked into, all when left out.
    """
    waiting = [folder]
    while waiting:
        here = waiting.pop()
        for entry in sorted(os.scandir(here), key=lambda e: e.name):
            path = here / entry.name
            name, kind = path.relative_to(folder).as_posix(), _kind(entry.stat(follow_symlinks=False))
            yield name, path, kind
            if kind == "folder" and (inside is None or _key(name) in inside):
                waiting.append(path)


def _kind(found: os.stat_result) -> str:
    """Tell files and folders from links, junctions, pipes and devices."""
    if getattr(found, "st_file_attributes", 0) & getattr(stat, "FILE_ATTRIBUTE_REPARSE_POINT", 0x400):
        return "other"
    return "folder" if stat.S_ISDIR(found.st_mode) else "file" if stat.S_ISREG(found.st_mode) else "other"


def _key(name: str) -> str:
    """Give a name as it is compared: some file systems give back another Unicode form than they were given."""
    return unicodedata.normalize("NFC", name)


def _listed(folder: Path) -> _Listed | None:
    """Read what an earlier run wrote; None when none did, or its lists are damaged."""
    files = own_record(folder / LIST, LARGEST_LIST).get("files")
    if sealed := isinstance(files, dict) and all(map(is_digest, files.values())):
        digests = {**files, LIST: None}
    else:
        files = own_record(folder / SUMMARY, LARGEST_SUMMARY).get("files")
        if not isinstance(files, list) or not all(isinstance(name, str) for name in files):
            return None
        digests = dict.fromkeys((*files, SUMMARY))
    named = {_key(name): want for name, want in digests.items()}
    parents = {parent.as_posix() for name in named for parent in Path(name).parents}
    return _Listed(named, frozenset(parents), sealed)


def own_record(path: Path, limit: int) -> dict[str, Any]:
    """Read a file that a run of ours wrote; an empty one when it is missing, damaged, or somebody else's."""
    try:
        record = None if path.is_symlink() else read_json(path, limit, OutputError, what="a record of a run")
    except OutputError:
        return {}
    return record if isinstance(record, dict) and record.get("generator") == GENERATOR else {}
