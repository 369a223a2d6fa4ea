"""Sets an order in type: its fonts, and the ways to set its name or its lines in them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from nameplate.findings import Finding
from nameplate.model import Order, OrderedLine
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.typesetting.block import Block, LineStyle
from nameplate.typesetting.fonts import Font, bundled_fonts, load_font, load_fonts, load_row_fonts
from nameplate.typesetting.ways import StyledLine, Way, typefaces_of, ways_of_lines, ways_to_set


def fonts_of(keys: LetteringKeys, folder: Path, order: Order) -> tuple[tuple[Font, ...], tuple[Finding, ...]]:
    """Find the fonts of an order; a row's own font takes the ticket's weight and axes, or it is said that it cannot.

    Fonts named by path are relative to `folder`.
    """
    if order.fonts[0] == keys.font[0]:
        return load_fonts(order.fonts, folder, axes=keys.font_axes), ()
    fonts, lacking = load_row_fonts(order.fonts, folder, axes=keys.font_axes)
    message = f"“{order.name}”: {fonts[0].name} has no {' and no '.join(lacking)} to set; it is made as the font is"
    return fonts, (Finding("no-such-axis", "warning", message),) if lacking else ()


def font_files(folder: Path, orders: Iterable[Order]) -> tuple[Path, ...]:
    """Give the font files, of the user's, that these orders are lettered from."""
    return files_of_fonts(folder, (spec for order in orders for spec in order.every_font))


def files_of_fonts(folder: Path, specs: Iterable[str]) -> tuple[Path, ...]:
    """Give the font files, of the user's, among these fonts; raises FontError for one that is not there."""
    bundled = {info.path for info in bundled_fonts()}
    paths = (load_font(spec, folder).path for spec in dict.fromkeys(specs))
    return tuple(path for path in paths if path not in bundled)


def ways_for(
    keys: LetteringKeys, folder: Path, order: Order, *, holding: bool
) -> tuple[tuple[Way, ...], tuple[Finding, ...]]:
    """Give the ways to set an order, `holding` as in `Block`, and what is to be said of its fonts."""
    block = Block(keys.words, holding=holding, word_space=keys.word_space, align=keys.align, arc=keys.arc)
    (first, *others), remarks = fonts_of(keys, folder, order)
    if order.styled:
        return ways_of_lines(_styled_lines(order, folder), block), remarks
    ways = ways_to_set(
        order.name, order.line2, first, block, features=keys.features, fallbacks=others, lines=order.lines
    )
    return ways, remarks


def size_of(order: Order, folder: Path) -> float | None:
    """Give the em (mm) of the largest line of an order that has a size: its row's, or that of a line; else None."""
    if order.size is not None or all(line.size is None for line in order.styled):
        return order.size
    largest = max(_sized_lines(order, folder), key=lambda sized: sized.height)
    return largest.height / largest.fonts[0].x_height


class _SizedLine(NamedTuple):
    """A line with its fonts and the height of its small letters: mm where any line has a size, else in proportion."""

    line: OrderedLine
    fonts: tuple[Font, ...]
    height: float


def _styled_lines(order: Order, folder: Path) -> tuple[StyledLine, ...]:
    """Give the lines of an order, each at its size against the largest, whose em is 1."""
    every = _sized_lines(order, folder)
    largest = max(every, key=lambda sized: sized.height)
    main = largest.fonts[0].x_height
    styled = []
    for line, fonts, height in every:
        em = (height * main) / (largest.height * fonts[0].x_height)
        style = LineStyle(typefaces_of(fonts[0], fonts[1:]), line.features, em, line.gap, line.align, line.scored)
        styled.append(StyledLine(line.text, style, line.breaks, line.lines, line.column))
    return tuple(styled)


def _sized_lines(order: Order, folder: Path) -> list[_SizedLine]:
    """Give the lines of an order that say something, at their sizes."""
    fonts = [load_row_fonts(line.fonts, folder, axes=dict(line.axes))[0] for line in order.styled]
    sized = [
        None if line.size is None else line.size * own[0].x_height
        for line, own in zip(order.styled, fonts, strict=True)
    ]
    most = max((height for height in sized if height is not None), default=1.0)
    return [
        _SizedLine(line, own, line.scale * most if height is None else height)
        for line, own, height in zip(order.styled, fonts, sized, strict=True)
        if line.text
    ]
