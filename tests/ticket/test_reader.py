"""Reading job tickets: the example of the format, every refusal, and all of them at once."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.errors import TicketError
from nameplate.geometry.beam import Kerf, Strip
from nameplate.ticket.keys import KINDS, read_value
from nameplate.ticket.lettering_schema import LineKeys
from nameplate.ticket.quick import quick_ticket
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import SHAPES, DesignKeys
from nameplate.ticket.tables import TABLES
from nameplate.ticket.workshop_schema import MaterialKeys, StockKeys

from .tickets import MINIMAL

FULL = """
[job]
title  = "Orchard sponsors"
roster = "names.csv"

[face]
shape  = "ellipse"
width  = 110
height = 80
inset  = 6

[lettering]
font       = "Pacifico"
mount      = "applied"
words      = "auto"
max_height = 30
size       = "fill"
min_web    = 1.5

[material.lettering]
name = "cast acrylic"
thickness = 3
kerf = 0.18

[material.template]
name = "grey board"
thickness = 1
kerf = 0.15

[[stock]]
material = "lettering"
width = 600
height = 300
price = 11.50

[[stock]]
material = "template"
width = 600
height = 400
price = 2.10

[nest]
gap = 1.5
edge_margin = 5
turns = [0, 180]
engine = "rectangle"

[jig]
style = "template"
clearance = 0.2
"""


def test_the_example_of_the_format_reads_as_written(write):
    ticket = read_ticket(write(FULL))
    assert ticket.job.title == "Orchard sponsors"
    assert (ticket.face.width, ticket.face.height, ticket.face.inset) == (110.0, 80.0, 6.0)
    assert ticket.lettering.font == ("Pacifico",)
    assert ticket.lettering.max_height == 30.0
    assert ticket.stock == (StockKeys("lettering", 600, 300, 11.5), StockKeys("template", 600, 400, 2.1))
    assert ticket.nest.turns == (0.0, 180.0)
    assert ticket.assumptions == ()


def test_materials_and_template_stock_are_filled_in_and_said(write):
    ticket = read_ticket(write(MINIMAL))
    assert ticket.material["lettering"].name == "cast acrylic"
    assert ticket.material["template"].kerf == Kerf.of(0.15)
    assert [(s.material, s.width, s.height, s.price) for s in ticket.stock] == [
        ("lettering", 600, 300, 0),
        ("template", 600, 300, 0),
    ]
    assert len(ticket.assumptions) == 2 and "[material.template] grey board" in ticket.assumptions[0]


def test_template_stock_takes_over_the_size_of_a_sheet_and_nothing_else_of_it(write):
    """A remainder, its outline, its damage and how many there are belong to that sheet alone."""
    lying = "offcut = true\non_hand = 2\noutline = [[0, 0], [900, 0], [0, 800]]\nkeep_out = [[1, 1, 2, 2]]\nprice = 3\n"
    text = MINIMAL + f'[[stock]]\nmaterial = "lettering"\nwidth = 900\nheight = 800\n{lying}'
    assert read_ticket(write(text)).stock[-1] == StockKeys(material="template", width=600, height=300)


def test_no_template_stock_is_added_where_none_is_cut(write):
    assert len(read_ticket(write(MINIMAL + '[jig]\nstyle = "none"\n')).stock) == 1


def test_without_stock_the_problem_says_what_to_add(problems):
    (problem,) = problems(MINIMAL.partition("[[stock]]")[0])
    assert "[[stock]]" in problem
    assert 'material = "lettering"' in problem


def test_template_stock_alone_is_not_enough(problems):
    (problem,) = problems(MINIMAL.replace("[[stock]]", '[[stock]]\nmaterial = "template"'))
    assert "lettering" in problem


def test_lengths_with_units_become_millimetres(write):
    # 1 in = 25.4 mm: CSS Values and Units Level 4, section 6.2
    ticket = read_ticket(write(MINIMAL.replace("110", '"3/8in"').replace("= 80", '= "8 cm"')))
    assert (ticket.face.width, ticket.face.height) == (9.525, 80.0)


@pytest.mark.parametrize("feet", ["2 ft", "2ft", "2'", "2′", "2 FT"])
def test_feet_are_those_of_304_8_mm(write, feet):
    # 1 ft = 12 in = 304.8 mm: international yard and pound agreement of 1959
    assert read_ticket(write(MINIMAL.replace("110", f'"{feet}"'))).face.width == 609.6


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("1 ft 6 in", 457.2),
        ("1ft6in", 457.2),
        ("1 FT 6 IN", 457.2),
        ("1' 6″", 457.2),
        ("1′6 1/2″", 469.9),
        ("2'-3/8″", 619.125),
        ("0 ft 11,5 in", 292.1),
        ("1 1/2 ft", 457.2),
    ],
)
def test_feet_and_inches_are_one_length(write, written, mm):
    assert read_ticket(write(MINIMAL.replace("110", f'"{written}"'))).face.width == mm


@pytest.mark.parametrize("written", ["8 ft 6", "8 ft 12 in", "8 ft 6 mm", "8' 6'", "8 ft 14 1/2 in"])
def test_behind_feet_stand_fewer_inches_than_make_a_foot(problems, written):
    (problem,) = problems(MINIMAL.replace("110", f'"{written}"'))
    assert "face.width" in problem and 'behind feet stand inches, fewer than 12, like "8 ft 6 in"' in problem


@pytest.mark.parametrize("written", ["8.5 ft 6 in", "8 ft -6 in -", "8 ft 1 ft 6 in", "ft 6 in"])
def test_feet_before_inches_are_whole_and_stand_once(problems, written):
    (problem,) = problems(MINIMAL.replace("110", f'"{written}"'))
    assert "face.width" in problem and "is not a length" in problem


def test_paths_start_at_the_ticket(write, tmp_path):
    assert read_ticket(write(MINIMAL)).job.roster == tmp_path / "names.csv"


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-8"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_a_byte_order_mark_and_any_line_ending_do_no_harm(write, encoding, ending):
    assert read_ticket(write(MINIMAL.replace("\n", ending), encoding=encoding)).face.width == 110


def test_every_problem_is_told_at_once_with_file_key_value_and_hint(problems):
    found = problems("""
[job]
rooster = "names.csv"
[face]
shape = "elipse"
width = "12 foo"
height = nan
[lettering]
mount = "sideways"
min_web = true
[material.letering]
name = "x"
[material.lettering]
kerf = 5
[[stock]]
width = 5
height = 300
material = "templat"
[nest]
turns = [0, 360]
[jigg]
""")
    text = "\n".join(found)
    assert all(p.startswith("job.toml, ") for p in found)
    for part in (
        "job.rooster: unknown key; did you mean roster?",
        'face.shape = "elipse"',
        "did you mean ellipse?",
        'face.width = "12 foo"',
        "face.height = nan",
        'lettering.mount = "sideways"',
        "lettering.min_web = true",
        "[material.letering]: unknown material; did you mean lettering?",
        "material.lettering.kerf = 5: expected at most 2 mm",
        'stock 1.material = "templat"',
        "nest.turns = [0, 360]",
        "[jigg]: unknown table; did you mean jig?",
    ):
        assert part in text
    assert "job.roster is missing" not in text  # the misspelt key has been told already
    assert len(found) == len(set(found))


@pytest.mark.parametrize(
    ("said", "kerf"),
    [
        ("0.2", Kerf.of(0.2)),
        ('"0.01in"', Kerf.of(0.254)),
        ("{ x = 0.2, y = 0.16 }", Kerf.of_strip(Strip(0.2, 0.16))),
        ("{ inside = 0.16, outside = 0.2 }", Kerf(Strip(0.16, 0.16), Strip(0.2, 0.2))),
        ("{ inside = 0.16, outside = { x = 0.2, y = 0.1 } }", Kerf(Strip(0.16, 0.16), Strip(0.2, 0.1))),
    ],
)
def test_a_kerf_may_differ_by_operation_and_axis(write, said, kerf):
    ticket = read_ticket(write(f"{MINIMAL}\n[material.lettering]\nkerf = {said}\n"))
    assert ticket.material["lettering"].kerf == kerf


@pytest.mark.parametrize(
    ("said", "wanted"),
    [
        ("{ x = 0.2 }", "expected a width, or both of"),
        ("{ inside = 0.2 }", "expected a width, or both of"),
        ("{ inside = 0.2, outside = 0.2, x = 0.2, y = 0.2 }", "expected a width, or both of"),
        ("{ x = 0.2, y = 0 }", "expected more than 0 mm"),
        ("{ x = 0.2, y = 3 }", "expected at most 2 mm"),
        ("{ x = 0.2, y = 0.05 }", "expected x and y that differ by a factor of 3 at most"),
        ("{ inside = [1], outside = 0.2 }", "expected a length"),
        ("[0.2, 0.2]", "expected a length"),
    ],
)
def test_a_kerf_that_is_none_is_refused(problems, said, wanted):
    (problem,) = problems(f"{MINIMAL}\n[material.lettering]\nkerf = {said}\n")
    assert "material.lettering.kerf = " in problem and wanted in problem


RECORDS = (*TABLES.values(), LineKeys, DesignKeys, StockKeys, MaterialKeys)


def test_every_key_has_a_reader_and_a_help_text():
    for record in RECORDS:
        for f in dataclasses.fields(record):
            assert f.metadata["kind"] in KINDS
            assert f.metadata["help"]


@pytest.mark.parametrize(
    "value", ["nan", "inf", "-inf", "true", "[]", "{}", '"x"', '""', "1e300", "-1", "0", "1979-05-27", "9" * 400]
)
def test_a_width_that_is_none_is_refused(problems, value):
    assert any("face.width" in p for p in problems(MINIMAL.replace("width = 110", f"width = {value}")))


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("on_hand", "1.5"),
        ("on_hand", '"2"'),
        ("on_hand", "-1"),
        ("on_hand", "true"),
        ("price", '"11"'),
        ("price", "nan"),
        ("price", "true"),
    ],
)
def test_stock_figures_are_checked(problems, key, value):
    assert any(f"stock 1.{key}" in p for p in problems(f"{MINIMAL}{key} = {value}\n"))


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("[job\n", "line 1"),
        ("[job]\n\ntitle = \n", "line 3"),
        ("a = 1\na = 2\n", "line 2"),
        ("x = " + "[" * 5000, "nested"),
        ("x = " + "9" * 5000, "too long"),
        ("[job]\nturns = [1", "line 2: turns = [1: not valid TOML"),
    ],
)
def test_text_that_is_no_toml_names_the_line(problems, text, part):
    (problem,) = problems(text)
    assert part in problem


def test_other_files_are_refused(tmp_path):
    for name, data in {"a.toml": b"\xff\xfe[\0", "b.toml": b"#" * 1_000_001}.items():
        (tmp_path / name).write_bytes(data)
        with pytest.raises(TicketError, match=name):
            read_ticket(tmp_path / name)
    with pytest.raises(TicketError, match="cannot be read"):
        read_ticket(tmp_path / "none.toml")
    with pytest.raises(TicketError, match="is a folder"):
        read_ticket(tmp_path)


def test_tables_of_the_wrong_kind_are_refused(problems):
    for text in ("job = 1", "[[face]]", "[stock]", "material = 3", "stock = [1]", "[material]\nlettering = 1"):
        assert problems(text)


def test_a_missing_list_and_a_folder_in_its_place_are_refused(problems, tmp_path):
    (tmp_path / "sub").mkdir()
    assert any("there is no such file" in p for p in problems(MINIMAL.replace("names.csv", "nmaes.csv")))
    assert any("it is a folder" in p for p in problems(MINIMAL.replace("names.csv", "sub")))


@pytest.mark.parametrize("name", ["PVC", "clear P.V.C.", "polyvinyl chloride", "PC sheet", "faux leather (PVC)", "ABS"])
def test_a_forbidden_material_is_refused_with_the_reason(problems, name):
    (problem,) = problems(f'{MINIMAL}[material.lettering]\nname = "{name}"\n')
    assert "must never be laser cut" in problem
    assert "ehs.wisc.edu" in problem


@pytest.mark.parametrize(
    ("face", "part"),
    [
        ("", "needs a shape"),
        ('shape = "ellipse"\nwidth = 1', "face.height is missing"),
        ('shape = "circle"', "diameter"),
        ('shape = "circle"\nwidth = 50\nheight = 60', "one diameter"),
        ('shape = "ellipse"\nwidth = 9\nheight = 9\nradius = 1', "radius"),
        ('shape = "ellipse"\nwidth = 9\nheight = 9\nfile = "names.csv"', "only one of the two"),
    ],
)
def test_faces_that_say_too_little_or_too_much(problems, face, part):
    head, _, rest = MINIMAL.partition("[face]")
    (problem,) = problems(f"{head}[face]\n{face}\n[[stock]]{rest.partition('[[stock]]')[2]}")
    assert part in problem


def test_a_gap_under_the_kerf_and_a_margin_over_the_sheet_are_refused(problems):
    assert any("nick" in p for p in problems(MINIMAL + "[nest]\ngap = 0.1\n"))
    assert any("edge margin" in p for p in problems(MINIMAL + "[nest]\nedge_margin = 150\n"))


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=50),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    )
)
def test_no_value_of_any_type_breaks_a_reader(value):
    for rules in [f.metadata for record in RECORDS for f in dataclasses.fields(record)]:
        try:
            result = read_value(value, rules, Path("nowhere"))
        except ValueError as error:
            assert str(error)
        else:
            if isinstance(result, float):
                assert math.isfinite(result)


# without a ticket


@pytest.fixture
def roster(write):
    return write("name\nAda\n", "names.csv")


@pytest.mark.parametrize(
    ("face", "shape", "width", "height"),
    [
        ("ellipse:110x80", "ellipse", 110, 80),
        ("Ellipse: 110 x 80 mm", "ellipse", 110, 80),
        ("circle:80", "circle", 80, 80),
        ("circle:3in", "circle", 76.2, 76.2),
        ("rectangle:4inx3in", "rectangle", 101.6, 76.2),
        ("rectangle:4 × 3 in", "rectangle", 101.6, 76.2),
        ("leaf:11cmx8cm", "leaf", 110, 80),
        ('shield:3 1/2"x3"', "shield", 88.9, 76.2),
        ("hexagon:110,5x80", "hexagon", 110.5, 80),
    ],
)
def test_faces_in_a_word(roster, face, shape, width, height):
    keys = quick_ticket(roster=roster, face=face, sheet="600x300", font=None).face
    assert (keys.shape, keys.width, keys.height) == (shape, width, height)


@pytest.mark.parametrize(("suffix", "width"), [("", None), (":110", 110.0), (":11cm", 110.0), (":4in", 101.6)])
def test_a_drawing_with_and_without_a_width(roster, tmp_path, suffix, width):
    drawing = tmp_path / "my face.SVG"
    drawing.write_text("<svg/>", encoding="utf-8")
    keys = quick_ticket(roster=roster, face=f"{drawing}{suffix}", sheet="600x300", font=None).face
    assert (keys.file, keys.width, keys.shape) == (drawing, width, None)


@pytest.mark.parametrize(
    ("sheet", "size"), [("600x300", (600, 300)), ("24inx12in", (609.6, 304.8)), ("60cm x 30cm", (600, 300))]
)
def test_sheets_in_a_word(roster, sheet, size):
    ticket = quick_ticket(roster=roster, face="circle:80", sheet=sheet, font="Lobster")
    assert [(s.material, (s.width, s.height)) for s in ticket.stock] == [("lettering", size), ("template", size)]
    assert ticket.lettering.font == ("Lobster",)


@pytest.mark.parametrize(
    "face",
    [
        "",
        "ellipse",
        "ellipse:",
        "ellipse:110",
        "elipse:110x80",
        "circle:",
        "circle:1x2",
        "ellipse:0x80",
        "ellipse:-1x80",
        "ellipse:nanxnan",
        "ellipse:1e5x2",
        "none.svg",
        "none.svg:10",
        "none.svg@10mm",
        ":110x80",
        "x",
    ],
)
def test_faces_that_are_refused(roster, face):
    with pytest.raises(TicketError, match="--face"):
        quick_ticket(roster=roster, face=face, sheet="600x300", font=None)


def test_a_drawing_on_the_command_line_takes_a_width(roster, tmp_path):
    file = tmp_path / "a@b.svg"
    file.write_text("<svg/>")
    for text, width in ((f"{file}@90mm", 90), (f"{file} @ 2in", 50.8), (f"{file}:90", 90), (str(file), None)):
        face = quick_ticket(roster=roster, face=text, sheet="600x300").face
        assert (face.file, face.width) == (file, width)


def test_everything_wrong_on_the_command_line_is_told_at_once(tmp_path):
    with pytest.raises(TicketError) as caught:
        quick_ticket(roster=tmp_path / "none.csv", face="elipse:1x1", sheet="600", font=None)
    assert len(caught.value.problems) == 3
    assert "did you mean ellipse?" in caught.value.problems[0]


def test_the_ticket_and_the_face_know_the_same_shapes():
    from nameplate.face.shapes import SHAPES as DRAWN

    assert set(SHAPES) == set(DRAWN)


@pytest.mark.parametrize(
    ("table", "line", "part"),
    [
        ("nest", "turns = [360000000.5]", "at most 360"),
        ("nest", "gap = 1000", "at most 200 mm"),
        ("lettering", "min_web = 0.01", "at least 0.2 mm"),
        ("jig", 'style = "carrier"\nplaque_height = 150', "more than 40"),
        ("lettering", 'mount = "marked"\nhatch = 0.05\nmax_height = 2000', "more than 3000"),
    ],
)
def test_legal_forms_of_senseless_size_are_refused_with_a_figure(problems, table, line, part):
    text = MINIMAL.replace("110", "2500").replace("= 80", "= 2000")
    stock = '[[stock]]\nmaterial = "blank"\nwidth = 600\nheight = 300\n[material.carrier]\nthickness = 3\n'
    assert any(part in p for p in problems(f"{text}{stock}[{table}]\n{line}\n"))


def test_a_face_of_ten_metres_and_a_million_sheets_are_refused_with_a_figure(problems):
    assert any("at most 3000 mm" in p for p in problems(MINIMAL.replace("110", "10000")))
    assert any("at most 10000" in p for p in problems(f"{MINIMAL}on_hand = 1000000\n"))


def test_a_drawing_whose_height_the_ticket_does_not_say_may_be_hatched(write, tmp_path):
    (tmp_path / "face.svg").write_text("<svg/>", encoding="utf-8")
    text = MINIMAL.replace('shape = "ellipse"\nwidth = 110\nheight = 80', 'file = "face.svg"')
    text += 'material = "blank"\n[lettering]\nmount = "marked"\n'
    assert read_ticket(write(text)).face.height is None


def test_lines_are_read_in_order_and_inherit_what_they_leave_out(write):
    text = '[[line]]\ntext = "In memory of"\nfont = "Satisfy"\nscale = 0.45\n[[line]]\ntext = "{name}"\n'
    first, second = read_ticket(write(MINIMAL + text)).line
    assert (first.text, first.font, first.scale) == ("In memory of", ("Satisfy",), 0.45)
    assert (second.font, second.scale, second.size, second.align, second.features) == ((), 1.0, None, None, None)
    assert read_ticket(write(MINIMAL)).line == ()


@pytest.mark.parametrize(
    ("keys", "problem"),
    [
        ("scale = 0.5", "line 1.text: missing"),
        ('text = "{name"', "expected braces in pairs"),
        ('text = "{}"', "expected the heading of a column"),
        ('text = "a"\nscale = 45', "expected at most 1"),
        ('text = "a"\nscale = 0.5\nsize = 9', "leave one out"),
        ('text = "a"\n[[line]]\ntext = "b"\nsize = 9', "line 1.scale: neither size nor scale"),
        ('text = "a"\noperation = "scored"', "expected one of cut, score"),
        ('text = "a"\nfnot = "Satisfy"', "did you mean font?"),
    ],
)
def test_a_line_that_cannot_be_is_told_with_its_line_in_the_ticket(problems, keys, problem):
    (text,) = problems(f"{MINIMAL}[[line]]\n{keys}\n")
    assert problem in text and text.startswith("job.toml, line 1")


def test_a_line_is_scored_only_where_its_plaque_is_cut_here_and_something_else_is_cut(problems, write):
    name, score = '[[line]]\ntext = "{name}"\n', '[[line]]\ntext = "a"\noperation = "score"\n'
    plaque = 'cut = true\n\n[[stock]]\nmaterial = "blank"\n'
    (problem,) = problems(MINIMAL + name + score)
    assert '[[line]] 2, operation = "score": with mount = "applied"' in problem
    assert "write cut = true below [face]" in problem
    with_plaque = MINIMAL.replace("\n[[stock]]\n", f"{plaque}width = 600\nheight = 300\n\n[[stock]]\n")
    assert read_ticket(write(with_plaque + name + score)).line[1].operation == "score"
    (problem,) = problems(with_plaque + score)
    assert "none is left to be applied" in problem and 'mount = "marked"' in problem
    for mount in ("pierced", "marked"):
        blank = MINIMAL.replace("[[stock]]\n", '[[stock]]\nmaterial = "blank"\n')
        assert read_ticket(write(f'{blank}[lettering]\nmount = "{mount}"\n{name}{score}')).line[1].operation == "score"


def test_lines_must_be_tables(problems):
    (problem,) = problems(f'{MINIMAL}[line]\ntext = "a"\n')
    assert "written as [[line]] on a line of its own" in problem


def test_a_shape_by_its_other_name_is_told_the_one_that_it_has():
    rules = {"kind": "choice", "choices": SHAPES}
    for word, meant in {"oval": "ellipse", "Oval": "ellipse", "square": "rectangle"}.items():
        with pytest.raises(ValueError, match=f"did you mean {meant}"):
            read_value(word, rules, Path())


def test_all_that_is_wrong_with_the_roles_of_paths_is_told_at_once(problems):
    wrong = ", ".join(f'p{i} = "bore{i}"' for i in range(7))
    (problem,) = problems(
        MINIMAL.replace(
            'shape = "ellipse"', f'file = "names.csv"\nroles = {{ rim = "scroe", logo = "hatch", {wrong} }}'
        )
    )
    assert '"rim" = "scroe": expected one of outline' in problem and "did you mean score?" in problem
    assert '"logo"' not in problem.partition("}: ")[2]
    assert [f'"p{i}" = ' in problem for i in range(7)] == [True] * 4 + [False] * 3
    assert problem.endswith("; and 3 more")
