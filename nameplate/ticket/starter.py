"""Writes a first job: a short ticket that can be made as it is, a list of invented names, and what opens the job in the
browser by a double click; and a workshop file.

The ticket has the decisions of a first job alone; `nameplate explain` tells of all the others.
"""

from __future__ import annotations

import os
import shlex
import sys
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from nameplate.errors import OutputError
from nameplate.system.reading import shown
from nameplate.system.writing import write_text_atomic
from nameplate.ticket.workshop import SHOP_NAME

TICKET_NAME = "job.toml"
ROSTER_NAME = "names.csv"

_NAMES = """id,name,line2,copies,position
001,Anselm Quill,,,A1
002,Zoë Ó Faoláin,,,A2
003,Łukasz Brzoza,,,A3
004,Familie Grünwald,,2,A4
005,Nguyễn Thị Hạnh,,,B1
006,Wren Abara,in memory of Tilo,,B2
"""

_TICKET = """\
# Make it:  nameplate make job.toml -o out        Any key in words:  nameplate explain mount
# Lengths are millimetres, or texts with a unit: "12 mm", "3/8in", "8 ft". Behind a # stand remarks.

[job]
title  = ""              # heads the paperwork; left empty, the name of the list's file does
roster = "names.csv"     # your list of names: .csv or .xlsx

[face]                   # the plaque: a shape, or file = "plaque.svg" in its place
shape  = "ellipse"       # rectangle, rounded, ellipse, circle, shield, leaf, hexagon, none
width  = 110
height = 80

[lettering]
font  = "Pacifico"       # nameplate fonts lists them
mount = "applied"        # applied (glued on), pierced, backed, marked

[jig]
style = "template"       # template, carrier, skeleton, print, none
"""

_MATERIALS = """\
[material]               # kerf is the width of the cut: measure it on a scrap of your own
lettering = { name = "cast acrylic", thickness = 3, kerf = 0.18 }
template  = { name = "grey board", thickness = 1, kerf = 0.15 }

[[stock]]                # one such table for each size that you can buy
material = "lettering"
width    = 600
height   = 300
price    = 11.50

[[stock]]
material = "template"
width    = 600
height   = 400
price    = 2.10
"""

_SHOP = """\
# The workshop: materials and stock, kept once for all jobs. What a job ticket says itself goes before it.
# Any key in words:  nameplate explain material

"""

_SHOP_END = """
# [[stock]]              # a remainder on the shelf
# material = "lettering"
# width    = 300
# height   = 200
# offcut   = true

# [machine]
# bed  = [900, 600]      # a sheet that does not lie on it is refused
# rate = 40              # what an hour of the laser costs; cut_speed in a material tells how long it takes
# acceleration = 3000    # mm/s2, makes that true to bends and corners

# [machine.colours]      # by which your laser's program tells operations apart
# score       = "#009e73"
# cut_inside  = "#d55e00"
# cut_outside = "#0072b2"
"""


def write_starter(folder: Path, *, materials: bool = True) -> tuple[Path, ...]:
    """Write `job.toml`, `names.csv` and the opener into a folder, made where it is missing; return their paths.

    The ticket has no ``materials`` where a workshop file has them, because its own would go before those.
    Raises OutputError, and writes nothing, when one of the files is there already or the folder cannot be used.
    """
    ticket = f"{_TICKET}\n{_MATERIALS}" if materials else _TICKET
    name, text = opener(sys.executable, windows=os.name == "nt")
    paths = _write({folder / TICKET_NAME: ticket, folder / ROSTER_NAME: _NAMES, folder / name: text}, folder)
    with suppress(OSError):  # on some disks nothing can be said to be a program; there it is opened otherwise
        mode = paths[-1].stat().st_mode
        paths[-1].chmod(mode | (mode & 0o444) >> 2)  # whoever may read it may run it
    return paths


def first_keys() -> frozenset[str]:
    """Give the keys of a first ticket, as `explain` calls them.

    >>> sorted(first_keys())[:5]
    ['face.height', 'face.shape', 'face.width', 'jig.style', 'job.roster']
    """
    written = tomllib.loads(f"{_TICKET}\n{_MATERIALS}")
    tables = {**written, "material": written["material"]["lettering"], "stock": written["stock"][0]}
    return frozenset(f"{table}.{key}" for table, own in tables.items() for key in own)


def is_sample(data: bytes | None) -> bool:
    """Whether a list is still the invented one of a first job.

    >>> is_sample(b"name\\nWren Abara\\n"), is_sample(None)
    (False, False)
    """
    return data is not None and data.replace(b"\r\n", b"\n") == _NAMES.encode()


def opener(python: str, *, windows: bool) -> tuple[str, str]:
    """Give the name and the text of a file that opens the job of its folder in the browser by a double click.

    ``python`` is the program that has nameplate; where it is not there any more, nameplate is looked for by its name.

    >>> print(opener("/opt/my python", windows=False)[1].splitlines()[2])
    python='/opt/my python'
    """
    if windows:
        safe = python.replace("%", "%%")
        lines: tuple[str, ...] = (
            "@echo off",
            'cd /d "%~dp0"',
            f'if exist "{safe}" ("{safe}" -m nameplate open) else (nameplate open)',
            "if errorlevel 1 pause",
        )
        return "open.bat", "".join(f"{line}\r\n" for line in lines)
    lines = (
        "#!/bin/sh",
        'cd "$(dirname "$0")" || exit 1',
        f"python={shlex.quote(python)}",
        'if [ -x "$python" ]; then exec "$python" -m nameplate open; fi',
        "exec nameplate open",
    )
    return "open.command", "".join(f"{line}\n" for line in lines)


def write_workshop(folder: Path) -> Path:
    """Write `workshop.toml` into a folder and return its path; raises OutputError as `write_starter` does."""
    return _write({folder / SHOP_NAME: f"{_SHOP}{_MATERIALS}{_SHOP_END}"}, folder)[0]


def _write(texts: Mapping[Path, str], folder: Path) -> tuple[Path, ...]:
    """Write all of some files, or none."""
    there = [path for path in texts if os.path.lexists(path)]
    if there:
        raise OutputError([f"{path} is there already and is not overwritten; choose another folder" for path in there])
    new_folders = [place for place in (folder, *folder.parents) if not place.exists()]
    written: list[Path] = []
    try:
        for path, text in texts.items():
            write_text_atomic(path, text)
            written.append(path)
    except OutputError as error:
        reason = getattr(error.__cause__, "strerror", None) or error.__cause__
        raise OutputError(f"{shown(folder)}: cannot be written: {reason}; nothing was left there") from error
    finally:
        if len(written) < len(texts):
            with suppress(OSError):
                for path in written:
                    path.unlink()
                for place in new_folders:  # innermost first
                    place.rmdir()
    return tuple(texts)
