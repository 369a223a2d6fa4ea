"""Designs of a ticket: which keys they lay over its own, what they are cut from, and every slip in them."""

from __future__ import annotations

import pytest

from nameplate.errors import TicketError
from nameplate.ticket.checks import is_complete, tickets_of
from nameplate.ticket.materials import needed_materials
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.workshop import read_workshop

JOB = '[job]\nroster = "names.csv"\n'
FACE = '[face]\nshape = "rounded"\nwidth = 110\nheight = 80\nradius = 8\n'
SHEETS = "[[stock]]\nwidth = 600\nheight = 300\n"
MIRROR = '[material.mirror]\nname = "mirror acrylic"\n[[stock]]\nmaterial = "mirror"\nwidth = 400\nheight = 300\n'


def test_a_design_takes_its_own_keys_over_those_of_the_ticket(write):
    design = """
[design.gold]
face = { width = "5in" }
lettering = { font = "Lobster" }
materials = { lettering = "mirror" }
[design.gold.jig]
style = "carrier"
[[stock]]
material = "carrier"
width = 600
height = 300
"""
    ticket = read_ticket(write(JOB + FACE + "[lettering]\nmax_height = 30\n" + SHEETS + MIRROR + design))
    gold = ticket.of("gold")
    assert (gold.face.width, gold.face.height, gold.face.radius) == (127.0, 80.0, 8.0)
    assert (gold.lettering.font, gold.lettering.max_height) == (("Lobster",), 30.0)
    assert (gold.jig.style, ticket.jig.style) == ("carrier", "template")
    assert needed_materials(gold) == ("mirror", "template", "carrier")
    assert needed_materials(ticket) == ("lettering", "template")
    assert ticket.material["mirror"].name == "mirror acrylic"
    assert [one.design for one in tickets_of(ticket)] == ["", "gold"]


def test_a_design_of_another_form_leaves_what_belongs_to_the_form_alone(write):
    write("<svg/>", "leaf.svg")
    forms = """
[design.drawn]
face = { file = "leaf.svg" }
[design.round]
face = { shape = "circle", width = 60 }
[design.oval]
face = { shape = "ellipse" }
[design.same]
face = { shape = "rounded", width = 200 }
"""
    ticket = read_ticket(write(JOB + FACE + SHEETS + forms))
    drawn, ring, oval = (ticket.of(name).face for name in ("drawn", "round", "oval"))
    assert (drawn.shape, drawn.width, drawn.radius, drawn.inset) == (None, None, None, 6.0)
    assert (ring.width, ring.height, ring.radius) == (60.0, None, None)
    assert (oval.width, oval.height, oval.radius) == (110.0, 80.0, None)
    same = ticket.of("same").face
    assert (same.width, same.height, same.radius) == (200.0, 80.0, 8.0)


def test_the_same_drawing_in_another_size_keeps_its_roles_and_any_plaque_is_cut_as_the_ticket_says(write):
    for name in ("plaque.svg", "leaf.svg"):
        write("<svg/>", name)
    face = '[face]\nfile = "plaque.svg"\nwidth = 120\ncut = true\nroles = { rim = "score" }\n'
    forms = '[design.large]\nface = { file = "plaque.svg", width = 160 }\n[design.leaf]\nface = { file = "leaf.svg" }\n'
    blank = '[[stock]]\nmaterial = "blank"\nwidth = 600\nheight = 400\n'
    ticket = read_ticket(write(JOB + face + SHEETS + blank + forms))
    large, leaf = ticket.of("large").face, ticket.of("leaf").face
    assert (large.width, large.height, large.cut, dict(large.roles)) == (160.0, None, True, {"rim": "score"})
    assert (leaf.cut, dict(leaf.roles)) == (True, {})


@pytest.mark.parametrize("face", ["", '[face]\nshape = "ellipse"\n', "[face]\ninset = 3\n"])
def test_a_ticket_whose_designs_have_all_it_takes_needs_no_face_of_its_own(write, face):
    design = '[design.gold.face]\nshape = "hexagon"\nwidth = 90\nheight = 60\n'
    ticket = read_ticket(write(JOB + face + SHEETS + design))
    assert not is_complete(ticket)
    assert [one.design for one in tickets_of(ticket)] == ["gold"]


def test_only_what_a_design_is_cut_from_needs_sheets(write):
    """The ticket's own lettering has none, so that rows need a design; the templates take the size of the mirror's."""
    ticket = read_ticket(write(JOB + FACE + MIRROR + '[design.gold]\nmaterials = { lettering = "mirror" }\n'))
    assert not is_complete(ticket)
    assert [(s.material, s.width) for s in ticket.stock] == [("mirror", 400), ("template", 400)]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[design.gold.face]\nwidth = -3\n", "design.gold.face.width = -3: expected more than 0 mm"),
        ("[design.gold.face]\nwidht = 3\n", "design.gold.face.widht: unknown key; did you mean width?"),
        ('[design.gold]\nfont = "Lobster"\n', "it belongs below [design.gold.lettering]"),
        ("[design.gold]\njigg = 3\n", "design.gold.jigg: unknown key; did you mean jig?"),
        ("[design.gold]\nface = 3\n", "design.gold.face = 3: expected a table"),
        ("[[design]]\n", "[design]: "),
        ("[desing.gold]\n", "[desing]: unknown table; did you mean design?"),
        ("[design.gold]\n[design.Gold]\n", "[design.Gold]: too much like [design.gold]"),
        ('[design." gold"]\n', "expected a name of up to 40 characters"),
        ('[design.gold]\nface = { shape = "circle" }\n', "with what [design.gold] says: face.width = 110 and"),
        ('[design.gold]\nmaterials = { letering = "mirror" }\n', '"letering" is no role; did you mean lettering?'),
        ('[design.gold]\nmaterials = { lettering = "Mirror" }\n', "small letters"),
        ('[design.gold]\nmaterials = { lettering = "../x" }\n', "small letters"),
        ('[design.gold]\nmaterials = { lettering = "con" }\n', "the key of a material"),
        ('[design.gold]\nlettering = { mount = "pierced" }\n', "no sheet size is given for blank: add [[stock]]"),
        ('[[stock]]\nmaterial = "templat"\n', '"templat": unknown material; did you mean template?'),
    ],
)
def test_what_is_wrong_with_a_design_is_told_by_its_keys(problems, text, says):
    found = problems(JOB + FACE + SHEETS + text)
    assert any(says in p for p in found), found


def test_a_face_that_a_design_lacks_is_told_by_its_keys_and_line(problems):
    (problem,) = problems(JOB + SHEETS + '[design.gold]\n[design.gold.face]\nshape = "ellipse"\nheight = 60\n')
    assert problem.startswith('job.toml, line 7, design.gold.face.width is missing: "ellipse" needs it')
    (problem,) = problems(JOB + SHEETS + "[design.gold]\njig = { clearance = 0.1 }\n")
    assert "[design.gold.face] needs a shape" in problem


def test_what_is_wrong_with_a_key_of_all_designs_is_told_once(problems):
    gap = JOB + FACE + SHEETS + "[nest]\ngap = 0.1\n"
    assert problems(gap + "[design.gold]\n[design.silver]\n") == problems(gap)
    (problem,) = problems(JOB + FACE.replace("110", "-1") + SHEETS + "[design.gold]\n[design.silver]\n")
    assert "face.width = -1" in problem


def test_a_material_that_no_role_uses_and_one_that_is_not_there_are_told_with_what_is_near(problems):
    (unused,) = problems(JOB + FACE + SHEETS + "[material.leterring]\nkerf = 0.1\n")
    assert "[material.leterring]: unknown material; did you mean lettering?" in unused
    (unused,) = problems(JOB + FACE + SHEETS + "[material.mirror]\nkerf = 0.1\n")
    assert "[material.mirror]: unknown material; known: backing, blank, carrier, lettering, template" in unused
    (missing,) = problems(JOB + FACE + SHEETS + MIRROR + '[design.gold]\nmaterials = { lettering = "miror" }\n')
    assert 'design.gold.materials.lettering = "miror": there is no [material.miror]; did you mean mirror?' in missing


def test_a_workshop_file_has_materials_that_some_jobs_use(write):
    shop = write(MIRROR, "workshop.toml")
    assert list(read_workshop(shop).material) == ["mirror"]
    ticket = read_ticket(
        write(JOB + FACE + SHEETS + '[design.gold]\nmaterials = { lettering = "mirror" }\n'), shop=shop
    )
    assert ticket.material["mirror"].name == "mirror acrylic"
    plain = read_ticket(write(JOB + FACE + SHEETS), shop=shop)
    assert "mirror" not in plain.material and {s.material for s in plain.stock} == {"lettering", "template"}
    with pytest.raises(TicketError, match="unknown material; did you mean lettering"):
        read_workshop(write("[material.letering]\nkerf = 0.1\n", "other.toml"))


def test_what_is_wrong_with_a_line_of_a_design_is_told_by_its_place(problems):
    (problem,) = problems(JOB + FACE + SHEETS + "[design.gold]\n[[design.gold.line]]\nscale = 0.4\n")
    assert problem.startswith("job.toml, line 12, design.gold.line 1.text: missing"), problem
