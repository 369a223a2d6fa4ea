"""What the plan says in words, the same on the page and in print."""

from __future__ import annotations

from functools import partial

from nameplate.findings import counted
from nameplate.ticket.cautions import CAUTIONS as CAUTIONS_OF_CUTTING
from nameplate.ticket.cautions import WALL_CAUTIONS
from nameplate.wall.plan import WallPlan
from nameplate.wall.strip_sheets import STRIPS_CSV, strip_sheets
from nameplate.wall.table import in_words

#: What to be careful of, a paragraph each.
CAUTIONS: tuple[str, ...] = tuple(f"{c.topic}. {c.text} ({c.source})" for c in WALL_CAUTIONS)

#: How to bring the plan to the wall.
SETTING_OUT: tuple[str, ...] = (
    "Read the cautions. Look for wires and pipes along every row.",
    "Draw both lines over the whole wall, with a plumb bob and a water level or a line laser. They cross at a right "
    "angle when a triangle of 600, 800 and 1000 mm (or of 24, 32 and 40 in) closes.",
    "Measure each hole from the two lines, never from the hole before: then errors do not add up. Check the last one "
    "of a row by measuring back from the far end.",
    "Mark all, stand back, and look, before the first is drilled.",
    "A hole that came out elsewhere: measure it from the lines, write into the ticket how far it is off, like "
    'moved = { "017" = [9.5, 0] } below [wall], and plan again: the plan says whether the hanger hides it. A plate '
    "with several holes needs one [x, y] for each, [0, 0] where it is right, like [[9.5, 0], [0, 0]]; leave out plates "
    "whose holes are not drilled yet.",
)


def about_wall(plan: WallPlan, *, inches: bool = False) -> str:
    """Say what hangs on the wall, where the two lines are that all is measured from, and how wide the holes are."""
    mm, wall = partial(in_words, inches=inches), plan.grid.wall
    kept = f"; kept free for later names: {', '.join(place.name for place in plan.reserved)}" if plan.reserved else ""
    return (
        f"{counted(len(plan.hangings), 'plate')} on {len(plan.grid.places)} places{kept}. The wall is "
        f"{mm(wall.width, wall.height)}, its lower edge {mm(wall.y0 + plan.keys.level)} above the floor. The centre "
        f"line is plumb, {mm(-wall.x0)} from the wall's left edge; the level line is level, {mm(plan.keys.level)} "
        "above the floor. x is measured to the right of the centre line, y up from the level line; a minus is to the "
        f"left, or down. Holes are {mm(plan.keys.hole)} wide."
    )


#: How drilling strips are used, and what to be careful of where they are cut.
_STRIPS: tuple[str, ...] = (
    "Card catches fire easily: cut it with as little power as goes through, air on, and nobody out of sight of it. "
    + " ".join(caution.text for caution in CAUTIONS_OF_CUTTING if caution.topic in ("Laser", "Fire", "Fumes")),
    "Measure one strip from mark to mark before it is used: where that is not the difference of their figures, the "
    "laser's program has changed its size.",
    "Each mark, a diagonal cross with a pin hole, says how far it is right of the centre line (X) and above the level "
    "line (Y), in mm; a minus is to the left, or down. Set the first strip of a row by measuring both of its marks "
    "from the lines. Lay the first mark of the next over the last one before it, and measure its other one: then "
    "errors do not add up.",
    "Tape the strips to the wall, mark each hole through its small circle, and take them off before anything is "
    "drilled. Check some holes by tape.",
)


def about_strips(plan: WallPlan, *, inches: bool = False) -> tuple[str, ...]:
    """Say what drilling strips there are and how they are used; nothing where there are none."""
    sheets = strip_sheets(plan)
    if plan.keys.strip is None or not sheets:
        return ()
    count, size = sum(len(sheet.laid) for sheet in sheets), in_words(*plan.keys.strip, inches=inches)
    return (
        f"{counted(count, 'strip')} on {counted(len(sheets), 'sheet')} of card, {size}: drilling/strips-01.svg and so "
        f"on. {STRIPS_CSV} says which strip lies where. drilling.pdf has the same holes on paper: print it only where "
        "you do without strips.",
        *_STRIPS,
    )


def remarks(plan: WallPlan) -> tuple[str, ...]:
    """Give what was found about the wall, as it stands on the wall's own paper."""
    return tuple(finding.message.removeprefix("[wall] ") for finding in plan.findings)
