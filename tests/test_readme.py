"""The sentences of the README that matter are true."""

import ast
import re
import subprocess
import sys
from pathlib import Path

from click.testing import CliRunner

from nameplate import errors
from nameplate.cli import commands
from nameplate.roster import headings
from nameplate.ticket.cautions import CAUTIONS, material_findings
from nameplate.ticket.schema import Ticket
from nameplate.ticket.workshop_schema import MaterialKeys

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
