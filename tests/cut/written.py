"""The text of a cut file, of parts where they lie."""

from nameplate.cut.order import burning_order
from nameplate.cut.svg import steps_svg


def sheet_svg(width, height, placed, *pen, **title):
    return steps_svg(width, height, burning_order(placed), *pen, **title)
