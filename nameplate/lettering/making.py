"""One name, set in type, becomes the finished lettering on its face.

Order of work: scale the set letters to fit the zone, weld and tie them, thicken what is too narrow, and fit again,
because ties and webs have their size in millimetres and not in letters. `Build` is one turn of that loop. How much
thickening will add is foreseen, so that one turn is nearly always enough; the little room that is left then is filled
by enlarging the whole, which makes webs and bridges wider by as much and no place narrower.

Known limit: the loop looks for a size that fits, from above, in a few builds, and stops at the first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from nameplate.findings import Finding, has_errors
from nameplate.geometry.approximate import approximately_thickened
from nameplate.geometry.region import Region, bounds, moved, solids, union
from nameplate.geometry.simplify import simplified
from nameplate.lettering.building import TIGHT, Build, built
from nameplate.lettering.candidates import ENLARGED, Chosen, choices
from nameplate.lettering.diacritics import readable
from nameplate.lettering.rules import STURDIER, LetteringRules, height_limit, judged_heights, least_size, refusal
from nameplate.lettering.strength import weakest_neck
from nameplate.lettering.webs import weakest
from nameplate.model import LetterBox, Lettering, LinePlace, Neck
from nameplate.placement.fit import Fit, Zone, optical_centre, prepared
from nameplate.placement.objective import Level, Standing
from nameplate.typesetting.setting import Setting
from nameplate.typesetting.ways import Way

#: Builds per name at most. Heavy fonts need one, hairline fonts three.
MOST_BUILDS = 6

#: How much farther than the last misfit the next size steps down, so that the search ends from below.
STEP_BEYOND = 1.1

#: And by this share more.
STEP_SHORT = 0.002

#: Letters that thickening makes larger are built smaller than foreseen by this share, so that the first build fits
#: nearly always. More of it makes webs wider than asked for by as much.
SHORT = 0.006

#: Letters that gain less area than this share by thickening stay as they are.
SAME = 1e-3

#: Outlines on which the growth by thickening is foreseen are true to this, mm. Finer ones take longer.
COARSE = 0.05

#: Finished lettering that is too large by at most this share is made smaller as it is: a web of 1.5 mm loses 0.003 mm,
#: which is less than any test of it can tell.
SHRUNK = 0.002

#: Lettering on an arc is not resized, since its arc would be, too. It is built smaller than foreseen by the first of
#: these shares, so that it fits nearly always at once, and leaves at most the second of room. Less takes more builds.
SAFE_ON_ARC, ROOM_ON_ARC = 0.003, 0.015

#: What is left of the size that a name on an arc is to have where it stands free.
EXACT_ON_ARC = 0.0015

#: Resized lettering keeps this share of room, so that a place for it is found at once.
HAIR = 1e-4

#: Most outline (mm) of the letters of one name, each on its own: every place along it is looked at. It is that of a
#: dozen script letters half a metre tall; twice as much takes twice the time and memory.
MOST_OUTLINE = 40_000.0

#: Letters that cover more than so many times what the font draws are said to: hairlines are as wide as stems then.
HEAVIER = 2.0

#: A tie between lines longer than this part of its capitals' height is told of. This project's own choice, by pictures
#: of 30 awkward names in ten fonts on 80 x 50 mm: a longer one looks like a stroke of a letter (3 of 358 ties are).
LONG_TIE = 0.4

#: How lettering stands unless it is said.
CENTRED = Standing(place="centre")


def make_lettering(
    ways: Sequence[Way], zone: Region, rules: LetteringRules, *, size: float | None = None, standing: Standing = CENTRED
) -> tuple[Lettering | None, tuple[Finding, ...]]:
    """Make the lettering with the largest letters that the zone allows, or say why there is none.

    `ways` are those to set the same name, best first; `size` forces the em in mm. `standing` says where
    they stand; its level, with its height in em, is that of the baseline (of several lines, the middle between the
    first and the last of the largest). A name that has no place there, or would be much smaller for it, leaves the
    level, and a finding says by how much. The findings carry neither plate nor row: the caller knows them.
    """
    room = prepared(zone)
    level, free = standing.level, replace(standing, level=None)
    for kept in dict.fromkeys((standing, free)):
        for chosen in choices(ways, room, rules, size, kept):
            wanted = size or chosen.largest
            if refused := chosen.refused(wanted) or _too_large(chosen, wanted):
                return None, (refused,)
            resize = size is None and not chosen.setting.arc
            build = _fitting(chosen, room, rules) if size is None else _of_size(chosen, room, rules, size)
            if build is not None and build.slack >= 1 - SHRUNK * resize:
                build = _in_place(build, chosen, room, resize=resize)
                lettering, findings = _finish(build, rules)
                if lettering is not None:
                    lettering = _measured(lettering, build, chosen, room, rules)
                return lettering, findings + _off_level(lettering, build.setting, level if kept == free else None)
    small = () if size is not None or build is None else judged_heights(build.setting, build.size * build.slack, rules)
    if has_errors(small):
        return None, small
    if size is None and build is not None:
        return None, (_never_fits(rules),)
    return None, (_does_not_fit(chosen.setting, size or chosen.largest, build),)


def _measured(lettering: Lettering, build: Build, chosen: Chosen, zone: Zone, rules: LetteringRules) -> Lettering:
    """Add where lettering stands in its zone, and how large its bare letters get there against the largest anywhere."""
    place, standing = build.place, chosen.standing.scaled(build.size)
    assert place is not None
    (x, y), (to_x, to_y) = optical_centre(build.whole, standing.body), zone.middle
    shape = chosen.setting.shape
    anywhere = min(zone.about(shape, Standing("largest")), height_limit(shape, rules))
    share = min(chosen.largest / anywhere, 1.0) if anywhere else 1.0
    return replace(lettering, placed=(x + place.dx - to_x, y + place.dy - to_y), of_largest=share)


def _too_large(chosen: Chosen, size: float) -> Finding | None:
    """Refuse letters with more outline than can be worked on; say up to which height they can."""
    length = sum(g.region.length for g in chosen.setting.glyphs) * size
    if length <= MOST_OUTLINE:
        return None
    box = bounds(chosen.raw)
    tall = (box.y1 - box.y0) * size
    height = math.floor(tall * MOST_OUTLINE / length)
    message = (
        f"the letters would be {tall:.0f} mm tall with {length / 1000:.0f} m of outline, and "
        f"{MOST_OUTLINE / 1000:.0f} m is the most; set lettering.max_height = {height} or less"
    )
    return refusal("too-large", message, measured=length, allowed=MOST_OUTLINE)


def _off_level(lettering: Lettering | None, setting: Setting, level: Level | None) -> tuple[Finding, ...]:
    """Say of a name that left the level by how much."""
    if lettering is None or level is None:
        return ()
    off = setting.level(lettering.baselines) - (level.at - level.height * lettering.size)
    where = "above" if off > 0 else "below"
    message = (
        f"it stands {abs(off):.1f} mm {where} the line that the batch shares: there is no room for it there; a "
        "smaller max_height, a line2 or a larger face helps"
    )
    return (Finding("off-baseline", "warning", message, measured=abs(off), allowed=0.0),)


def _in_place(build: Build, chosen: Chosen, zone: Zone, *, resize: bool) -> Build:
    """Put a build that fits into the middle of the zone; with `resize` it fills the little room that is left."""
    fit, factor = build.place, min(build.slack, 1 + ENLARGED) * (1 - HAIR)
    if fit is None or (fit.scale == 1.0 and build.slack == 1.0):
        return build
    if resize and (factor > 1 or build.slack < 1):
        build = build.resized(factor)
    standing, place = chosen.standing.scaled(build.size), None
    if build.slack < 1 + TIGHT:
        place = zone.at_size(build.whole, standing, near=Fit(1.0, fit.dx, fit.dy))
    return replace(build, place=place or zone.at_size(build.whole, standing))


def _fitting(chosen: Chosen, zone: Zone, rules: LetteringRules) -> Build | None:
    """Build at the size foreseen; step down while it does not fit, up where much room is left.

    What is built last is given where nothing fits.
    """
    least = least_size(chosen.setting, rules)
    on_arc = bool(chosen.setting.arc)
    room = ENLARGED if not on_arc else EXACT_ON_ARC if chosen.standing.place == "anywhere" else ROOM_ON_ARC
    size = min(chosen.largest, max(least, _foreseen(chosen, zone, rules)))
    size *= 1 - SAFE_ON_ARC * on_arc
    build = fitting = None
    for _ in range(MOST_BUILDS):
        if size < least:
            break
        build = built(chosen, zone, rules, size)
        if build.slack < 1 - SHRUNK * (not on_arc):
            size *= 1 - (1 - build.slack) * STEP_BEYOND - STEP_SHORT
        else:
            fitting = build
            if build.slack <= 1 + room or size >= chosen.largest:
                break
            size = min(size * build.slack * (1 - SHORT * min(1.0, room / ENLARGED)), chosen.largest)
        if fitting is not None and size <= fitting.size:
            break
    return build if fitting is None else fitting


def _of_size(chosen: Chosen, zone: Zone, rules: LetteringRules, size: float) -> Build:
    """Build at a size; where that is a hair too large, resize the largest that fits.

    Ties and webs are not quite the same at every size, so that what fits resized may not when it is built.
    """
    build = built(chosen, zone, rules, size)
    if chosen.setting.arc or not 1 - ENLARGED < build.slack < 1:
        return build
    other = _fitting(chosen, zone, rules)
    if other is None or not 1 - SHRUNK <= size / other.size <= min(other.slack, 1 + ENLARGED):
        return build
    return other.resized(size / other.size)


def _foreseen(chosen: Chosen, zone: Zone, rules: LetteringRules) -> float:
    """Foresee the size at which the letters fit once their thin strokes are widened: a little less than it will be."""
    size = chosen.largest
    if not rules.tied:
        return size
    letters = [moved(g.region, scale=size) for g in chosen.setting.cut if not g.region.is_empty]
    bow = chosen.setting.bow
    clear = readable(letters, rules.web, arc=None if bow is None else bow.scaled(size))
    grown = [new for new, old in zip(clear, letters, strict=True) if new is not old]
    bare = chosen.cut
    coarse = simplified(moved(bare, scale=size), COARSE)
    thick = approximately_thickened(union(coarse, *grown), rules.web)
    if thick.area <= bare.area * size**2 * (1 + SAME):
        return size
    if chosen.setting.is_partly_scored:
        thick = union(thick, moved(chosen.raw, scale=size))
    slack = min(zone.growth(thick, chosen.standing.scaled(size)), height_limit(thick, rules), 1.0)
    return size * slack * (1 - SHORT)


def _finish(build: Build, rules: LetteringRules) -> tuple[Lettering | None, tuple[Finding, ...]]:
    setting = build.setting
    small = judged_heights(setting, build.size, rules)
    if has_errors(small):
        return None, small
    place = build.place
    if place is None:
        return None, (_does_not_fit(setting, build.size, build),)
    region = moved(build.region, place.dx, place.dy)
    if not build.holds:
        return None, (_too_thin(weakest(region, rules.web), rules),)
    pieces = len({g.word for g in setting.cut}) if setting.mode == "loose" else 1
    if not rules.tied:
        pieces = len(solids(region))
    if len(solids(region)) != pieces:
        return None, (not_one_piece(len(solids(region)), pieces),)
    lettering = Lettering(
        region=region,
        size=build.size,
        letter_height=build.size * setting.cap_height,
        lines=setting.lines,
        pieces=pieces,
        slant=setting.slant,
        neck=_weakest(build, rules, region, place),
        baselines=tuple(y * build.size + place.dy for y in setting.baselines),
        letters=_letters(build, place),
        origin=(place.dx, place.dy),
        line_places=_line_places(build, place),
        scored=moved(build.scored, place.dx, place.dy),
        arc=None if setting.bow is None else setting.bow.scaled(build.size, place.dx, place.dy),
        between_words=moved(build.between_words, place.dx, place.dy),
    )
    return lettering, (*small, *_heavier(build, rules), *_long_tie(build))


def not_one_piece(count: int, pieces: int) -> Finding:
    """Say that a lettering is so many solids, and should be another number of `pieces`."""
    message = (
        f"the lettering comes in {count} pieces instead of {pieces}; another font, a larger face or a text without the "
        "letters that stay loose helps"
    )
    return refusal("not-one-piece", message, count, pieces)


def _line_places(build: Build, place: Fit) -> tuple[LinePlace, ...]:
    """Give the font and size of each line of a build, and where its middle lies once it is placed."""
    setting, places = build.setting, []
    for style, shape in zip(setting.styles, setting.inks, strict=True):
        x, y = bounds(shape).centre
        at = (x * build.size + place.dx, y * build.size + place.dy)
        places.append(LinePlace(style.font.name, style.em * build.size, *at, scored=style.scored))
    return tuple(places)


def _letters(build: Build, place: Fit) -> tuple[LetterBox, ...]:
    """Give where the letters of a build lie once it is placed."""
    drawn = [g for g in build.setting.cut if g.text]
    boxes = [bounds(moved(g.region, place.dx, place.dy, scale=build.size)) for g in drawn]
    return tuple(LetterBox(g.text, *box) for g, box in zip(drawn, boxes, strict=True))


def _heavier(build: Build, rules: LetteringRules) -> tuple[Finding, ...]:
    """Say when the minimum web changes how the font looks."""
    times = build.region.area / (build.setting.cut_shape.area * build.size**2)
    if times <= HEAVIER or not rules.tied:
        return ()
    message = (
        f"its letters come out {times:.1f} times as heavy as the font draws them, to be {rules.web:g} mm wide "
        "everywhere; a sturdier font, larger letters or a smaller min_web keeps the font's look"
    )
    return (Finding("letters-heavier", "note", message, measured=times, allowed=HEAVIER),)


def _long_tie(build: Build) -> tuple[Finding, ...]:
    """Say when a tie between lines looks like a stroke."""
    most = LONG_TIE * build.size * build.setting.cap_height
    if build.between_lines <= most:
        return ()
    message = (
        f"its lines are joined by a tie of {build.between_lines:.1f} mm, which shows (up to {most:.1f} mm looks like a "
        "part of the letters); break the name elsewhere (a | in its cell) or give it another font"
    )
    return (Finding("long-tie", "note", message, measured=build.between_lines, allowed=most),)


def _weakest(build: Build, rules: LetteringRules, region: Region, place: Fit) -> Neck | None:
    """Find the weakest neck of a build that has become this region at its place."""
    if not rules.tied or rules.thickness is None:
        return None
    if build.graph is None:
        return weakest_neck(region, thickness=rules.thickness, load=rules.load)
    neck = weakest_neck(build.region, thickness=rules.thickness, load=rules.load, graph=build.graph)
    return None if neck is None else replace(neck, x=neck.x + place.dx, y=neck.y + place.dy)


def _does_not_fit(setting: Setting, size: float, build: Build | None) -> Finding:
    where = f"the face, with its arc of {setting.arc:g} mm," if setting.arc else "the face"
    if build is None:
        height = size * setting.lowest
        which = "" if setting.is_plain else f" on its line “{setting.lines[setting.lowest_line]}”"
        message = (
            f"{where} has room for small letters of {height:.1f} mm only{which}, too low for strokes as wide as "
            "min_web; give it more lines, a larger face, a shorter text or a smaller min_web"
        )
        return refusal("letters-too-small", message, height)
    message = (
        f"at a size of {size:.1f} mm the lettering does not fit {where.rstrip(',')}; {size * build.slack:.1f} mm would"
    )
    return refusal("zone-too-small", message, size, size * build.slack)


def _never_fits(rules: LetteringRules) -> Finding:
    message = f"no size was found at which its letters, with strokes as wide as min_web = {rules.web:g}, fit the face"
    return refusal("zone-too-small", f"{message}; {STURDIER}")


def _too_thin(place: tuple[float, float, float] | None, rules: LetteringRules) -> Finding:
    if place is None:
        return refusal("web-too-thin", f"a stroke stays thinner than min_web = {rules.web:g} mm; {STURDIER}")
    x, y, width = place
    message = (
        f"a stroke at ({x:.1f}, {y:.1f}) is {width:.2f} mm wide and stays thinner than min_web = {rules.web:g} mm; "
        f"{STURDIER}"
    )
    return refusal("web-too-thin", message, width, rules.web)
