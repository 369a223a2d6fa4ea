"""The rules of DEVELOPERS.md that a program can check."""

import ast
import re
from functools import cache
from pathlib import Path

import nameplate

ROOT = Path(nameplate.__file__).parent
MODULES = sorted(p for p in ROOT.rglob("*.py"))


@cache
def tree_of(path):
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def told_in(path):
    """The imports and the classes of a module, wherever they stand in it."""
    kinds = (ast.Import, ast.ImportFrom, ast.ClassDef)
    return [node for node in ast.walk(tree_of(path)) if isinstance(node, kinds)]


def imported(path, *, top_only=False):
    nodes = tree_of(path).body if top_only else told_in(path)
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module.split(".")[0]


def strangers(rooms, libraries, *, top_only=False):
    """The modules outside of some rooms that import one of these libraries, with what they import."""
    found = {
        path: libraries & set(imported(path, top_only=top_only))
        for path in MODULES
        if not set(rooms) & set(path.relative_to(ROOT).parts)
    }
    return {path.relative_to(ROOT).as_posix(): of_it for path, of_it in found.items() if of_it}


def test_only_geometry_opens_the_door_to_the_geometry_libraries():
    assert strangers(["geometry"], {"shapely", "pathops"}) == {}
    assert strangers([], {"shapely", "pathops"}) != {}


def test_only_one_room_opens_the_door_to_the_library_of_pdf_files():
    assert strangers(["pdf"], {"reportlab"}) == {}
    assert strangers([], {"reportlab"}) != {}


def test_heavy_libraries_are_imported_where_they_are_used():
    heavy = {"scipy", "svgpathtools", "rectpack", "uharfbuzz", "fontTools", "jinja2", "ezdxf", "xlsxwriter"}
    assert strangers([], heavy, top_only=True) == {}
    assert strangers([], {"reportlab"}, top_only=True) == {}


def test_every_module_says_what_it_is():
    assert [path for path in MODULES if not ast.get_docstring(tree_of(path))] == []


def test_the_developers_guide_names_every_folder_and_only_real_modules():
    guide = (ROOT.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    for folder in (p.name for p in ROOT.iterdir() if (p / "__init__.py").is_file()):
        assert f"`{folder}/`" in guide
    for name in re.findall(r"`((?:\w+/)?\w+\.py)`", guide):
        assert (ROOT / name).is_file() or list(ROOT.rglob(name)) or (ROOT.parent / name).is_file(), name


#: The rooms from the ground up. A module imports from its own room and from lower floors only; rooms of one floor do
#: not know each other.
FLOORS = (
    {"errors", "findings", "plain_letters", "tolerances", "units"},
    {"geometry", "system"},
    {"model", "pdf", "placement", "pool", "ticket", "typesetting"},
    {"cut", "face", "lettering", "nest", "roster"},
    {"jig", "record"},
    {"paperwork", "plates", "wall"},
    {"job"},
    {"page"},
    {"cli"},
)


def room_of(name):
    """The room, or the loose module, that a dotted name under the package lies in."""
    return name.split(".")[0]


def imported_rooms(path):
    for node in told_in(path):
        if isinstance(node, ast.ImportFrom) and node.module == "nameplate":
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("nameplate."):
            yield room_of(node.module.removeprefix("nameplate."))
        elif isinstance(node, ast.Import):
            yield from (
                room_of(a.name.removeprefix("nameplate.")) for a in node.names if a.name.startswith("nameplate.")
            )


def test_no_module_imports_from_a_higher_floor_or_from_another_room_of_its_own():
    floor_of = {room: number for number, floor in enumerate(FLOORS) for room in floor}
    upward = []
    for path in MODULES:
        own = path.relative_to(ROOT).with_suffix("").parts[0]
        if own not in ("__init__", "__main__"):
            others = set(imported_rooms(path)) - {own, "__version__", "__init__"}
            upward += [f"{path} imports {room}" for room in others if floor_of[room] >= floor_of[own]]
    assert upward == []


def test_every_room_and_every_loose_module_has_a_floor():
    rooms = {p.name for p in ROOT.iterdir() if (p / "__init__.py").is_file()}
    loose = {p.stem for p in ROOT.glob("*.py")} - {"__init__", "__main__"}
    assert rooms | loose == set().union(*FLOORS)
    assert len(loose) + 2 <= 8, "a module with a subject belongs in its room"


def test_the_developers_guide_has_the_same_floors():
    guide = (ROOT.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = {number: set() for number in range(1, len(FLOORS) + 1)}
    for number, rooms in re.findall(r"^\| (\d+) \| (`[^|]*`) \|", guide, re.MULTILINE):
        told[int(number)] |= set(re.findall(r"`(\w+)(?:/|\.py)`", rooms))
    assert list(told.values()) == list(FLOORS)


def test_no_two_public_classes_share_a_name():
    named = {}
    for path in MODULES:
        for node in told_in(path):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                named.setdefault(node.name, []).append(path.relative_to(ROOT).as_posix())
    assert {name: places for name, places in named.items() if len(places) > 1} == {}
