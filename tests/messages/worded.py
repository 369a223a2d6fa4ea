"""Messages to which a job leads seldom, slowly, or by a fault of the program, asked of the function that words them.

What its description says stands in the list in place of a command.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from nameplate.cut.cut_free import CutFree, remarks_on
from nameplate.cut.expectation import ExpectedPart, SheetExpectation
from nameplate.cut.inspect import examine
from nameplate.cut.inspect_files import judge_same_lines
from nameplate.cut.kerf import toolpath
from nameplate.cut.machine import CutStyle
from nameplate.cut.read_back import read_text
from nameplate.errors import GeometryError
from nameplate.face.drawing.notes import Notes
from nameplate.face.making import make_face
from nameplate.findings import Finding
from nameplate.geometry import region
from nameplate.geometry.beam import Kerf
from nameplate.jig import make as jig_make
from nameplate.jig.closure import joined
from nameplate.jig.contacts import Nubs
from nameplate.jig.locating import judge_gap
from nameplate.jig.play import Motions
from nameplate.jig.window import Opening
from nameplate.job import labelling, plate_stage, verdict
from nameplate.job.prepare import Batch
from nameplate.lettering import making, scoring
from nameplate.lettering.legibility import LetterRead, legibility_findings
from nameplate.lettering.rules import LetteringRules
from nameplate.model import Order, Part, Plate
from nameplate.nest import groups, nesting, stored, verify
from nameplate.nest.layout import Layout, Piece, Placement, SheetLayout
from nameplate.nest.sheets import Rules
from nameplate.page.compared import compared
from nameplate.page.edits import NameList
from nameplate.plates import free_standing, mounts
from nameplate.plates.make import PlateWork
from nameplate.plates.typeset import fonts_of
from nameplate.pool.interface import Failure, given_up
from nameplate.roster.delimited_text import CellTable
from nameplate.roster.header import read_header
from nameplate.roster.reader import Roster, Row
from nameplate.ticket.cautions import material_findings
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.ticket.wall_schema import WallKeys
from nameplate.ticket.workshop_schema import MaterialKeys
from nameplate.wall.shapes import hanger_findings

ORDER = Order("001", 2, "Wren Abara")
KEYS = LetteringKeys()


@dataclass(frozen=True)
class Worded:
    """Findings that are asked of one function, by small values; its description says who words them."""

    title: str
    findings: Callable[[], Iterable[Finding]]


def square(x: float, y: float, side: float = 20.0) -> region.Region:
    return region.rectangle(x, y, x + side, y + side)


# --- cut files ------------------------------------------------------------------------------------------------------


def cut_square(plate: str, x: float, y: float, side: float = 20.0) -> str:
    """Give a path of a cut file (y down from the top of a sheet 100 mm high) round a square, half of 0.2 mm outside."""
    low, high = x - 0.1, x + side + 0.1
    top, bottom = 100 - y - side - 0.1, 100 - y + 0.1
    ring = f"M{low:g} {top:g}L{high:g} {top:g}L{high:g} {bottom:g}L{low:g} {bottom:g}Z"
    return f'<path data-plate="{plate}" data-part="lettering" data-copy="1" fill="none" d="{ring}"/>'


def group(operation: str, paths: str) -> str:
    return f'<g data-operation="{operation}" fill="none" stroke="#000000" stroke-width="0.1">{paths}</g>'


def a_sheet() -> Iterable[Finding]:
    """the inspection of a sheet"""
    label = np.array([(20.0, 20.0), (24.0, 20.0)])
    parts = (
        ExpectedPart("001", "lettering", 1, 1, square(10, 10), marks=(), labels=(label,)),
        ExpectedPart("002", "lettering", 1, 1, square(31, 10)),
        ExpectedPart("003", "lettering", 1, 1, square(97, 10, 2)),
        ExpectedPart("004", "lettering", 1, 1, square(60, 60)),
    )
    cuts = (
        cut_square("001", 10, 10),
        cut_square("002", 31, 10),
        cut_square("003", 97, 10, 4),
        cut_square("009", 10, 60),
        cut_square("008", 12, 62, 2),
        cut_square("007", 40, 60),
        cut_square("006", 40, 60),
        cut_square("", 10, 60),
        cut_square("010", 60, 10).replace("L", "Q"),
        "<text/>",
    )
    score = cut_square("001", 12, 86, 2).replace("Z", "")
    groups = group("score", score) + group("engrave", "") + group("cut-outside", "".join(cuts))
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{groups}</svg>'
    expected = SheetExpectation("lettering", 101.0, 100.0, Kerf.of(0.2), 2.0, 5.0, parts)
    return examine(read_text(text, "lettering-01.svg"), expected, "lettering-01.svg").findings


def cut_open(plate: str, x: float, marks: str, data: str) -> str:
    """Give a path as `cut_square` does, at a height of 40 mm, with these attributes and this data for its own."""
    return re.sub(r' d="[^"]+"', f' {marks} d="{data}"', cut_square(plate, x, 40.0))


def parts_that_hang() -> Iterable[Finding]:
    """the inspection of a sheet whose parts hang by tabs"""
    paths = (
        cut_open("001", 10.0, 'data-arc="1/1"', "M20.4 39.9L30.1 39.9L30.1 60.1L9.9 60.1L9.9 39.9L19.2 39.9"),
        cut_open("002", 40.0, 'data-lead-in="1"', "M39.9 38.9L39.9 39.9L60.1 39.9L60.1 60.1L39.9 60.1L39.9 39.9"),
        cut_open("003", 70.0, "", "M69.9 39.9L90.1 39.9L90.1 60.1L69.9 60.1"),
    )
    groups = group("cut-inside", cut_square("001", 15.0, 45.0, 2.0)) + group("cut-outside", "".join(paths))
    said = 'width="100mm" height="100mm" viewBox="0 0 100 100" data-cuts="lead-ins tabs"'
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {said}>{groups}</svg>'
    style = CutStyle(by_part=True, lead_in=2.0, tabs=1)
    parts = (
        ExpectedPart("001", "lettering", 1, 1, square(10, 40)),
        ExpectedPart("002", "lettering", 1, 1, square(40, 40)),
    )
    tabs = np.array([(10.0, 50.0)])
    expected = SheetExpectation("lettering", 100.0, 100.0, Kerf.of(0.2), 12.0, 5.0, parts, style=style, tabs=tabs)
    found = examine(read_text(text, "lettering-01.svg"), expected, "lettering-01.svg").findings
    yield from (f for f in found if f.code in ("cut-style", "tab", "lead-in", "open-cut", "burning-order"))


def how_parts_come_free() -> Iterable[Finding]:
    """the run, of tabs and lead-ins"""
    for own in (CutFree(np.zeros((9, 2)), ("004", "007"), 30, 12, 2), CutFree(led=30, not_led=12)):
        yield from remarks_on({"cut/lettering-01.svg": own}, CutStyle(lead_in=2.0, tabs=3))


def another_form() -> Iterable[Finding]:
    """the inspection of a DXF beside its cut file"""
    paths = "".join(cut_square(plate, x, 10) for plate, x in (("001", 10), ("002", 40)))
    text = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{}</svg>'
    want = read_text(text.format(group("cut-outside", paths)), "lettering-01.svg").paths
    return judge_same_lines(want[1:], want, "lettering-01.dxf", "lettering-01.svg")


def sheets_left_out() -> Iterable[Finding]:
    """the run, of a sheet that does not come out right"""
    at = Placement("001", "lettering", 1, 1, 10.0, 10.0, 0.0)
    layout = Layout((SheetLayout("lettering", 600, 300, 0, 0.0, (at,)),))
    batch = Batch(Ticket(), {}, (PlateWork(Plate(ORDER, None)),), (), layout, (), None)  # type: ignore[arg-type]
    return verdict.leaving_out(batch, {"cut/lettering-01.svg": ["it cannot be read back"]}).findings


# --- layouts --------------------------------------------------------------------------------------------------------


def piece(plate: str, shape: region.Region) -> Piece:
    return Piece(plate, "lettering", 1, 1, "lettering", shape)


def a_layout() -> Iterable[Finding]:
    """the check of a layout"""
    ring = region.difference(square(0, 0, 60), square(20, 20, 20))
    pieces = [piece("001", ring), *(piece(plate, square(0, 0, 10)) for plate in ("002", "003", "004", "005"))]
    places = {"001": (20, 20, 0), "002": (45, 45, 0), "003": (81, 30, 0), "004": (1, 1, 45)}
    placements = tuple(Placement(plate, "lettering", 1, 1, *map(float, at)) for plate, at in places.items())
    layout = Layout((SheetLayout("lettering", 200, 100, 0, 0.0, placements),))
    return verify.verify(layout, pieces, Rules(gap=2.0, edge=5.0))


def a_stored_layout() -> Iterable[Finding]:
    """a run with --layout"""
    one = piece("001", square(0, 0))
    return stored.left_out(Layout(unplaced=(one.key,)), [one])


def a_nest() -> Iterable[Finding]:
    """the nest"""
    yield nesting._interrupted("lettering")
    yield groups.worker_failed(250, "took longer than 240 seconds and was given up")


# --- names ----------------------------------------------------------------------------------------------------------


def a_name_given_up() -> Iterable[Finding]:
    """the run, of a name that has no result"""
    for failure in (given_up("longer than 20 seconds"), Failure("made its worker process stop without a result")):
        yield from plate_stage._lost(ORDER, failure).plate.findings


def a_name_that_cannot_be_cut() -> Iterable[Finding]:
    """the run, of lines for the beam"""
    narrow = region.difference(square(0, 0), region.rectangle(5, 5, 5.1, 15))
    try:
        toolpath(Part("001", "lettering", "lettering", narrow), 0.2)
    except GeometryError as error:
        yield from mounts.refusals("cannot-be-cut", error)


def a_name_hatched_too_closely() -> Iterable[Finding]:
    """the run, of hatch lines"""
    try:
        scoring.hatch(square(0, 0, 600), 0.05)
    except GeometryError as error:
        yield from mounts.refusals("cannot-be-hatched", error)


def lettering_refused() -> Iterable[Finding]:
    """the run, of finished letters"""
    rules = LetteringRules(web=1.5)
    yield making._too_thin((12.0, 3.0, 1.31), rules)
    yield making._too_thin(None, rules)
    yield making.not_one_piece(2, 1)
    yield mounts.plate_too_thin(ORDER, KEYS)
    yield free_standing.no_ring(ORDER, 60.0, KEYS)


def hard_to_read() -> Iterable[Finding]:
    """the run, of a name cut through a plate"""
    return legibility_findings(
        "Wren Abara", [LetterRead("the 1st a", 0.1), LetterRead("the b", 0.9)], pierced=True, refuse=True
    )


def fonts_of_rows() -> Iterable[Finding]:
    """the run, of a row's font"""
    keys = LetteringKeys(font=("Pacifico",), weight=700)
    return fonts_of(keys, Path(), Order("001", 2, "Wren Abara", fonts=("Lobster",)))[1]


def forbidden() -> Iterable[Finding]:
    """a coupon of a material"""
    return material_findings(Ticket(material={"lettering": MaterialKeys(name="PVC foam")}))


# --- jigs and faces -------------------------------------------------------------------------------------------------


def jigs() -> Iterable[Finding]:
    """the run, of a jig"""
    window = region.difference(square(-10, -10, 40), square(-0.05, -0.05, 20.1))
    yield from judge_gap(window, square(0, 0), ORDER, JigKeys())
    yield jig_make.not_keyed(ORDER, ["turned by 180 degrees"])
    nubs = Nubs(joined(), Motions(np.zeros((0, 3)), np.zeros(2)), held=False)
    yield from jig_make._judge_nubs(Opening(window, "window", (nubs,)), ORDER)


def roles_of_paths() -> Iterable[Finding]:
    """the run, of a drawing; on the screen it is said with the face's size"""
    notes = Notes()
    notes.taken("hole", "<circle id='hook'>")
    return notes.findings(Path("face.svg"))


def ids_on_the_waste() -> Iterable[Finding]:
    """the run, of ids that are scored beside the parts"""
    yield labelling._left_out("cut/lettering-01.svg", ["001", "002"])


def a_hanger() -> Iterable[Finding]:
    """the run, of a wall whose hanger is off the plaque"""
    keys = FaceKeys(shape="ellipse", width=110, height=80)
    return hanger_findings(WallKeys(width=900, hanger=((0.0, 60.0),)), (ORDER,), {"": make_face(keys)[0]}, {})


def names_that_come() -> Iterable[Finding]:
    """the page, of names that were pasted beside those of the list"""
    table = CellTable((("name",), ("Wren Abara",), ("Mary Smith",)))
    names = NameList(Path("names.csv"), b"name\nWren Abara\nMary Smith\n", table, read_header(table, "names.csv"))
    return compared(Roster((Row(2, "Mary Smyth"), Row(3, "Wren Abara"))), names)


WORDED = (
    Worded("names that are on the list already, or nearly", names_that_come),
    Worded("a sheet with everything wrong", a_sheet),
    Worded("another form of a sheet that lacks a line", another_form),
    Worded("a sheet that is left out", sheets_left_out),
    Worded("a layout with everything wrong", a_layout),
    Worded("a stored layout that has no place for a piece", a_stored_layout),
    Worded("a nest that was interrupted, or lost a worker", a_nest),
    Worded("a name that takes too long, or ends its process", a_name_given_up),
    Worded("a part that the kerf would close", a_name_that_cannot_be_cut),
    Worded("hatch lines that are too close", a_name_hatched_too_closely),
    Worded("letters that cannot be made", lettering_refused),
    Worded("a name whose letters are not clear", hard_to_read),
    Worded("a weight that a row's font has not", fonts_of_rows),
    Worded("a coupon of a material that must not be cut", forbidden),
    Worded("jigs that do not hold", jigs),
    Worded("what a drawing has besides its outline", roles_of_paths),
    Worded("ids without room beside their parts", ids_on_the_waste),
    Worded("a wall whose plaques cannot hang as it says", a_hanger),
    Worded("a sheet whose parts hang otherwise than they should", parts_that_hang),
    Worded("parts that hang by tabs, and cuts that begin in the waste", how_parts_come_free),
)
