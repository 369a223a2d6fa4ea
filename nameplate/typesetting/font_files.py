"""Looks at a font file before anything draws from it: is it a whole outline font, and may its letters be used?

Read with the standard library alone, by the tables of the OpenType specification (ISO/IEC 14496-22): the directory
of tables, `head`, and the embedding bits `fsType` of `OS/2`.
"""

from __future__ import annotations

import struct
from pathlib import Path

from nameplate.errors import FontError
from nameplate.system.carried import carried
from nameplate.system.reading import read_regular

#: Larger than any font of one style; the largest with every Chinese character is near 25 MB.
MOST_BYTES = 64 * 1024 * 1024
MOST_TABLES = 256

#: Units in the em that the standard allows (OpenType specification, table head, unitsPerEm).
EM_UNITS = (16, 16384)

#: What else a file with a font's name may be, by its first four bytes.
OTHER_KINDS = {
    b"ttcf": "is a collection of several fonts; save the one you want as .ttf or .otf",
    b"wOFF": "is packed for web pages (WOFF); unpack it to .ttf or .otf first",
    b"wOF2": "is packed for web pages (WOFF2); unpack it to .ttf or .otf first",
    b"typ1": "is an old Type 1 font; convert it to .otf first",
    b"%!PS": "is an old Type 1 font; convert it to .otf first",
}
OUTLINE_KINDS = (b"\x00\x01\x00\x00", b"OTTO", b"true")

#: Bits of fsType, OpenType specification, table OS/2. Bits 0-3 exclude one another since version 3.
RESTRICTED, PREVIEW, EDITABLE, BITMAP_ONLY = 0x0002, 0x0004, 0x0008, 0x0200


def check_font_file(path: Path) -> tuple[str, ...]:
    """Check that a file is a whole outline font whose embedding bits do not forbid to use its outlines.

    Gives remarks on how its letters may be used. Raises FontError, naming the file, what is wrong and what to do.
    """
    return check_font(path, read_font(path))


def check_font(path: Path, data: bytes) -> tuple[str, ...]:
    """Check what is in a font file, as `check_font_file` does."""
    tables = _tables(path, data)
    lost = [t for t in ("cmap", "head", "hhea", "hmtx", "maxp") if t not in tables]
    if not ({"glyf", "loca"} <= set(tables) or {"CFF ", "CFF2"} & set(tables)):
        lost.append("glyf or CFF (outlines)")
    if lost:
        raise FontError(f"{path}: the font is not complete, it has no table {', '.join(lost)}; use another copy")
    if "OS/2" not in tables:
        raise FontError(f"{path}: the font has no OS/2 table, so it does not say whether its letters may be used")
    _check_em(path, data, tables["head"])
    offset, length = tables["OS/2"]
    if length < 10:
        raise FontError(f"{path}: the font is broken, its table 'OS/2' is cut off; use another copy")
    return _judged(path, struct.unpack(">H", data[offset + 8 : offset + 10])[0])


def read_font(path: Path) -> bytes:
    """Read a font file of bounded size, or what was carried along of it; raises FontError, naming it, for none."""
    if (brought := carried(path)) is not None:
        return brought
    return read_regular(path, MOST_BYTES, FontError, what="a font file, .ttf or .otf", larger="use a font of one style")


def _tables(path: Path, data: bytes) -> dict[str, tuple[int, int]]:
    """Read the directory: name of each table -> (offset, length), every one inside the file."""
    kind = data[:4]
    if kind not in OUTLINE_KINDS:
        other = "is not a TrueType or OpenType font; give another file, or a bundled font (nameplate fonts)"
        raise FontError(f"{path} {OTHER_KINDS.get(kind, other)}")
    count = struct.unpack(">H", data[4:6])[0] if len(data) >= 12 else 0
    if not 0 < count <= MOST_TABLES or len(data) < 12 + 16 * count:
        raise FontError(f"{path}: the font is broken, its list of tables is cut off; use another copy")
    tables: dict[str, tuple[int, int]] = {}
    for tag, _, offset, length in struct.iter_unpack(">4sLLL", data[12 : 12 + 16 * count]):
        name = tag.decode("latin-1")
        if offset + length > len(data):
            raise FontError(f"{path}: the font is broken, its table {name!r} is cut off; use another copy")
        tables[name] = (offset, length)
    return tables


def _check_em(path: Path, data: bytes, place: tuple[int, int]) -> None:
    """Check the units of the em square, by which all sizes of the font are divided."""
    offset, length = place
    units = struct.unpack(">H", data[offset + 18 : offset + 20])[0] if length >= 20 else 0
    if not EM_UNITS[0] <= units <= EM_UNITS[1]:
        raise FontError(
            f"{path}: the font is broken, its table 'head' says {units} units in the em and {EM_UNITS[0]} to"
            f" {EM_UNITS[1]} are allowed; use another copy"
        )


def _judged(path: Path, bits: int) -> tuple[str, ...]:
    """Judge fsType; where several of the first bits are set, the least restrictive counts (version 2 and before)."""
    if bits & BITMAP_ONLY:
        raise FontError(f"{path}: the font's maker allows only its bitmaps to be used, not its outlines")
    if bits & EDITABLE or not bits & (RESTRICTED | PREVIEW):
        return ()
    if bits & PREVIEW:
        return (
            f"{path.name}: the font's maker allows it in documents for viewing and printing only; cut letters are"
            " finished artwork like a print, but read its licence before you sell them",
        )
    raise FontError(
        f"{path}: the font's maker forbids its outlines to leave the computer it is licensed to (restricted"
        " embedding); ask for a licence that covers cut letters, or use another font"
    )
