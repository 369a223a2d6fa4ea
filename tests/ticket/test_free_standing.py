"""Tickets of names that stand free: what `shape = "none"` asks for, and what does not go with it."""

import pytest

from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.materials import needed_materials
from nameplate.ticket.quick import quick_ticket
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import FaceKeys, Ticket

TICKET = """[job]
roster = "names.csv"
{face}
[[stock]]
width = 600
height = 300
"""
FREE = '[face]\nshape = "none"\nheight = 60\n'
PLAQUE = '[face]\nshape = "ellipse"\nwidth = 110\nheight = 80\ncut = true\ninset = 9\n'
BLANK = '[[stock]]\nmaterial = "blank"\nwidth = 600\nheight = 300\n'


def test_it_needs_no_jig_and_no_template_stock(write):
    ticket = read_ticket(write(TICKET.format(face=FREE)))
    assert ticket.own_jig.style == "none" and needed_materials(ticket) == ("lettering",)
    assert [sheet.material for sheet in ticket.stock] == ["lettering"]


@pytest.mark.parametrize(
    ("face", "part"),
    [
        ('[face]\nshape = "none"\n', "face.height is missing"),
        (FREE + "cut = true\n", "face.cut is for a plaque"),
        (FREE + "inset = 3\n", "face.inset is for a plaque"),
        (FREE + 'ring_at = "ends"\n', "face.ring, their bore, is missing"),
        (FREE + "ring = 0.4\n", "at least 1 mm"),
        (FREE + '[lettering]\nwords = "loose"\n', 'write words = "tie"'),
        (FREE + '[lettering]\nmount = "backed"\n', 'write mount = "applied"'),
        (FREE + "[lettering]\nmax_height = 40\n", "less than face.height = 60"),
        (FREE + '[jig]\nstyle = "carrier"\n', "take [jig] out"),
        ('[face]\nshape = "ellipse"\nwidth = 90\nheight = 60\nring = 4\n', "face.ring is only for"),
    ],
)
def test_what_does_not_go_with_it_is_told_with_what_to_do(problems, face, part):
    (problem,) = problems(TICKET.format(face=face))
    assert part in problem and problem.startswith("job.toml, line ")


def test_a_line_cannot_be_scored_where_there_is_no_plaque(problems):
    """Nor is the ticket told to have a plaque cut, which it has not."""
    (problem,) = problems(TICKET.format(face=FREE) + '[[line]]\ntext = "{name}"\noperation = "score"\n')
    assert "no plaque to score it on" in problem


def test_a_design_that_stands_free_takes_over_nothing_of_a_plaque(write):
    ticket = read_ticket(
        write(TICKET.format(face=PLAQUE) + BLANK + '[design.gate]\nface = { shape = "none", height = 60, ring = 4 }\n')
    )
    gate = ticket.of("gate")
    assert gate.face == FaceKeys(shape="none", height=60.0, ring=4.0)
    assert needed_materials(gate) == ("lettering",) and "template" in needed_materials(ticket)
    assert (gate.own_jig.style, ticket.own_jig.style) == ("none", "template")


def test_a_plaque_takes_over_nothing_of_names_that_stand_free(write):
    design = '[design.oval]\nface = { shape = "ellipse", width = 90, height = 70 }\n'
    ticket = read_ticket(write(TICKET.format(face=FREE + "ring = 5\n") + design))
    assert ticket.of("oval").face == FaceKeys(shape="ellipse", width=90.0, height=70.0)


def test_a_design_with_the_other_measure_has_that_alone(write):
    ticket = read_ticket(write(TICKET.format(face=FREE + "ring = 5\n") + "[design.wide]\nface = { width = 300 }\n"))
    assert ticket.of("wide").face == FaceKeys(shape="none", width=300.0, ring=5.0)


def test_problems_of_a_design_name_it(problems):
    design = '[lettering]\nmount = "pierced"\n[design.gate]\nface = { shape = "none", height = 60 }\n'
    (problem,) = problems(TICKET.format(face=PLAQUE) + BLANK + design)
    assert 'design.gate.face.shape = "none"' in problem and 'write mount = "applied"' in problem
    idle = '[design.gate]\nface = { shape = "none", height = 60 }\njig = { style = "carrier" }\n'
    (problem,) = problems(TICKET.format(face=PLAQUE) + BLANK + idle)
    assert "take [design.gate.jig] out" in problem


def test_one_measure_is_one_line_and_both_break_lines_as_on_a_face():
    def words(**keys):
        return Ticket(face=FaceKeys(shape="none", **keys)).own_lettering.words

    assert (words(width=200), words(height=60), words(width=200, height=60)) == ("tie", "tie", "auto")
    stack = LetteringKeys(words="stack")
    assert Ticket(face=FaceKeys(shape="none", width=200), lettering=stack).own_lettering == stack


def test_a_list_alone_can_stand_free(write):
    roster = write("name\nAda\n", "few.csv")
    ticket = quick_ticket(roster=roster, face="none:200x60", sheet="600x300")
    assert ticket.face == FaceKeys(shape="none", width=200.0, height=60.0)
    assert needed_materials(ticket) == ("lettering",)
