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
    if path.parent.name != "geometry":
        assert not {"shapely", "pathops"} & set(imported(path))


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_heavy_libraries_are_imported_where_they_are_used(path):
    heavy = {"scipy", "svgpathtools", "rectpack", "uharfbuzz", "fontTools", "jinja2", "ezdxf"}
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
