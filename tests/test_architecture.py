"""The rules of DEVELOPERS.md that a program can check."""

import ast
import re
from pathlib import Path

import pytest

import nameplate

ROOT = Path(nameplate.__file__).parent
MODULES = sorted(p for p in ROOT.rglob("*.py"))


def imported(path, *, top_only=False):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = tree.body if top_only else ast.walk(tree)
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module.split(".")[0]


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_only_geometry_opens_the_door_to_the_geometry_libraries(path):
    if "geometry" not in path.relative_to(ROOT).parts:
        assert not {"shapely", "pathops"} & set(imported(path))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_only_one_room_opens_the_door_to_the_library_of_pdf_files(path):
    if "pdf" not in path.relative_to(ROOT).parts:
        assert "reportlab" not in set(imported(path))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_heavy_libraries_are_imported_where_they_are_used(path):
    heavy = {"scipy", "svgpathtools", "rectpack", "uharfbuzz", "fontTools", "jinja2", "ezdxf", "reportlab"}
    assert not heavy & set(imported(path, top_only=True))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_every_module_says_what_it_is(path):
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


def test_the_developers_guide_names_every_folder_and_only_real_modules():
    guide = (ROOT.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    for folder in (p.name for p in ROOT.iterdir() if (p / "__init__.py").is_file()):
        assert f"`{folder}/`" in guide
    for name in re.findall(r"`((?:\w+/)?\w+\.py)`", guide):
        assert (ROOT / name).is_file() or list(ROOT.rglob(name)) or (ROOT.parent / name).is_file(), name


#: The rooms from the ground up. A module imports from its own room and from lower floors only; rooms of one floor do
#: not know each other.
FLOORS = (
    {"beam", "errors", "findings", "tolerances", "units"},
    {"geometry"},
    {"placement", "system"},
    {"model", "pdf", "ticket", "typesetting"},
    {"cut", "face", "lettering", "pool", "roster"},
    {"nest"},
    {"jig", "record"},
    {"paperwork", "plates"},
    {"wall"},
    {"job"},
    {"page"},
    {"cli"},
)


def room_of(name):
    """The room, or the loose module, that a dotted name under the package lies in."""
    return name.split(".")[0]


def imported_rooms(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module == "nameplate":
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("nameplate."):
            yield room_of(node.module.removeprefix("nameplate."))
        elif isinstance(node, ast.Import):
            yield from (
                room_of(a.name.removeprefix("nameplate.")) for a in node.names if a.name.startswith("nameplate.")
            )


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_no_module_imports_from_a_higher_floor_or_from_another_room_of_its_own(path):
    floor_of = {room: number for number, floor in enumerate(FLOORS) for room in floor}
    own = path.relative_to(ROOT).with_suffix("").parts[0]
    if own in ("__init__", "__main__"):
        return
    for room in set(imported_rooms(path)) - {own, "__version__", "__init__"}:
        assert floor_of[room] < floor_of[own], f"{own} imports {room}"


def test_every_room_and_every_loose_module_has_a_floor():
    rooms = {p.name for p in ROOT.iterdir() if (p / "__init__.py").is_file()}
    loose = {p.stem for p in ROOT.glob("*.py")} - {"__init__", "__main__"}
    assert rooms | loose == set().union(*FLOORS)
    assert len(loose) + 2 <= 8, "a module with a subject belongs in its room"


def test_no_two_public_classes_share_a_name():
    named = {}
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                named.setdefault(node.name, []).append(path.relative_to(ROOT).as_posix())
    assert {name: places for name, places in named.items() if len(places) > 1} == {}
