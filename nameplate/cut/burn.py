"""Burns a sheet virtually: takes a strip one kerf wide out along every cut, and tells what is left of each part.

The result for one part depends only on the lines near it, so each part is burned by itself: the sheet within its outer
contours, less every strip that comes near, its own and its neighbours'. What lies in its inner contours drops out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from nameplate.cut.read_back import ReadPath, ReadSheet
from nameplate.geometry import region
from nameplate.geometry.compare import strips
from nameplate.geometry.region import Region

#: Plate, kind, copy, layer.
PartKey: TypeAlias = tuple[str, str, int, int]

#: Solids smaller than this (mm2) are crumbs between two strips, not parts.
CRUMB = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class BurnedPart:
    """What is left of one part, and how often its marks are scored."""

    key: PartKey
    solids: Region
    marks: int


def burn(sheet: ReadSheet, kerf: float) -> tuple[BurnedPart, ...]:
    """Burn a sheet; a part without any outer contour keeps no solids. In the order of first mention in the file."""
    cuts = [p for p in sheet.paths if p.operation != "score"]
    burned = strips([p.points for p in cuts], kerf)
    index = region.Index(burned)
    return tuple(
        BurnedPart(key, _left(paths, index), sum(p.operation == "score" for p in paths))
        for key, paths in _by_part(sheet.paths).items()
    )


def _by_part(paths: Sequence[ReadPath]) -> dict[PartKey, list[ReadPath]]:
    parts: dict[PartKey, list[ReadPath]] = {}
    for path in paths:
        parts.setdefault(path.key, []).append(path)
    return parts


def _left(paths: Sequence[ReadPath], index: region.Index) -> Region:
    outer = region.union(*(region.from_ring(p.points) for p in paths if p.operation == "cut-outside"))
    inner = region.union(*(region.from_ring(p.points) for p in paths if p.operation == "cut-inside"))
    if outer.is_empty:
        return outer
    strips_near = [index.shapes[i] for i in index.near(outer)]
    left = region.difference(region.difference(outer, inner), region.union(*strips_near))
    return region.cleaned(left, sliver=CRUMB, step=0.0)
