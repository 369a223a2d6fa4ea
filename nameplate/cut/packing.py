"""Packs polylines into a short text, for the record of a run: as far as anybody needs them, and no farther.

Points are rounded to whole STEPs. The whole way from point to point and from line to line is written as second
differences, which are small numbers where a line is smooth; each takes as few bytes as it needs (seven bits a byte, the
sign in the lowest bit), x first, then y; the bytes are deflated (RFC 1951) and written in base 64 (RFC 4648).
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
from nameplate.geometry.region import Array, Region

#: What coordinates are rounded to (mm): a thirtieth of what the inspection allows. At a tenth of it, the text is half
#: as long again.
STEP = 0.001

#: Most points of one pack; a name has some thousand, a hatched one ten times that.
MOST_POINTS = 2_000_000

#: Bytes that one number may take: enough for second differences of any sheet.
_MOST_BYTES = 5

#: Coordinates in whole STEPs.
Whole: TypeAlias = npt.NDArray[np.int64]


def pack(lines: Sequence[Array]) -> str:
    """Pack (n, 2) arrays in mm; nothing at all gives an empty text.

    >>> unpack(pack([np.array([[0.0, 0.0], [2.5, 0.0]])]))[0].tolist()
    [[0.0, 0.0], [2.5, 0.0]]
    """
    if not lines:
        return ""
    return pack_whole([whole(line) for line in lines])


def whole(line: Array) -> Whole:
    """Give the (n, 2) coordinates of a line as whole STEPs."""
    rounded: Whole = np.round(np.asarray(line) / STEP).astype(np.int64)
    return rounded


def pack_whole(lines: Sequence[Whole]) -> str:
    """Pack lines whose coordinates are whole STEPs already."""
    counts = np.array([len(lines), *(len(line) for line in lines)])
    points = np.concatenate([np.zeros((2, 2), dtype=np.int64), *lines])
    numbers = np.concatenate([_folded(counts), _folded(np.diff(points, n=2, axis=0).T.ravel())])
    squeezed = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = squeezed.compress(_bytes(numbers)) + squeezed.flush()
    return base64.b64encode(data).decode("ascii")


def unpack(text: str) -> list[Array]:
    """Give the lines of a pack, in mm; raises ValueError for a text that is none."""
    if not text:
        return []
    try:
        squeezed = base64.b64decode(text, validate=True)
        data = zlib.decompressobj(-15).decompress(squeezed, 2 * _MOST_BYTES * MOST_POINTS)
    except (binascii.Error, ValueError, zlib.error) as error:
        raise ValueError(f"it is no pack of lines ({error})") from error
    numbers = _unfolded(_numbers(data))
    lines = int(numbers[0]) if len(numbers) else 0
    counts = numbers[1 : 1 + lines]
    steps = numbers[1 + lines :]
    if not 0 < lines <= MOST_POINTS or len(counts) < lines or counts.min() < 1 or 2 * counts.sum() != len(steps):
        raise ValueError("it is no pack of lines (its numbers do not add up)")
    points = np.cumsum(np.cumsum(steps.reshape(2, -1), axis=1), axis=1).T * STEP
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
    place = np.arange(len(groups)) - np.repeat(starts, last - starts + 1)
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
    return [pack([region.outer_rings(solid)[0], *region.hole_rings(solid)]) for solid in solids]


def unpack_region(texts: Sequence[str]) -> Region:
    """Give the region of such texts; raises ValueError for one that is none."""
    solids = [region.from_ring(rings[0], rings[1:]) for rings in map(unpack, texts) if rings]
    return solids[0] if len(solids) == 1 else region.union(*solids)
