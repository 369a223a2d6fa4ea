"""The sentences of the README that matter are true."""

import ast
import json
import math
import re
import subprocess
import sys
from dataclasses import fields
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from nameplate import errors, tolerances
from nameplate.cli import commands
from nameplate.cut import coupons, drop_in, dxf, inspect_files, measured_kerf, nominal_file, scores, sheet_png
from nameplate.geometry import outline
from nameplate.jig import ladder
from nameplate.job import estimate, plate_stage
from nameplate.lettering import legibility, making
from nameplate.placement import objective
from nameplate.pool import interface
from nameplate.roster import delimited_text, headings
from nameplate.ticket import checks, lettering_schema
from nameplate.ticket.cautions import CAUTIONS, material_findings
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import ROLES, FaceKeys, JigKeys, Ticket
from nameplate.ticket.wall_schema import WallKeys
from nameplate.ticket.workshop_schema import MaterialKeys
from nameplate.typesetting import bending, setting
from nameplate.wall import checks as wall_checks
from nameplate.wall import shapes

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_exit_codes_are_the_documented_ones():
    table = dict(re.findall(r"^\| (\d+) \| (.+) \|$", README, re.MULTILINE))
    codes = {
        errors.EXIT_OK: "all made",
        errors.EXIT_SOME_REFUSED: "some rows could not be made, the rest are",
        errors.EXIT_USAGE: "ticket, roster or usage",
        errors.EXIT_INSPECTION: "a cut file cannot be trusted and was left out, or `inspect` found a fault",
        errors.EXIT_FAULT: "a fault of the program itself; it says what to report",
        commands.EXIT_INTERRUPTED: "interrupted by Ctrl-C",
        129: "ended by SIGHUP: its terminal was closed",  # 128 and the signal's number, as POSIX shells report it
        143: "ended by SIGTERM: the system or a person asked it to end",
    }
    assert table == {str(code): meaning for code, meaning in codes.items()}


def test_every_command_is_in_the_readme():
    named = set(re.findall(r"^\| `nameplate (\w+)", README, re.MULTILINE))
    assert named == set(commands.main.commands)


def test_the_first_job_of_the_readme_can_be_made_as_it_says(tmp_path, monkeypatch):
    lines = [line.split() for line in README.splitlines() if line.startswith("nameplate ") and "my-job" in line]
    assert [words[1] for words in lines] == ["new", "estimate", "make"]
    monkeypatch.chdir(tmp_path)
    results = [CliRunner().invoke(commands.main, words[1:]) for words in lines]
    assert [r.exit_code for r in results] == [0, 0, 0], results[-1].output
    assert (tmp_path / "my-job" / "out" / "proof.html").is_file()


def test_every_column_of_the_list_is_in_the_readme():
    table = README.partition("| column | meaning |")[2].partition("\n\n")[0]
    assert set(re.findall(r"^\| `(\w+)`", table, re.MULTILINE)) == set(headings.COLUMNS)


def test_the_files_that_the_readme_shows_exist():
    shown = re.findall(r"\]\((examples/[^)]+)\)", README) + re.findall(r"(examples/\S+\.toml)", README)
    assert shown
    assert [name for name in shown if not (ROOT / name).is_file()] == []


def test_the_checks_command_is_the_one_that_continuous_integration_runs():
    command = [line for line in README.splitlines() if re.match(r"python3 .*tests/check\.py$", line)]
    assert len(command) == 1
    assert r"^python3 .*tests/check\.py$" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_what_the_readme_says_is_never_cut_is_refused():
    listed = re.search(r"\*\*Never cut\*\* (.+?), or any plastic you cannot name", README, re.DOTALL)[1]
    materials = re.split(r", | or ", re.sub(r" \(.*?\)", "", listed))
    assert materials == ["PVC", "vinyl", "polycarbonate", "ABS"]
    for name in materials:
        (finding,) = material_findings(Ticket(material={"lettering": MaterialKeys(name=name)}))
        assert (finding.code, finding.severity) == ("forbidden-material", "error")


def test_every_caution_of_the_paperwork_has_one_in_the_readme():
    cautions = README.partition("## Cautions")[2].partition("\n## ")[0].lower()
    said = {
        "First of all": "local codes",
        "Fire": "extinguisher",
        "Materials": "never cut",
        "Signs by law": "tactile",
    }
    assert [c.topic for c in CAUTIONS if said.get(c.topic, c.topic).lower() not in cautions] == []


def test_help_loads_no_heavy_library():
    code = (
        "import sys; from nameplate.cli.commands import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'shapely', 'fontTools', 'uharfbuzz', 'svgpathtools', 'rich'} & set(sys.modules)\n"
        "sys.exit(f'loaded {sorted(heavy)}' if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@cache
def said_in(path):
    """Give the texts with a space in a module, docstrings left out: what a person may read."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bodies = [node.body for node in ast.walk(tree) if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)]
    docs = {id(body[0].value) for body in bodies if body and isinstance(body[0], ast.Expr)}
    texts = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    return [text.value for text in texts if id(text) not in docs and " " in text.value]


def test_symptoms_that_are_messages_are_the_programs_own():
    table = README.partition("| what you see |")[2].partition("\n\n")[0]
    seen = re.findall(r"^\|([^|]+)\|", table, re.MULTILINE)[1:]
    quoted = [text for cell in seen for text in re.findall(r"`([^`]+)`", cell) if "command not found" not in text]
    quoted = [text for text in quoted if text != "inspect"]
    said = [text for path in (ROOT / "nameplate").rglob("*.py") for text in said_in(path)]
    assert len(quoted) >= 5
    assert [text for text in quoted if not any(text in own for own in said)] == []


def test_messages_about_plates_use_the_readmes_words_and_not_the_makers():
    rooms = [
        p
        for room in ("lettering", "plates", "jig", "roster", "nest")
        for p in (ROOT / "nameplate" / room).rglob("*.py")
    ]
    texts = {text for path in rooms if path.name != "strength.py" for text in said_in(path)}  # it cites sources
    assert len(texts) > 200
    assert [text for text in texts if re.search(r"\b(?:an em|webs?|necks?|limbs?|solids?|counters?|MPa)\b", text)] == []
    words = README.partition("## Words")[2].partition("\n## ")[0]
    assert all(f"{word}" in words for word in ("face", "size", "min_web", "bridge", "kerf", "window", "nub", "play"))


#: Sentences of the README with a figure, and what the program has in their place. What a figure stands for is judged
#: where it is used; here it is only the same one.
FIGURES = (
    (r"within ([\d.]+) mm of its nominal shape", tolerances.BURN),
    (r"nowhere else \(each line within ([\d.]+) mm\)", scores.WITHIN),
    (r"each edge may be off by\s+([\d.]+) mm", drop_in.SHORT / 2),
    (r"those of its SVG within\s+([\d.]+) mm", inspect_files.WITHIN),
    (r"at most ([\d,]+) rows", delimited_text.MOST_ROWS),
    (r"rows, ([\d,]+) columns", delimited_text.MOST_COLUMNS),
    (r"columns and ([\d,]+) cells", delimited_text.MOST_CELLS),
    (r"a face over (\d+) m,", lettering_schema.LARGEST_FACE / 1000),
    (r"`min_web` under ([\d.]+) mm", lettering_schema.LEAST_WEB),
    (r"more than ([\d,]+) hatch lines", checks.MOST_HATCH_LINES),
    (r"`kerf_days` \((\d+)\)", MaterialKeys().kerf_days),
    (r"strips from ([\d.]+) to", coupons.STRIPS[0]),
    (r"strips from [\d.]+ to (\d+) mm", coupons.STRIPS[-1]),
    (
        r"Small letters under ([\d.]+) mm",
        legibility.READING_DISTANCE / legibility.READING_RATIO * legibility.SIGN_X_HEIGHT,
    ),
    (r"`load = (\d+)` newtons", LetteringKeys().load),
    (r"`tolerance = ([\d.]+)` mm", JigKeys().tolerance),
    (r"pockets in steps of\s+([\d.]+) mm", ladder.STEP),
    (r"may be (\d+) % more or fewer", estimate.OFF * 100),
    (r"may be ([\d.]+) % of the zone's longer side", objective.UPRIGHT / 2 * 100),
    (r"round holes \((\d+) mm at most\)", shapes.WIDEST_SCREW_HOLE),
    (r"hanger's `play` \((\d+) mm\)", WallKeys().play),
    (r"`unseen` \((\d+) %\)", WallKeys().unseen * 100),
    (r"`level = (\d+)` mm above the floor", WallKeys().level),
    (r"longer than (\d+) seconds of a core", interface.ITEM_LIMIT_S),
    (r"or more than (\d+) MB of memory, is given up", interface.ITEM_LIMIT_MB),
    (r"Names of more than (\d+) letters", plate_stage.LONG_NAME),
    (r"more than ([\d,]+) points,", outline.MOST_POINTS),
    (r"(\d+) separate outlines", outline.MOST_CONTOURS),
    (r"or ([\d,]+) crossings", outline.MOST_CROSSINGS),
    (r"more than (\d+) m of outline", making.MOST_OUTLINE / 1000),
    (r"allows ([\d.]+) mm more than the run did", nominal_file.SLACK),
    (r"A PNG, (\d+)\s+pixels a mm", sheet_png.DENSITY),
    (r"where a side is over (\d+) mm", sheet_png.MOST / sheet_png.DENSITY),
)


@pytest.mark.parametrize(("sentence", "value"), FIGURES, ids=lambda given: str(given)[:40])
def test_a_figure_of_the_readme_is_the_programs(sentence, value):
    (said,) = re.findall(sentence, README)
    assert float(said.replace(",", "")) == pytest.approx(value)


def test_figures_in_words_are_the_programs():
    words = " ".join(README.split())
    assert "two thirds of the radius are refused" in words and bending.LEAST_RADIUS == 1.5
    assert "more than a quarter of an em, a swash" in words and setting.SWASH == 0.25
    assert (
        "nearer than six diameters to each other or to the edge" in words
        and wall_checks.SPACING == wall_checks.EDGE == 6
    )
    assert "its lines within two pixels" in words and sheet_png.BESIDE == 2
    assert "lettering goes half round at most" in words and math.pi == bending.MOST_ANGLE
    assert "off (twice the standard uncertainty" in words and measured_kerf.COVERAGE == 2


def test_what_the_readme_says_of_the_reader_is_what_the_table_of_its_measurement_says():
    words = " ".join(README.split())
    assert "an independent reader misses about one in twenty of the rest" in words
    assert "`python -m tests.benchmarks --reader fresh` measures it" in words
    developers = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    together = r"The last two lists together: ([\d.]+) % of [\d,]+ are read, and (\d+) of (\d+) warnings is idle"
    ((read, idle, warned),) = re.findall(together, developers)
    assert 100 / 30 < 100 - float(read) < 100 / 15, "one in twenty of the rest is missed"
    assert int(idle) < int(warned)


def test_the_readmes_other_lists_are_the_programs():
    (indices,) = re.findall(r"an index colour of its own \((\d), (\d), (\d)\)", README)
    assert sorted(map(int, indices)) == sorted(dxf.INDICES[name] for name in ("score", "cut-inside", "cut-outside"))
    names = re.search(r"The face is a `shape` \((.+?)\) with", README)[1]
    assert set(re.findall(r"`(\w+)`", names)) == set(shapes_of_faces()) - {"none"}
    roles = re.search(r"The roles are (.+?); a path", README, re.DOTALL)[1]
    assert set(re.findall(r"`(\w+)`", roles)) == set(ROLES)


def shapes_of_faces():
    (rules,) = [f.metadata for f in fields(FaceKeys) if f.name == "shape"]
    return rules["choices"]


def test_what_the_readme_tells_to_look_up_can_be():
    asked = set(re.findall(r"`(?:nameplate )?explain (\w+)`", README.replace("\n", " ")))
    assert {"mount", "lettering", "nest", "stock"} <= asked
    results = {word: CliRunner().invoke(commands.main, ["explain", word]) for word in asked}
    assert {word: done.stderr for word, done in results.items() if done.exit_code} == {}


def test_every_link_within_the_readme_leads_to_a_heading():
    headings = {
        re.sub(r"[^\w\- ]", "", h).strip().lower().replace(" ", "-") for h in re.findall(r"^#+ (.+)$", README, re.M)
    }
    assert [link for link in re.findall(r"\]\(#([\w-]+)\)", README) if link not in headings] == []


def test_the_reference_comes_after_all_that_a_first_job_needs():
    first = (
        "Ways to make a plate",
        "Jigs",
        "What a run promises",
        "When something is not",
        "Words",
        "Cautions",
        "Reference",
    )
    places = [README.index(f"## {heading}") for heading in first]
    assert places == sorted(places) and README.index("![") < README.index("```sh") < places[0]
    assert all(README.index(f"## {heading}") > places[-1] for heading in ("The job ticket", "Commands", "Fonts"))


def test_the_readme_has_every_key_of_the_status(tmp_path):
    assert CliRunner().invoke(commands.main, ["new", str(tmp_path)]).exit_code == 0
    done = CliRunner().invoke(commands.main, ["status", str(tmp_path / "job.toml"), "--json"])
    table = README.partition("due. With `--json`:")[2].partition("\n\n## ")[0]
    told = {key for cell in re.findall(r"^\| ([^|]+) \|", table, re.MULTILINE) for key in re.findall(r"`(\w+)`", cell)}
    assert done.exit_code == 0 and told == set(json.loads(done.stdout))
