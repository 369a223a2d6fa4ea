import pytest

from nameplate.lettering.rules import (
    LEAST_X_HEIGHT_WEBS,
    SMALL_X_HEIGHT_WEBS,
    LetteringRules,
    judged_height,
    judged_heights,
    least_size,
)
from nameplate.typesetting.block import Block, LineStyle
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.ways import StyledLine, typefaces_of, ways_of_lines
from tests.typesetting.ways import settings

RULES = LetteringRules(web=1.5)


def in_styles(*lines):
    """One setting of lines: a text, its font, the height of its letters against the largest line's."""
    styled = [StyledLine(text, LineStyle(typefaces_of(load_font(font)), em=em)) for text, font, em in lines]
    (way,) = ways_of_lines(styled, Block("tie"))
    return way.setting


@pytest.mark.parametrize(
    "setting",
    [
        settings("Ada", "", load_font("Pacifico"), words="tie")[0],
        in_styles(("Ada Pell", "Pacifico", 1.0), ("1931", "Satisfy", 0.4)),
        in_styles(("Rowe", "Satisfy", 0.7), ("Ada Pell", "Pacifico", 1.0)),
    ],
)
def test_the_least_size_is_where_letters_of_some_line_begin_to_be_refused(setting):
    def refused(size):
        return [f for f in judged_heights(setting, size, RULES) if f.severity == "error"]

    least = least_size(setting, RULES)
    assert refused(0.999 * least) and not refused(1.001 * least)


def test_letters_of_just_the_height_that_is_asked_for_are_good():
    good, least = SMALL_X_HEIGHT_WEBS * RULES.web, LEAST_X_HEIGHT_WEBS * RULES.web
    found = [judged_height(height, RULES) for height in (good, 0.999 * good, least, 0.999 * least)]
    assert [f and f.severity for f in found] == [None, "warning", "warning", "error"]
