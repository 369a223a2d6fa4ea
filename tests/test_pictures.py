"""The README's pictures of the ways to make a plate and of the jigs are what the program makes."""

import importlib.util
import re
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[1] / "examples"
README = (EXAMPLES.parent / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def script():
    spec = importlib.util.spec_from_file_location("pictures", EXAMPLES / "pictures.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def drawn(script):
    return script.pictures()


def boxes(svg):
    """The boxes of a picture's shapes that are written with their points, hundredths of a mm."""
    data = re.findall(r' d="(M[^"v]+)"', svg)
    points = [[tuple(map(int, p)) for p in re.findall(r"(-?\d+) (-?\d+)", d)] for d in data]
    return [(min(x), min(y), max(x), max(y)) for x, y in (zip(*own, strict=True) for own in points)]


@pytest.mark.parametrize("file", ["ways.svg", "jigs.svg"])
def test_a_picture_is_what_the_program_makes(drawn, file):
    kept = (EXAMPLES / file).read_text(encoding="utf-8")
    # to 0.1 mm: another machine may round a curve otherwise
    for own, other in zip(boxes(drawn[file]), boxes(kept), strict=True):
        assert own == pytest.approx(other, abs=10)


def test_every_way_and_every_jig_has_a_picture_with_its_name_and_a_row_in_the_readme(script, drawn):
    ways = re.findall(r"^\| `(\w+)`", README.partition("| `[lettering] mount` |")[2].partition("\n\n")[0], re.MULTILINE)
    jigs = re.findall(r"^\| `(\w+)`", README.partition("| `[jig] style` |")[2].partition("\n\n")[0], re.MULTILINE)
    assert list(script.WAYS) == ways and list(script.JIGS) == jigs
    captions = {file: re.findall(r">(\w+): [^<]+</text>", svg) for file, svg in drawn.items()}
    assert captions == {"ways.svg": ways, "jigs.svg": jigs}
    assert "](examples/ways.svg)" in README and "](examples/jigs.svg)" in README
