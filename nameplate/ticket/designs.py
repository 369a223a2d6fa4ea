"""Reads the designs of a ticket: `[design.NAME]`, whose keys go over those of `[face]`, `[lettering]` and `[jig]`.

Each is read into whole tables, so that what a design leaves out is the ticket's own. A design whose face has another
form takes none of the keys that only the ticket's form has.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from nameplate.findings import brief
from nameplate.system.file_names import safe_stem, same_file
from nameplate.ticket.schema import NO_FACE, DesignKeys, FaceKeys
from nameplate.ticket.tables import TABLES, TableReader, rules_of
from nameplate.ticket.values import LONGEST_KEY
from nameplate.ticket.words import show
from nameplate.ticket.workshop_schema import MATERIALS

#: Designs in one ticket: each has sheets, jigs and checks of its own.
MOST_DESIGNS = 50

#: The tables that a design may lay its own keys over.
LAID_OVER = ("face", "lettering", "jig")


def read_designs(
    reader: TableReader, document: Mapping[str, Any], base: Mapping[str, Any], known: Iterable[str]
) -> dict[str, DesignKeys]:
    """Return the designs of a document by name, each complete by the ticket's own tables, ``base``.

    ``known`` are the keys of all materials that there are.
    """
    raw = document.get("design", {})
    if not isinstance(raw, dict) or not all(isinstance(one, dict) for one in raw.values()):
        reader.problem(
            "[design]", f": {show(raw)}: expected tables, each written as [design.NAME] on a line of its own"
        )
        return {}
    if len(raw) > MOST_DESIGNS:
        reader.problem("[design]", f": {len(raw)} designs; expected at most {MOST_DESIGNS}")
        return {}
    seen: dict[str, str] = {}
    for name in raw:
        _check_name(reader, name, seen)
    return {name: _design(reader, name, one, base, {*known, *MATERIALS}) for name, one in raw.items()}


def _check_name(reader: TableReader, name: str, seen: dict[str, str]) -> None:
    """Refuse a name that a list cannot hold, or that stands for the files of another; ``seen`` has those before it."""
    where = f"[design.{brief(name)}]"
    if name != " ".join(name.split()) or not name.isprintable() or not 0 < len(name) <= LONGEST_KEY:
        reader.problem(where, f": expected a name of up to {LONGEST_KEY} characters, as it stands in the list")
        return
    other = seen.setdefault(same_file(safe_stem(name)), name)
    if other != name:
        reader.problem(where, f": too much like [design.{brief(other)}]; give one of them another name")


def _design(
    reader: TableReader, name: str, raw: Mapping[str, Any], base: Mapping[str, Any], known: Iterable[str]
) -> DesignKeys:
    where, rules = f"design.{brief(name)}", rules_of(DesignKeys)

    def home(key: str) -> str:
        homes = [f"[design.{name}.{t}]" for t in LAID_OVER if key in rules_of(TABLES[t])]
        return f"it belongs below {' or '.join(homes)}" if homes else reader.nearest(key, rules)

    read: dict[str, Any] = {table: base[table] for table in (*LAID_OVER, "line")}
    for key, value in reader.values(raw, where, rules, home):
        if key in LAID_OVER:
            under = _same_form(base[key], value, reader.folder) if key == "face" else base[key]
            read[key] = reader.record(value, f"{where}.{key}", under)
        elif key == "line":
            read[key] = reader.line_tables(value, f"{where}.{key}")
        else:
            read[key] = _known_materials(reader, name, value, known)
    return DesignKeys(**read)


def _same_form(face: FaceKeys, over: Mapping[str, Any], folder: Path) -> FaceKeys:
    """Return a face without what belongs to its form alone, where these keys give another.

    The same drawing in another size keeps all that is said of it; whether plaques are cut does not hang on their form.

    >>> _same_form(FaceKeys(shape="ellipse", width=110.0, height=80.0), {"file": "leaf.svg"}, Path()).width
    >>> _same_form(FaceKeys(shape="ellipse", width=110.0, height=80.0), {"shape": "hexagon"}, Path()).width
    110.0
    >>> _same_form(FaceKeys(shape="ellipse", width=110.0, height=80.0), {"shape": "none"}, Path()).width
    """
    if "file" in over:
        if face.file != folder / str(over["file"]):
            return dataclasses.replace(FaceKeys(), inset=face.inset, cut=face.cut)
        return dataclasses.replace(face, width=None, height=None) if {"width", "height"} & over.keys() else face
    if over.get("shape", face.shape) == face.shape:
        one_of_two = face.stands_free and ("width" in over) != ("height" in over)
        return dataclasses.replace(face, width=None, height=None) if one_of_two else face
    if NO_FACE in (over["shape"], face.shape):  # what is said of a plaque says nothing of a name that has none
        return FaceKeys()
    bare = dataclasses.replace(FaceKeys(), width=face.width, height=face.height, inset=face.inset, cut=face.cut)
    if over["shape"] == "circle" and ("width" in over) != ("height" in over):
        return dataclasses.replace(bare, width=None, height=None)
    return bare


def _known_materials(reader: TableReader, name: str, read: Mapping[str, str], known: Iterable[str]) -> dict[str, str]:
    """Say which materials of a design there are not; what one was meant for stands in its place."""
    found = {}
    for role, key in read.items():
        if key in known:
            found[role] = key
            continue
        if near := reader.closest(key, known):
            found[role] = near
        where = f"design.{brief(name)}.materials.{role}"
        reader.problem(where, f" = {show(key)}: there is no [material.{key}]; {reader.nearest(key, known)}")
    return found
