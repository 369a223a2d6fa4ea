"""Checks of the keys of `[wall]` against each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from nameplate.ticket.materials import off_the_bed
from nameplate.ticket.wall_schema import WallKeys

#: The least width and height (mm) of a sheet of card for drilling strips: some holes, and what is scored round them.
LEAST_CARD = (130.0, 60.0)

#: Keys (`table.key`) that do not go together, and a sentence that says why.
Problem: TypeAlias = tuple[tuple[str, ...], str]

#: What a wall must have, and how it is written.
_NEEDED = {"width": "3600", "height": "1800", "columns": "10", "rows": "10"}


def wall_problems(wall: WallKeys, bed: tuple[float, float] | None = None) -> Iterator[Problem]:
    """Yield keys (`wall.width`) that do not go together, and a sentence that says why. No keys at all are no wall.

    `bed` is the size (mm) of what a laser may cut, if that is known.

    >>> list(wall_problems(WallKeys()))
    []
    """
    if wall == WallKeys():
        return
    for key, example in _NEEDED.items():
        if getattr(wall, key) is None:
            yield (f"wall.{key}",), f"wall.{key} is missing; a wall needs it, like {key} = {example}"
    if (wall.pitch is None) != wall.fit:
        many = "both say where the places are: leave one out"
        none = "are both left out: say where the places are, like pitch = [300, 150], or fit = true"
        yield ("wall.pitch", "wall.fit"), f"wall.pitch and wall.fit {none if wall.pitch is None else many}"
    yield from _grid_problems(wall)
    if (card := wall.strip) is not None:
        said = f"wall.strip = [{card[0]:g}, {card[1]:g}]"
        if card[0] < LEAST_CARD[0] or card[1] < LEAST_CARD[1]:
            yield ("wall.strip",), f"{said}: expected card of at least {LEAST_CARD[0]:g} x {LEAST_CARD[1]:g} mm"
        elif why := off_the_bed(*card, bed):
            yield ("wall.strip", "machine.bed"), f"{said}: {why}, and write that size"


def _grid_problems(wall: WallKeys) -> Iterator[Problem]:
    """Yield why the middles of places lie beyond the wall; whether whole plates do hangs on their faces."""
    if wall.pitch is None or None in (wall.width, wall.height, wall.columns, wall.rows):
        return
    aside = wall.stagger if (wall.rows or 0) > 1 else 0.0
    sides = (
        ("width", "columns", (wall.columns or 1) - 1 + aside, wall.pitch[0]),
        ("height", "rows", (wall.rows or 1) - 1, wall.pitch[1]),
    )
    for side, count, pitches, pitch in sides:
        have = getattr(wall, side)
        if pitches * pitch > have:
            text = (
                f"wall.{count} = {getattr(wall, count)} at a pitch of {pitch:g} mm takes {pitches * pitch:g} mm, and "
                f"the wall's {side} is {have:g} mm (wall.{side}); take fewer, a smaller pitch, or fit = true"
            )
            yield (f"wall.{count}", f"wall.{side}", "wall.pitch", "wall.stagger"), text
