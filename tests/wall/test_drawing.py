"""The drawing says where everything is: read back as XML, and looked at as pixels."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from nameplate.geometry.region import disc, union
from nameplate.model import Order
from nameplate.wall.drawing import BLUE, HEIGHT, LARGEST_PLATE, WIDTH, DrawnShape, DrawnText, pictures
from nameplate.wall.files import picture_svg, wall_html
from tests.wall.walls import face, orders, planned, wall

SVG = "{http://www.w3.org/2000/svg}"


def read(picture):
    return etree.fromstring(picture_svg(picture).encode())


def texts(root):
    return [(float(t.get("x")), float(t.get("y")), t.text) for t in root.iter(f"{SVG}text")]


def circles(root):
    """The middles of the circles of holes, from the boxes of their paths."""
    found = []
    for path in root.iter(f"{SVG}path"):
        if path.get("stroke") == "#cc0000" and path.get("d").endswith("Z"):
            numbers = np.array(re.findall(r"-?[\d.]+", path.get("d")), dtype=float).reshape(-1, 2)
            x, y = (numbers.min(axis=0) + numbers.max(axis=0)) / 2
            found.append((x, -y))
    return sorted(found)


def test_every_hole_is_drawn_where_it_is_to_scale():
    plan = planned(wall(hanger=((0.0, 25.0),), moved=(("017", ((9.5, 0.0),)),)), orders(97))
    whole, *parts = pictures(plan, {})
    holes = sorted((hole.x, hole.y) for h in plan.hangings for hole in h.holes)
    root = read(whole)
    assert circles(root) == pytest.approx(np.array(holes), abs=0.011)
    _, _, width, height = map(float, root.get("viewBox").split())
    scale = float(whole.caption.rpartition(" ")[2])
    assert width / float(root.get("width").removesuffix("mm")) == pytest.approx(scale, rel=0.005)
    assert height / float(root.get("height").removesuffix("mm")) == pytest.approx(scale, rel=0.005)
    drawn = sorted(hole for part in parts for hole in circles(read(part)))
    assert drawn == pytest.approx(np.array(holes), abs=0.011)


def test_the_parts_have_every_name_and_the_figures_of_every_hole():
    names = ["Zoë Ó Faoláin", "Ada & Tomás <Pell>", "Jo"]
    some = [Order(id=f"{k:03d}", row=k + 1, name=names[k % 3]) for k in range(1, 101)]
    plan = planned(wall(hanger=((0.0, 25.0),)), some)
    _, *parts = pictures(plan, {"005": "held"})
    said = [text for part in parts for _, _, text in texts(read(part))]
    assert sum(text == "Zoë Ó Faoláin" for text in said) == 33
    assert {f"{h.place.name} · {h.plate.id}" for h in plan.hangings} <= set(said)
    assert {f"{h.holes[0].x:g} | {h.holes[0].y:g}" for h in plan.hangings} <= set(said)
    assert any("(held)" in text for text in said)


def test_plates_of_one_name_are_told_apart_by_what_else_is_on_them():
    some = [*orders(2), Order("003", 4, "Ida Moss", "Bramley"), Order("004", 5, "Ida Moss", "Russet")]
    plan = planned(wall(), some)
    _, *parts = pictures(plan, {})
    said = " ".join(text for part in parts for _, _, text in texts(read(part)))
    assert "Bramley" in said and "Russet" in said
    _, *apart = pictures(planned(wall(), some[:3]), {})
    assert "Bramley" not in " ".join(text for part in apart for _, _, text in texts(read(part)))
    table = "".join(wall_html(plan, {}, title=""))
    assert "Ida Moss / Bramley" in table and "Ida Moss / Russet" in table


def test_a_part_of_the_wall_is_headed_by_its_first_and_last_row_and_column():
    plan = planned(wall(), orders(95))  # the last row ends at J5
    captions = [part.caption.partition(",")[0] for part in pictures(plan, {})[1:]]
    shown = {place.name for part in captions for place in plan.grid.places if _within(place, part)}
    assert shown >= {hanging.place.name for hanging in plan.hangings}


def _within(place, caption):
    (first, left), (last, right) = ((name[0], int(name[1:])) for name in caption.split(" to "))
    return first <= place.name[0] <= last and left <= int(place.name[1:]) <= right


def test_words_keep_clear_of_holes_wherever_these_are():
    for hanger in ((0.0, 25.0), (0.0, 0.0), (0.0, -25.0), (0.0, 90.0)):
        plan = planned(wall(columns=2, rows=1, hanger=(hanger,), pitch=(300.0, 150.0)), orders(2))
        *_, last = pictures(plan, {})
        root = read(last)
        inside = [(x, y) for x, y, text in texts(root) if "Name" in text or "·" in text or "|" in text]
        assert len(inside) == 6
        for x, y in circles(root):
            assert min(abs(-ty - y) for tx, ty in inside if abs(tx - x) < 1) > 3


@pytest.mark.parametrize("name", ["Bäckerei am alten Anger", "Ada Pell", "The Featherstone-Marlowe Cider Press"])
def test_lines_are_shared_out_about_a_hole_in_the_middle_so_that_figures_have_room(name):
    large = {"": face(144, 90)}
    some = [replace(order, name=name) for order in orders(2)]
    keys = wall(columns=2, rows=1, hanger=((0.0, 0.0),), pitch=(700.0, 150.0), width=1200.0, height=600.0)
    plan = planned(keys, some, large)
    (whole,) = pictures(plan, {})
    (at,) = plan.hangings[0].holes
    lines = [item for item in whole.items if isinstance(item, DrawnText) and abs(item.x - at.x) < 1]
    own = [item for item in lines if abs(item.y - at.y) < 45]
    assert f"{at.x:g} | {at.y:g}" in [item.text for item in own]
    assert " ".join(item.text for item in sorted(own, key=lambda item: -item.y) if item.bold) == name
    assert {item.y > at.y for item in own if item.bold} in ({True}, {False})
    assert len({item.size for item in own if item.bold}) == 1
    assert min(item.size for item in own) >= 0.8 * whole.scale


def test_every_picture_has_all_of_its_plates_inside_its_border():
    plan = planned(wall(), orders(100))
    for picture in pictures(plan, {}):
        for item in picture.items:
            if isinstance(item, DrawnShape):
                points = np.vstack(item.lines)
                assert (points >= (picture.box.x0, picture.box.y0)).all()
                assert (points <= (picture.box.x1, picture.box.y1)).all()
        frame = next(item for item in picture.items if isinstance(item, DrawnShape) and not item.fill)
        low, high = frame.lines[0].min(axis=0), frame.lines[0].max(axis=0)
        plates = [i for i in picture.items if isinstance(i, DrawnShape) and i.closed and i.width == 0.2]
        assert plates
        for plate in plates:
            assert (np.vstack(plate.lines) >= low).all()
            assert (np.vstack(plate.lines) <= high).all()


def test_names_stand_on_the_drawing_where_several_holes_leave_no_room_for_their_figures():
    plan = planned(wall(hanger=((-30.0, 0.0), (30.0, 0.0))), orders(100))
    _, *parts = pictures(plan, {})
    said = [text for part in parts for _, _, text in texts(read(part))]
    assert {f"Name {k}" for k in range(1, 101)} <= set(said)


def test_words_stand_between_holes_at_the_sides_of_a_low_plate():
    plan = planned(wall(hanger=((-49.0, 0.0), (49.0, 0.0))), orders(100), {"": face(110, 30)})
    _, *parts = pictures(plan, {})
    said = {text: (x, y) for part in parts for x, y, text in texts(read(part))}
    assert {f"Name {k}" for k in range(1, 101)} | {f"{h.place.name} · {h.plate.id}" for h in plan.hangings} <= set(said)
    for hanging in plan.hangings:
        x, y = said[f"{hanging.place.name} · {hanging.plate.id}"]
        assert x == pytest.approx(hanging.x, abs=0.1) and abs(-y - hanging.y) < 15


def scales(plan):
    """What is beside the wall: by where it stands (above, below) what it is called and its figures."""
    for picture in pictures(plan, {}):
        words = [item for item in picture.items if isinstance(item, DrawnText)]
        names = [item for item in words if re.fullmatch(r"row [A-Z]+|[A-Z]+ to [A-Z]+|all rows", item.text)]
        yield {
            ("above" if name.y > 0 else "below"): (
                name.text,
                [float(item.text) for item in words if item.y == name.y and item is not name],
            )
            for name in names
        }


def test_each_scale_is_of_the_row_that_it_stands_beside_and_of_those_next_to_it_with_holes_at_the_same_x():
    """Five rows of three plates, the upper two of wide plates, the lower of narrow ones, the middle one of both."""
    faces = {
        name: replace(face(width, 40), keep_outs=union(disc((-x, 0), 4), disc((x, 0), 4)))
        for name, width, x in (("wide", 110, 50), ("narrow", 60, 25))
    }
    designs = ["wide"] * 7 + ["narrow"] * 6
    some = [Order(id=f"{k:03d}", row=k, name=f"Name {k}", design=own) for k, own in enumerate(designs, 1)]
    keys = wall(columns=3, rows=5, stagger=0.0, pitch=(300.0, 200.0), width=1000.0, height=1100.0)
    whole, *_ = scales(planned(keys, some, faces))
    assert whole["above"] == ("A to B", [-350, -250, -50, 50, 250, 350])
    assert whole["below"] == ("D to E", [-325, -275, -25, 25, 275, 325])
    plan = planned(keys, some[:9], faces)
    whole, *_ = scales(plan)
    assert whole["below"] == ("row C", [-350, -250, -25, 25, 275, 325])
    assert whole["below"][1] == [hole.x for h in plan.hangings[6:] for hole in h.holes]


def test_figures_are_in_inches_too_where_these_are_asked_for():
    plan = planned(wall(columns=4, rows=2, stagger=0.0, hanger=((0.0, 25.0),), pitch=(254.0, 152.4)), orders(8))

    def said(**more):
        return [[item.text for item in p.items if isinstance(item, DrawnText)] for p in pictures(plan, {}, **more)]

    assert not any('"' in text for texts in said() for text in texts)
    whole, part = said(inches=True)
    figures = {'-15"', '-5"', '5"', '15"', "-381", "-127", "127", "381", '4"', '-2"', "101.2", "-51.2"}
    assert figures <= set(whole) and figures <= set(part)
    assert {"-381 | 101.2", '-15" | 4"', '15" | -2"'} <= set(part)
    assert {f"Name {k}" for k in range(1, 9)} <= set(part)


def test_inches_are_left_out_of_a_plate_before_its_figures_in_mm_are_and_its_name_last():
    def part(height):
        keys = wall(columns=4, rows=2, stagger=0.0, hanger=ENDS, pitch=(254.0, 152.4))
        *_, last = pictures(planned(keys, orders(8), {"": face(110, height)}), {}, inches=True)
        return {item.text for item in last.items if isinstance(item, DrawnText)}

    assert {'-13 1/16" | 3"', "-331 | 76.2", "Name 1"} <= part(70)
    assert {"-331 | 76.2", "Name 1"} <= part(40) and '-13 1/16" | 3"' not in part(40)
    assert {"Name 1", "A1 · 001"} <= part(20) and "-331 | 76.2" not in part(20)


def test_rows_are_named_beside_their_figures_where_they_differ_and_not_where_they_are_alike():
    def beside(count=100, **keys):
        whole, *_ = scales(planned(wall(**keys), orders(count)))
        return [whole[side][0] for side in ("above", "below") if side in whole]

    assert beside(stagger=0.5) == ["row A", "row J"]
    assert beside(stagger=0.0) == ["all rows", "all rows"]
    assert beside(95, stagger=0.0) == ["all rows", "all rows"]  # the last row lacks some of the plates
    assert beside(10) == ["all rows"]


ENDS = ((-50.0, 0.0), (50.0, 0.0))
WALLS = {
    "a few rows": {"columns": 5, "rows": 2, "pitch": (420.0, 420.0)},
    "rows alike": {"columns": 12, "stagger": 0.0},
    "far apart": {"columns": 4, "rows": 2, "width": 8000.0, "pitch": (1700.0, 400.0), "stagger": 0.0},
}


@pytest.mark.parametrize("keys", WALLS.values(), ids=WALLS)
def test_what_a_row_is_called_stands_clear_of_its_figures(keys):
    for picture in pictures(planned(wall(hanger=ENDS, **keys), orders(10)), {}):
        words = [item for item in picture.items if isinstance(item, DrawnText)]
        for name in (item for item in words if re.fullmatch(r"row .*|all rows", item.text)):
            figures = [item for item in words if item.y == name.y and item is not name]
            assert figures
            # Noto Sans, which prints it: a figure is 0.572 em wide (hmtx of the font), its minus less
            assert all(name.x < figure.x - 0.572 * figure.size * len(figure.text) / 2 for figure in figures)


@pytest.mark.parametrize("keys", WALLS.values(), ids=WALLS)
def test_parts_of_a_wall_are_as_large_as_the_paper_or_a_plate_that_can_be_read_allows(keys):
    plan = planned(wall(hanger=ENDS, **keys), orders(10))
    _, *parts = pictures(plan, {})
    sizes = np.array([(part.box.width / part.scale, part.box.height / part.scale) for part in parts])
    assert (sizes <= (WIDTH + 1e-6, HEIGHT + 1e-6)).all()
    full = np.isclose(sizes.max(axis=0), (WIDTH, HEIGHT)).any()
    assert full or {plan.grid.cell.width / part.scale for part in parts} == {LARGEST_PLATE}
    said = [text for part in parts for _, _, text in texts(read(part))]
    assert {f"Name {k}" for k in range(1, len(plan.hangings) + 1)} <= set(said)


def test_a_wall_of_large_plates_is_drawn_once():
    plan = planned(wall(columns=3, rows=3, width=800.0, height=600.0, pitch=(250.0, 180.0), stagger=0.0), orders(9))
    assert len(pictures(plan, {})) == 1


def test_pixels_are_dark_where_holes_are_and_nowhere_between():
    import resvg_py

    plan = planned(wall(rows=2, columns=3, width=1000.0, height=500.0), orders(6), {"": face(60, 40)})
    svg = re.sub(
        r'width="[\d.]+mm" height="[\d.]+mm"', 'width="1000" height="1000"', picture_svg(pictures(plan, {})[0]), count=1
    )
    image = Image.open(io.BytesIO(bytes(resvg_py.svg_to_bytes(svg_string=svg))))
    pixels = np.asarray(image.convert("RGBA"))[..., 3]
    x0, y0, width, height = map(float, re.search(r'viewBox="([^"]+)"', svg)[1].split())
    scale = min(1000 / width, 1000 / height)
    left, top = (1000 - width * scale) / 2, (1000 - height * scale) / 2
    for hanging in plan.hangings:
        column, row = left + (hanging.x - x0) * scale, top + (-hanging.y - y0) * scale
        assert pixels[int(row) - 4 : int(row) + 5, int(column) - 4 : int(column) + 5].max() > 100
        beside = left + (hanging.x + 40 - x0) * scale
        assert pixels[int(row) - 2 : int(row) + 3, int(beside) - 2 : int(beside) + 3].max() == 0


def test_the_page_has_cautions_first_then_the_lines_and_every_hole():
    plan = planned(wall(moved=(("003", ((30.0, 0.0),)),)), [*orders(4), Order(id="5", row=9, name="<b>Ida</b>")])
    page = "".join(wall_html(plan, {"002": "refused"}, title="Orchard"))
    text = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert re.search(r"Local codes.*wires.*silica.*Ladder.*centre line.*1800.*level line.*1500", text)
    assert "<b>Ida</b>" not in page
    assert "&lt;b&gt;Ida" in page
    assert page.count('class="box"') == 4  # one hole is drilled
    assert "its hole came out 30.0 mm right" in text
    assert "(refused)" in text
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")


def test_no_line_of_the_wall_runs_through_a_word():
    """The middle column hangs on the centre line: each of its words has a white ground that is drawn over that line."""
    plan = planned(wall(columns=3, rows=1, stagger=0.0, hanger=((0.0, 25.0),)), orders(3))
    items = [item for picture in pictures(plan, {}) for item in picture.items]
    lines = [n for n, item in enumerate(items) if isinstance(item, DrawnShape) and item.colour == BLUE]
    grounds = [(n, i.lines[0]) for n, i in enumerate(items) if isinstance(i, DrawnShape) and i.fill == "#ffffff"]
    words = [(n, i) for n, i in enumerate(items) if isinstance(i, DrawnText) and i.text in ("A2 · 002", "Name 2", "0")]
    assert {word.text for _, word in words} == {"A2 · 002", "Name 2", "0"}
    for number, word in words:
        line = max(n for n in lines if n < number)  # that of its own picture
        own = [ring - [word.x, word.y] for n, ring in grounds if line < n < number]
        half = np.array([0.3, 0.5]) * word.size  # of a figure or longer, and of its height
        assert any((ring.max(axis=0) >= half).all() and (ring.min(axis=0) <= -half).all() for ring in own)
