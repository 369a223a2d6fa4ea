"""Packs polylines into a short text, for the record of a run: as far as anybody needs them, and no farther.

Points are rounded to whole steps. The whole way from point to point and from line to line is written as second
differences, which are small numbers where a line is smooth; each takes as few bytes as it needs (seven bits a byte, the
sign in the lowest bit), x first, then y; the bytes are deflated (RFC 1951). In fine STEPs, as shapes are kept that will
be cut again, they are written in base 64 (RFC 4648); in COARSE ones, as they are held against what was cut, in base 85
(as Python and git write it) behind a colon, which tells the two apart.
"""

from __future__ import annotations

import base64
import binascii
import zlib
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from nameplate.geometry import region
from nameplate.geometry.counting import members
from nameplate.geometry.region import Array, Region

#: What coordinates of a shape that will be cut again are rounded to (mm).
STEP = 0.001

#: What coordinates of a shape that only tells what was cut are rounded to (mm): a tenth of what the inspection allows.
#: In STEPs the text is a third longer, a sixteenth of it because of base 64.
COARSE = 0.003

#: What a pack in COARSE steps begins with; neither base has it.
_COARSE_MARK = ":"

#: Most points of one pack; a name has some thousand, a hatched one ten times that.
MOST_POINTS = 2_000_000

#: Bytes that one number may take: enough for second differences of any sheet.
_MOST_BYTES = 5

#: Coordinates in whole steps.
Whole: TypeAlias = npt.NDArray[np.int64]


def pack(lines: Sequence[Array], step: float = STEP) -> str:
    """Pack (n, 2) arrays in mm, in STEPs or COARSE ones; nothing at all gives an empty text.

    >>> unpack(pack([np.array([[0.0, 0.0], [2.5, 0.0]])]))[0].tolist()
    [[0.0, 0.0], [2.5, 0.0]]
    """
    if not lines:
        return ""
    steps = [whole(line, step) for line in lines]
    return base64.b64encode(_deflated(steps)).decode("ascii") if step == STEP else pack_whole(steps)


def whole(line: Array, step: float = COARSE) -> Whole:
    """Give the (n, 2) coordinates of a line as whole steps."""
    rounded: Whole = np.round(np.asarray(line) / step).astype(np.int64)
    return rounded


def pack_whole(lines: Sequence[Whole]) -> str:
    """Pack lines whose coordinates are whole COARSE steps already."""
    return _COARSE_MARK + base64.b85encode(_deflated(lines)).decode("ascii")


def _deflated(lines: Sequence[Whole]) -> bytes:
    counts = np.array([len(lines), *(len(line) for line in lines)])
    points = np.concatenate([np.zeros((2, 2), dtype=np.int64), *lines])
    numbers = np.concatenate([_folded(counts), _folded(np.diff(points, n=2, axis=0).T.ravel())])
    squeezed = zlib.compressobj(9, zlib.DEFLATED, -15)
    return squeezed.compress(_bytes(numbers)) + squeezed.flush()


def unpack(text: str) -> list[Array]:
    """Give the lines of a pack, in mm; raises ValueError for a text that is none."""
    if not text:
        return []
    is_coarse = text.startswith(_COARSE_MARK)
    try:
        squeezed = base64.b85decode(text[1:]) if is_coarse else base64.b64decode(text, validate=True)
        inflater = zlib.decompressobj(-15)
        data = inflater.decompress(squeezed, 2 * _MOST_BYTES * MOST_POINTS)
    except (binascii.Error, ValueError, zlib.error) as error:
        raise ValueError("it is no pack of lines (it cannot be unpacked)") from error
    if not inflater.eof:
        raise ValueError("it is no pack of lines (it is cut short, or has no end)")
    numbers = _unfolded(_numbers(data))
    lines = int(numbers[0]) if len(numbers) else 0
    counts = numbers[1 : 1 + lines]
    steps = numbers[1 + lines :]
    if not 0 < lines <= MOST_POINTS or len(counts) < lines or counts.min() < 1 or 2 * counts.sum() != len(steps):
        raise ValueError("it is no pack of lines (its numbers do not add up)")
    points = np.cumsum(np.cumsum(steps.reshape(2, -1), axis=1), axis=1).T * (COARSE if is_coarse else STEP)
    return np.split(points, np.cumsum(counts)[:-1])


def _folded(numbers: Whole) -> Whole:
    """Put the sign into the lowest bit, so that small numbers of either sign are small."""
    return (numbers << 1) ^ (numbers >> 63)


def _unfolded(numbers: Whole) -> Whole:
    return (numbers >> 1) ^ -(numbers & 1)


def _bytes(numbers: Whole) -> bytes:
    shifts = 7 * np.arange(_MOST_BYTES)
    groups = (numbers[:, None] >> shifts) & 127
    more = (numbers[:, None] >> (shifts + 7)) > 0
    kept = np.column_stack([np.ones(len(numbers), dtype=bool), more[:, :-1]])
    data: bytes = (groups | (more << 7)).astype(np.uint8)[kept].tobytes()
    return data


def _numbers(data: bytes) -> Whole:
    groups = np.frombuffer(data, dtype=np.uint8).astype(np.int64)
    last = np.flatnonzero(groups < 128)
    if not len(groups) or last[-1:].tolist() != [len(groups) - 1]:
        raise ValueError("it is no pack of lines (it is cut short)")
    starts = np.append(0, last[:-1] + 1)
    _, place = members(last - starts + 1)
    if place.max() >= _MOST_BYTES:
        raise ValueError("it is no pack of lines (a number is too long)")
    numbers: Whole = np.add.reduceat((groups & 127) << (7 * place), starts)
    return numbers


def pack_region(shape: Region) -> list[str]:
    """Pack a region: a text for each of its solids, the outline first, then its holes.

    >>> pack_region(region.EMPTY)
    []
    """
    solids = region.solids(shape) if not shape.is_empty else ()
    return [pack(region.all_rings(solid)) for solid in solids]


def unpack_region(texts: Sequence[str]) -> Region:
    """Give the region of such texts; raises ValueError for one that is none."""
    return region_of([rings for rings in map(unpack, texts) if rings])


def region_of(solids: Sequence[Sequence[Array]]) -> Region:
    """Give the region of solids, each its outline and its holes."""
    regions = [region.from_ring(own[0], own[1:]) for own in solids]
    return regions[0] if len(regions) == 1 else region.union(*regions)
