"""Burned names in burned jigs, pushed and turned about by brute force: nothing strays farther than was stated.

Nothing of the program's own reading, burning or play is used: the written files are read with a few lines here, shapely
takes the kerf off, and every pose is tried against the burned outlines. Four kinds of face, eight names.
"""

import itertools
import json
import math
import re

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from nameplate.job.run import make_job
from nameplate.ticket.reader import read_ticket
from tests.jobs import write_job

FACES = {
    "cloud": 'file = "face.svg"',
    "circle": 'shape = "circle"\nwidth = 90\nheight = 90',
    "rectangle": 'shape = "rectangle"\nwidth = 100\nheight = 48',
    "nearly symmetric": 'file = "face.svg"',
}
DRAWN = {
    "cloud": (
        130,
        90,
        "M20 60C2 58 2 34 20 32C22 10 52 4 62 22C72 6 104 8 104 30C126 28 130 56 110 62C108 84 80 86 72 70"
        "C60 84 28 84 20 60Z",
    ),
    "nearly symmetric": (120, 70, "M10 10L110 10L110 60L64 60L60 61.2L56 60L10 60Z"),
}
NAMES = {
    "cloud": ["Jo", "Lê Pippinham"],
    "circle": ["Gunnel Åkerblom", "Ivo"],
    "rectangle": ["Søren Æblegård", "Fitz"],
    "nearly symmetric": ["Zdeněk Hruškovský", "Una"],
}
STYLES = {"cloud": "carrier", "circle": "template", "rectangle": "carrier", "nearly symmetric": "carrier"}
WINDOWS = {"cloud": "contour", "circle": "contour", "rectangle": "contacts", "nearly symmetric": "contour"}
KERF = {"lettering": 0.18, "template": 0.15, "carrier": 0.2}
CLEARANCE, PIN = 0.2, 3.0
TICKET = """
[job]
title = "Orchard"
roster = "names.csv"
[face]
{face}
[material.lettering]
name = "cast acrylic"
kerf = 0.18
[material.template]
name = "grey board"
thickness = 1
kerf = 0.15
[material.carrier]
name = "birch plywood"
kerf = 0.2
[[stock]]
material = "lettering"
width = 600
height = 400
[[stock]]
material = "template"
width = 600
height = 400
[[stock]]
material = "carrier"
width = 600
height = 400
[nest]
engine = "rectangle"
effort = "quick"
[jig]
style = "{style}"
window = "{window}"
clearance = 0.2
"""


def outline(data):
    """Flatten the path data M L C Z of a cut file into points."""
    points = []
    for letter, text in re.findall(r"([MLC])([^MLCZ]*)", data):
        ends = np.array(text.replace(",", " ").split(), dtype=float).reshape(-1, 2)
        if letter == "C":
            t = np.linspace(0, 1, 25)[1:, None]
            a, b, c, d = points[-1], *ends
            points += list((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d)
        else:
            points += list(ends)
    return np.array(points)


def burned(path, kerf):
    """Read a cut file and burn it: what is left of each (plate, kind, layer), y up, on the sheet."""
    text = path.read_text(encoding="utf-8")
    height = float(re.search(r'height="([\d.]+)mm"', text)[1])
    cuts = []
    for operation, group in re.findall(r'<g data-operation="(cut-\w+)"[^>]*>(.*?)</g>', text, re.DOTALL):
        for element in re.findall(r"<path [^>]*>", group):
            points = outline(re.search(r' d="([^"]*)"', element)[1]) * (1, -1) + (0, height)
            layer = re.search(r'data-layer="(\d+)"', element)
            owner = [re.search(rf'data-{key}="([^"]*)"', element)[1] for key in ("plate", "part")]
            cuts.append(((*owner, int(layer[1]) if layer else 1), operation, points))
    burnt = unary_union([LineString([*p, p[0]]).buffer(kerf / 2) for _, _, p in cuts])
    whole = box(*burnt.bounds).buffer(5).difference(burnt)
    left = {}
    for owner in {o for o, _, _ in cuts}:
        rings = [(op, Polygon(p).buffer(0)) for o, op, p in cuts if o == owner]
        area = unary_union([r for op, r in rings if op == "cut-outside"])
        area = area.difference(unary_union([r for op, r in rings if op == "cut-inside"]))
        left[owner] = unary_union([s for s in whole.geoms if area.contains(s.representative_point()) and s.area > 0.01])
    return left


def laid_back(out):
    """Burn every sheet and lay the parts back where they belong on their plates, by the layout of the run."""
    summary, layout = (json.loads((out / n).read_text(encoding="utf-8")) for n in ("summary.json", "layout.json"))
    parts = {}
    for sheet, places in zip(summary["sheets"], layout["sheets"], strict=True):
        left = burned(out / sheet["file"], KERF[sheet["material"]])
        for at in places["placements"]:
            owner = (at["plate"], at["kind"], at.get("layer", 1))
            back = affinity.translate(left[owner], -at["x"], -at["y"])
            parts[owner] = affinity.rotate(back, -at["turn"], origin=(0, 0))
    return summary, parts


@pytest.fixture(scope="module", params=FACES)
def run(request, tmp_path_factory):
    folder, kind = tmp_path_factory.mktemp("run"), request.param
    if kind in DRAWN:
        width, height, data = DRAWN[kind]
        (folder / "face.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}"><path d="{data}"/></svg>',
            encoding="utf-8",
        )
    ticket = TICKET.format(face=FACES[kind], style=STYLES[kind], window=WINDOWS[kind])
    job = read_ticket(write_job(folder, ticket, "name\n" + "\n".join(NAMES[kind]) + "\n"))
    batch, _ = make_job(job, folder / "out")
    summary, parts = laid_back(folder / "out")
    assert [p["status"] for p in summary["plates"]] == ["made"] * len(NAMES[kind])
    return kind, summary, parts, unary_union(batch.contexts[""].face.outline)


def filled(shape):
    return unary_union([Polygon(solid.exterior) for solid in getattr(shape, "geoms", [shape])])


def placed(part, pose):
    c, s = math.cos(pose[2]), math.sin(pose[2])
    return affinity.affine_transform(part, [c, -s, s, c, pose[0], pose[1]])


def poses(part, opening, pushes, seed=1):
    """Push and turn a part in an opening until it jams, then slide on along the jam: the poses reached, (n, 3)."""
    shapely.prepare(opening)
    assert opening.covers(part), "it does not drop in"
    rng = np.random.default_rng(seed)
    reach = np.abs(shapely.get_coordinates(part)).max()
    unit = np.array([0.2, 0.2, 0.2 / reach])
    wanted = [*np.vstack([np.eye(3), -np.eye(3)]), *rng.normal(size=(pushes, 3))]
    found = []
    for aim in wanted:
        aim = aim / np.linalg.norm(aim)
        pose, step = np.zeros(3), 1.0
        while step > 0.06:
            tries = (aim, *(rng.normal(size=(2, 3)) + aim))
            moves = (pose + step * t / np.linalg.norm(t) for t in tries)
            better = next((m for m in moves if m @ aim > pose @ aim and opening.covers(placed(part, m * unit))), None)
            pose, step = (pose, step / 2) if better is None else (better, step)
            if np.abs(pose).max() > 50:
                break
        found.append(pose * unit)
    return np.array(found)


def carried(found, places):
    """How far each pose carries each place: (n, m, 2)."""
    c, s = np.cos(found[:, 2]), np.sin(found[:, 2])
    turn = np.stack([np.stack([c, -s], axis=-1), np.stack([s, c], axis=-1)], axis=1)
    return np.einsum("nij,mj->nmi", turn, places) - places + found[:, None, :2]


def farthest(*moves):
    """The farthest that poses, one of each set, carry a place together: their largest reaches in a direction add up."""
    directions = np.array([(math.cos(a), math.sin(a)) for a in np.linspace(0, 2 * math.pi, 36, endpoint=False)])
    return sum((m @ directions.T).max(axis=0) for m in moves).max(axis=1)


def test_no_name_strays_farther_than_stated(run):
    kind, summary, parts, face = run
    behind, on_carrier = [], STYLES[kind] == "carrier"
    for plate in summary["plates"]:
        name, template = parts[plate["id"], "lettering", 1], parts[plate["id"], "template", 1]
        assert isinstance(template, Polygon), "something falls out of the template"
        holes = [Polygon(ring) for ring in template.interiors]
        pins = [Point(p["x"], p["y"]).buffer(p["diameter"] / 2) for p in (summary["carrier"] or {"pins": []})["pins"]]
        window = unary_union([hole for hole in holes if not any(hole.intersects(pin) for pin in pins)])
        solid = filled(name).simplify(0.01)
        x0, y0, x1, y1 = solid.bounds
        places = np.vstack([[((x0 + x1) / 2, (y0 + y1) / 2)], shapely.get_coordinates(solid.convex_hull)])
        in_window = poses(solid, window.buffer(0.01), 4)
        sets, turn = [carried(in_window, places)], np.abs(in_window[:, 2]).max()
        if on_carrier:
            wall = parts["carrier", "carrier", 2]
            pocket = max((Polygon(ring) for ring in wall.interiors), key=lambda hole: hole.area)
            pin_holes = unary_union([hole for hole in holes if any(hole.intersects(pin) for pin in pins)])
            behind = behind or [poses(unary_union(pins), pin_holes, 8), poses(face.simplify(0.002), pocket, 8)]
            # the pins and the plaque are what moves: the template and the name on the plaque go the other way
            sets += [-carried(found, places) for found in behind]
            turn += sum(np.abs(found[:, 2]).max() for found in behind)
        reached, stated = farthest(*sets), plate["jig"]["play"]
        assert reached[0] <= stated["shift"] + 0.002, plate["name"]
        assert reached.max() <= stated["far"] + 0.002, plate["name"]
        assert math.degrees(turn) <= stated["turn"] + 0.01, plate["name"]
        # and what is stated is not far from what is found
        assert reached.max() >= 0.5 * stated["far"] and math.degrees(turn) >= 0.4 * stated["turn"], plate["name"]


def test_a_turned_or_flipped_template_does_not_go_onto_the_carrier(run):
    kind, summary, parts, _ = run
    if STYLES[kind] != "carrier":
        pytest.skip("these templates lie on the face by its edge")
    pins = [np.array([p["x"], p["y"]]) for p in summary["carrier"]["pins"]]
    rods = unary_union([Point(p).buffer(PIN / 2 - 0.1) for p in pins])
    for plate in summary["plates"][:1]:
        template = parts[plate["id"], "template", 1].simplify(0.02)
        holes = [Polygon(ring) for ring in template.interiors]
        hole = np.array(min(holes, key=lambda h: h.distance(Point(pins[0]))).centroid.coords[0])
        fits = set()
        for flip, angle in itertools.product((False, True), np.arange(0, 360, 2.0)):
            there = affinity.scale(template, -1, 1, origin=tuple(hole)) if flip else template
            there = affinity.rotate(there, angle, origin=tuple(hole))
            for pin in pins:  # its round hole has to be on one of the pins
                laid = affinity.translate(there, *(pin - hole))
                if rods.intersection(laid).area < 0.2 and all(laid.convex_hull.contains(Point(p)) for p in pins):
                    fits.add((flip, float(angle), tuple(pin)))
        assert fits == {(False, 0.0, tuple(pins[0]))}, plate["name"]
