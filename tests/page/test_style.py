"""The page's colours can be told apart, light and dark."""

import re
from importlib import resources

import pytest

CSS = resources.files("nameplate.page").joinpath("static", "page.css").read_text(encoding="utf-8")
SCHEMES = [dict(re.findall(r"--([\w-]+): #(\w+)", block)) for block in re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)]


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    digits = colour if len(colour) == 6 else "".join(2 * digit for digit in colour)
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_measure_is_that_of_the_guidelines():
    assert contrast("fff", "000000") == pytest.approx(21)
    assert contrast("767676", "ffffff") == pytest.approx(
        4.54, abs=0.01
    )  # the lightest grey of AA on white (from memory)


@pytest.mark.parametrize("scheme", SCHEMES, ids=["light", "dark"])
def test_text_is_read_on_what_it_stands_on(scheme):
    for ground in ("paper", "raised"):
        for text in ("ink", "soft", "accent", "bad", "warn", "good"):
            assert contrast(scheme[text], scheme[ground]) >= 4.5, (text, ground)  # AA, 1.4.3
    assert contrast(scheme["on-accent"], scheme["accent"]) >= 4.5


def test_there_is_a_light_scheme_and_a_dark_one():
    assert len(SCHEMES) == 2 and SCHEMES[0].keys() == SCHEMES[1].keys()
