"""From the ticket's `[face]` to the face every plate of the batch has."""

from __future__ import annotations

from collections.abc import Iterator

from nameplate.errors import FaceError
from nameplate.face.drawing.face_outline import read_face_drawing
from nameplate.face.drawing.on_face import Drawing
from nameplate.face.drawing.roles import AROUND
from nameplate.face.shapes import outline
from nameplate.findings import Finding
from nameplate.geometry import region
from nameplate.geometry.region import EMPTY, Region
from nameplate.geometry.ruggedness import LEAST_OFFSET, MOST_RUGGED, ruggedness
from nameplate.model import Face
from nameplate.ticket.checks import face_problems
from nameplate.ticket.lettering_schema import LARGEST_FACE
from nameplate.ticket.schema import NO_FACE, FaceKeys

#: A size (mm) that lettering of a name which stands free is not kept from reaching, where the other one was asked for.
ANY_SIZE = 2 * LARGEST_FACE

#: A drawn zone may stick out of the face by this share of its area before it is worth a word.
ZONE_OUTSIDE = 0.001

#: An inner contour over this share of the face is likelier a line with a width, drawn as two outlines, than a hole.
LARGE_KEEP_OUT = 0.8

#: Lettering stays this far (mm) inside a line drawn round most of the face. Common practice: a line's width and more.
RIM_CLEARANCE = 1.0

#: Pieces of a zone under this area (mm2) hold no letter worth cutting.
LEAST_PIECE = 25.0


def make_face(keys: FaceKeys) -> tuple[Face, tuple[Finding, ...]]:
    """Make the face from the ticket's keys: outline, keep-outs and zone, with the outline's box centred on the origin.

    Raises FaceError, with every problem, when the keys contradict each other, the drawing cannot be used, or no zone
    is left inside the inset.
    """
    problems = [text for _, text in face_problems(keys)]
    if keys.holes and keys.file:
        problems.append(
            f"[face] holes belong to a shape; draw them in {keys.file.name}, where round shapes inside the outline are "
            "holes"
        )
    elif keys.holes and keys.stands_free:
        problems.append("[face] holes belong to a shape; a name that stands free hangs by a ring, like ring = 4")
    if problems:
        raise FaceError(problems)
    if keys.stands_free:
        return _no_face(keys)
    drawing = _drawing(keys)
    try:
        _check_ruggedness(keys, drawing)
        zone = _zone(keys, drawing)
        if zone.is_empty:
            raise FaceError(_no_zone(keys, drawing))
    except FaceError as error:  # most of what is wrong with a drawing of an unknown unit comes from that
        unsure = [f.message for f in drawing.findings if f.code == "drawing-no-unit"]
        raise FaceError([*unsure, *error.problems]) from error
    name = keys.shape or (keys.file.stem if keys.file else "")
    artwork = region.union(drawing.hatched, *_rims(drawing)[1])
    scored = (*(line for shape in drawing.drawn for line in region.closed_lines(shape)), *drawing.scored)
    face = Face(drawing.outline, zone, drawing.keep_outs, name, artwork, drawing.hatched, scored, keys.cut)
    return face, (*drawing.findings, *_zone_findings(drawing))


def _no_face(keys: FaceKeys) -> tuple[Face, tuple[Finding, ...]]:
    """Give what stands for the face of names that stand free: the rectangle that lettering of the asked size fills."""
    room = outline("rectangle", keys.width or ANY_SIZE, keys.height or ANY_SIZE)
    face = Face(room, room, EMPTY, NO_FACE, free=True, ring=keys.ring, ring_at=keys.ring_at)
    return face, (Finding("face-size", "note", f"names stand free, {_asked_size(face)}"),)


def _asked_size(face: Face) -> str:
    """Say how large the lettering of names that stand free is to be."""
    box = region.bounds(face.outline)
    if max(box.width, box.height) < ANY_SIZE:
        return f"no larger than {box.width:.1f} x {box.height:.1f} mm"
    return f"{box.width:.1f} mm wide" if box.height >= ANY_SIZE else f"{box.height:.1f} mm high"


def _zone(keys: FaceKeys, drawing: Drawing) -> Region:
    """Give where lettering may lie: in the drawn zone, else so far inside the outline and off all that is within it."""
    if drawing.zone is not None:
        zone = region.difference(region.intersection(drawing.zone, drawing.outline), _inner(drawing))
    else:
        room = region.offset(drawing.outline, -keys.inset)
        zone = region.difference(room, region.offset(_inner(drawing), keys.inset))
    zone = region.union(*(piece for piece in region.solids(zone) if piece.area >= LEAST_PIECE))
    for rim in _rims(drawing)[0]:
        zone = region.intersection(zone, region.offset(rim, -RIM_CLEARANCE))
    return zone


def face_words(face: Face) -> str:
    """Say how large a face is, and how many holes it has; without one how large names are to be.

    >>> face_words(make_face(FaceKeys(shape="none", height=60))[0])
    'none, names 60.0 mm high'
    >>> face_words(make_face(FaceKeys(shape="none", width=200, height=60))[0])
    'none, names no larger than 200.0 x 60.0 mm'
    >>> face_words(Face(region.rectangle(0, 0, 90, 60), EMPTY, region.rectangle(1, 1, 2, 2), "rectangle"))
    '90.0 x 60.0 mm, 1 hole'
    """
    if face.free:
        return f"none, names {_asked_size(face)}"
    box, holes = region.bounds(face.outline), len(region.solids(face.keep_outs))
    return f"{box.width:.1f} x {box.height:.1f} mm, {holes or 'no'} hole{'' if holes == 1 else 's'}"


def _rims(drawing: Drawing) -> tuple[list[Region], list[Region]]:
    """Part what is to be scored or asked about into what goes round most of the face, and the rest."""
    shapes, around = (*drawing.drawn, *drawing.unclear), AROUND * drawing.outline.area
    return [s for s in shapes if s.area > around], [s for s in shapes if s.area <= around]


def _drawing(keys: FaceKeys) -> Drawing:
    if keys.file is not None:
        return read_face_drawing(
            keys.file, width=keys.width, height=keys.height, symmetry=keys.symmetry, roles=dict(keys.roles)
        )
    # only a circle comes here with one of the two missing
    width = keys.width or keys.height or 0.0
    shape = outline(keys.shape or "", width, keys.height or width, keys.radius)
    return Drawing(shape, _holes(keys, shape))


def _holes(keys: FaceKeys, shape: Region) -> Region:
    """Make the holes of a shape; raises FaceError for those that break out of it or into each other."""
    problems, made = [], EMPTY
    for x, y, diameter in keys.holes:
        hole, words = region.disc((x, y), diameter), f"[face] holes: [{x:g}, {y:g}, {diameter:g}]"
        if not region.covers(shape, hole):
            box = region.bounds(shape)
            size = f"{keys.shape} of {box.width:g} x {box.height:g} mm"
            problems.append(f"{words} breaks out of the {size}; x and y count from its middle")
        elif not region.intersection(made, hole).is_empty:
            problems.append(f"{words} runs into another hole; move one of them")
        made = region.union(made, hole)
    if problems:
        raise FaceError(problems)
    return made


def _check_ruggedness(keys: FaceKeys, drawing: Drawing) -> None:
    """Refuse outlines that would take minutes and gigabytes to keep clear of."""
    place = f"{keys.file.name}: " if keys.file else ""
    reach = max(keys.inset, LEAST_OFFSET)
    for what, shape in (("outline turns", drawing.outline), ("shapes inside the outline turn", _inner(drawing))):
        found = ruggedness(shape, reach)
        if found > MOST_RUGGED:
            raise FaceError(
                f"{place}the {what} too often in little room to keep lettering {keys.inset:g} mm away (ruggedness "
                f"{found:.2g}, the most is {MOST_RUGGED:.2g}); simplify the drawing: fewer teeth, dots or zigzags"
            )


def _inner(drawing: Drawing) -> Region:
    """Give all that lettering keeps clear of inside the outline."""
    return region.union(drawing.keep_outs, drawing.hatched, *_rims(drawing)[1])


def _no_zone(keys: FaceKeys, drawing: Drawing) -> str:
    box = region.bounds(drawing.outline)
    place = f"{keys.file.name}: " if keys.file else ""
    size = f"the face of {box.width:.4g} x {box.height:.4g} mm"
    if drawing.zone is not None:
        return f"{place}the drawn zone leaves no room for lettering on {size}; draw it inside the outline"
    covered = _inner(drawing).area / drawing.outline.area
    if covered > LARGE_KEEP_OUT:
        return (
            f"{place}a shape inside the outline covers {covered:.0%} of {size}, so no room is left for lettering; "
            "if the outline is a line drawn with two edges, delete the inner one; if it is a line to score, give it "
            'the role "score" in [face] roles'
        )
    return f"{place}an inset of {keys.inset:g} mm leaves no room for lettering on {size}; make the inset smaller"


def _zone_findings(drawing: Drawing) -> Iterator[Finding]:
    if drawing.zone is None:
        return
    outside = region.difference(drawing.zone, drawing.outline).area / drawing.zone.area
    if outside > ZONE_OUTSIDE:
        message = f"{outside:.1%} of the drawn zone lies outside the outline and is not used; draw it inside"
        yield Finding("zone-outside-outline", "warning", message, measured=outside, allowed=ZONE_OUTSIDE)
