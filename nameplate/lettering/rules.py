"""What every lettering of a batch must keep, and what is said of letters that are too small for it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding
from nameplate.geometry.region import Region, bounds
from nameplate.typesetting.block import LineStyle
from nameplate.typesetting.setting import Setting

#: Lower-case letters lower than this many minimum webs are refused: an "e" has three strokes above each other, so
#: under this height nothing but a bar is left of it.
LEAST_X_HEIGHT_WEBS = 2.0

#: Lower-case letters lower than this many minimum webs are made, with a warning: their counters mostly close.
SMALL_X_HEIGHT_WEBS = 3.0

#: The code of that warning.
SMALL_LETTERS = "small-letters"


@dataclass(frozen=True, slots=True, kw_only=True)
class LetteringRules:
    """What every lettering of a batch must keep, in mm: `web` minimum web, `max_height`, `kerf`.

    Letters that are not `tied` stay as the font draws them: they are cut through a plate or scored on it. The weakest
    neck is looked for under a handling `load` (N) when the `thickness` of the sheet is given. A gap is narrow when it
    closes as the outline grows by `window_growth`: the window of a template would have an island there that falls out.
    """

    web: float
    max_height: float | None = None
    kerf: float = 0.18
    tied: bool = True
    thickness: float | None = None
    load: float = 2.0
    window_growth: float = 0.0


#: Finest detail of scored letters, mm: scoring has no webs to keep. Common practice.
SCORED_DETAIL = 0.5

#: Said of strokes that cannot be made as wide as asked.
STURDIER = "a sturdier font, a larger face or a smaller min_web helps"


def height_limit(shape: Region, rules: LetteringRules) -> float:
    """Give the scale at which a shape is as high as the rules allow at most."""
    return math.inf if rules.max_height is None else rules.max_height / bounds(shape).height


def judged_heights(setting: Setting, size: float, rules: LetteringRules) -> tuple[Finding, ...]:
    """Judge the letters of a setting, its em in mm, against the minimum web: one error, warnings, or nothing to say.

    Lines in styles of their own are judged each by itself, and the findings say which.
    """
    each = [judged_height(setting.x_height * size, rules)]
    if not setting.is_plain:
        each = [
            judged_height(low * size, _rules_of(style, rules), line=line, first="a larger scale, ")
            for line, low, style in zip(setting.lines, setting.lows, setting.styles, strict=True)
        ]
    every = [finding for finding in each if finding is not None]
    errors = [finding for finding in every if finding.severity == "error"]
    return (min(errors, key=lambda finding: finding.measured or 0.0),) if errors else tuple(every)


def least_size(setting: Setting, rules: LetteringRules) -> float:
    """Give the em (mm) under which a setting is refused because letters of some line are too small."""
    if setting.is_plain:
        return LEAST_X_HEIGHT_WEBS * rules.web / setting.lowest
    webs = (_rules_of(style, rules).web for style in setting.styles)
    return max(LEAST_X_HEIGHT_WEBS * web / low for web, low in zip(webs, setting.lows, strict=True))


def _rules_of(style: LineStyle, rules: LetteringRules) -> LetteringRules:
    """Give the rules that a line keeps to: of a scored one, all that counts is that it can be scored."""
    return replace(rules, web=min(SCORED_DETAIL, rules.web)) if style.scored else rules


def told_apart(value: float, other: float) -> str:
    """Tell a length (mm) to a tenth, or as finely as it differs from another, down to a thousandth.

    >>> told_apart(2.38, 2.4), told_apart(2.4, 2.38), told_apart(1.9, 2.4)
    ('2.38', '2.40', '1.9')
    """
    texts = [(f"{value:.{places}f}", f"{other:.{places}f}") for places in (1, 2, 3)]
    return next((own for own, beside in texts if own != beside), texts[-1][0])


def two_lines(lines: Sequence[str]) -> str:
    """Begin an advice with two lines where those of a name can be broken into as many.

    >>> two_lines(["Ana Pell"]), two_lines(["Bartholomew"]), two_lines(["Ana", "Pell"])
    ('two lines, ', '', '')
    """
    return "two lines, " if len(lines) == 1 and " " in lines[0] else ""


def judged_height(height: float, rules: LetteringRules, *, line: str = "", first: str = "") -> Finding | None:
    """Judge small letters of a height in mm against the minimum web: an error, a warning, or nothing to say.

    `line` is the text of the one line that they are on, where that must be said, `first` what is advised first.
    """
    letters = f"the letters of “{line}”" if line else "small letters"
    least = LEAST_X_HEIGHT_WEBS * rules.web
    if height < least:
        message = (
            f"{letters} would be {told_apart(height, least)} mm high, and at least {told_apart(least, height)} mm are "
            f"needed for strokes of {rules.web:g} mm; give it {first}a larger face, a shorter text or a smaller min_web"
        )
        return refusal("letters-too-small", message, height, least)
    good = SMALL_X_HEIGHT_WEBS * rules.web
    if height < good:
        message = (
            f"{letters} are {told_apart(height, good)} mm high; under {told_apart(good, height)} mm the insides of e "
            f"and a begin to close; give it {first}a larger face or a shorter text where that matters"
        )
        return Finding("small-letters", "warning", message, measured=height, allowed=good)
    return None


def refusal(code: str, message: str, measured: float | None = None, allowed: float | None = None) -> Finding:
    """Give the reason why a name is not made; the caller knows its plate and row."""
    return Finding(code, "error", message, measured=measured, allowed=allowed)
