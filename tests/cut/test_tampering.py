"""Whatever is changed in an out folder after the run, the inspection says so; an untouched folder is clean.

Each kind of job is made once; each tampering is done to a copy. Many are done twice: as they are, and with the list of
digests and its seal made anew, so that nothing but what the files come to can tell.
"""

import hashlib
import json
import pickle
import re
import shutil
from dataclasses import asdict

import numpy as np
import pytest

from nameplate.cli.commands import main
from nameplate.cut.packing import pack
from nameplate.job import inspect_folder
from nameplate.job.inspect_folder import look_over
from nameplate.system.digests import digest, sealed
from nameplate.ticket.workshop_schema import ColourKeys
from tests.jobs import json_of, make_in, sheets_of

TICKET = """
[job]
title = "Gate"
roster = "names.csv"
dxf = {dxf}
[face]
shape = "shield"
width = 60
height = 50
[lettering]
font = "Pacifico"
mount = "{mount}"
max_height = 14
hatch = 1
[[stock]]
material = "{stock}"
width = 400
height = 300
[jig]
style = "{jig}"
""" + sheets_of("template", "carrier", "backing", width=400, height=300)

#: What is made: mount, jig, DXF or not, and the stock of the names.
JOBS = {
    "applied": ("applied", "template", False, "lettering"),
    "backed": ("backed", "none", False, "lettering"),
    "pierced": ("pierced", "none", False, "blank"),
    "marked": ("marked", "none", False, "blank"),
    "carrier": ("applied", "carrier", False, "lettering"),
    "skeleton": ("applied", "skeleton", False, "lettering"),
    "print": ("applied", "print", False, "lettering"),
    "dxf": ("applied", "none", True, "lettering"),
}


@pytest.fixture(scope="module")
def jobs(tmp_path_factory):
    """Make a job the first time it is asked for."""
    made = {}

    def job(name):
        if name not in made:
            mount, jig, dxf, stock = JOBS[name]
            folder = tmp_path_factory.mktemp(name)
            text = TICKET.format(mount=mount, jig=jig, dxf=str(dxf).lower(), stock=stock)
            make_in(folder, text, "name,copies\nJo,2\nIda,1\n")
            made[name] = folder / "out"
        return made[name]

    return job


@pytest.fixture(autouse=True, scope="module")
def examined_once():
    """Burn no files twice that are to come to the same: each tampering leaves most of its folder as it was."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("examine_files", "examine_jig"):
            patch.setattr(inspect_folder, name, once(getattr(inspect_folder, name)))
        yield


def once(examine):
    """Have what is found in files remembered by their names, their bytes, and what they are to come to."""
    known = {}

    def found(folder, names, expected):
        data = [(folder / name).read_bytes() for name in names]
        key = hashlib.sha256(pickle.dumps((names, data, expected))).digest()
        if key not in known:
            known[key] = examine(folder, names, expected)
        return known[key]

    return found


class Folder:
    """A copy of an out folder to change things in."""

    def __init__(self, path):
        self.path = path

    def first(self, pattern):
        return sorted(self.path.glob(pattern))[0]

    def edit(self, pattern, change):
        path = self.first(pattern)
        text = path.read_bytes().decode("utf-8")
        changed = change(text)
        assert changed != text, "the tampering changed nothing"
        path.write_bytes(changed.encode("utf-8"))

    def data(self, name, change):
        def edited(text):
            document = json.loads(text)
            change(document)
            return json.dumps(document, ensure_ascii=False)

        self.edit(name, edited)

    def list_anew(self):
        """Make the list of digests and the seal anew, as somebody who knows how would."""
        path = self.path / "files.json"
        listed = json.loads(path.read_text(encoding="utf-8"))
        files = [p for p in sorted(self.path.rglob("*")) if p.is_file() and p != path]
        listed["files"] = {p.relative_to(self.path).as_posix(): digest(p.read_bytes()) for p in files}
        listed["seal"] = ""
        path.write_text(sealed(json.dumps(listed)), encoding="utf-8")


@pytest.fixture
def folder(jobs, tmp_path):
    def copied(name):
        shutil.copytree(jobs(name), tmp_path / "out")
        return Folder(tmp_path / "out")

    return copied


# --- what somebody may do to a drawing ------------------------------------------------------------------------------

PATH = re.compile(r"<path [^>]*/>\n")


def paths(text, of=""):
    return [p for p in PATH.findall(text) if of in p]


def without(text, chosen):
    for one in chosen:
        text = text.replace(one, "", 1)
    return text


def group(text, operation):
    return re.search(rf'<g data-operation="{operation}"[^>]*>\n(.*?)</g>\n', text, re.DOTALL)


def moved(element, dx, dy=0.0):
    head, data, tail = re.fullmatch(r'(.* d=")([^"]*)("/>\n)', element, re.DOTALL).groups()

    def number(value):
        return f"{value:.4f}".rstrip("0").rstrip(".")

    pairs = re.sub(r"(-?[\d.]+) (-?[\d.]+)", lambda m: f"{number(float(m[1]) + dx)} {number(float(m[2]) + dy)}", data)
    return head + pairs + tail


def move(dx, operation="cut-outside", number=0):
    def change(text):
        element = paths(group(text, operation)[1])[number]
        return text.replace(element, moved(element, dx), 1)

    return change


def turned(text):
    """Turn an outline by 2 degrees about its first point."""
    element = paths(group(text, "cut-outside")[1])[0]
    x0, y0 = map(float, re.search(r' d="M(-?[\d.]+) (-?[\d.]+)', element).groups())

    def at(match):
        x, y = float(match[1]) - x0, float(match[2]) - y0
        return f"{x0 + 0.9994 * x - 0.0349 * y:.4f} {y0 + 0.0349 * x + 0.9994 * y:.4f}"

    head, data, tail = re.fullmatch(r'(.* d=")([^"]*)("/>\n)', element, re.DOTALL).groups()
    plain = re.sub(r"(\.\d*?)0+(?=[ MLCZ]|$)", r"\1", re.sub(r"(-?[\d.]+) (-?[\d.]+)", at, data))
    return text.replace(element, head + re.sub(r"\.(?=[ MLCZ]|$)", "", plain) + tail, 1)


def swap(a, b):
    return lambda text: text.replace(a, "\0").replace(b, a).replace("\0", b)


def swap_marks(text):
    """Swap the scores of two plates, as if each had been given the other's name."""
    return re.sub(
        r'(<path data-plate=")(001|002)("[^>]*data-copy="1"[^>]*/>)',
        lambda m: m[1] + {"001": "002", "002": "001"}[m[2]] + m[3],
        group(text, "score")[0],
    ).join(text.split(group(text, "score")[0]))


def swap_groups(text):
    inside, outside = group(text, "cut-inside")[0], group(text, "cut-outside")[0]
    return text.replace(inside, "\0").replace(outside, inside).replace("\0", outside)


def to_score(text):
    """Let the beam only score what it should cut."""
    element = paths(group(text, "cut-inside")[1])[0]
    cuts = without(text, [element])
    scored = f'<g data-operation="score" fill="none" stroke="#009e73" stroke-width="0.1">\n{element}</g>\n'
    return cuts.replace("<g data", scored + "<g data", 1)


def doubled(text):
    element = paths(group(text, "cut-outside")[1])[0]
    return text.replace(element, element * 2, 1)


def opened(text):
    element = paths(group(text, "cut-outside")[1])[0]
    return text.replace(element, element.replace('Z"', '"'), 1)


def score_across(text):
    """Draw a line across the first part."""
    element = paths(group(text, "cut-outside")[1])[0]
    x, y = map(float, re.search(r' d="M(-?[\d.]+) (-?[\d.]+)', element).groups())
    owner = re.match(r"<path (.*?) fill", element)[1]
    line = f'<path {owner} fill="none" d="M{x - 5:g} {y + 3:g}L{x + 5:g} {y + 3:g}"/>\n'
    if group(text, "score"):
        return text.replace("</g>", line + "</g>", 1)
    scored = f'<g data-operation="score" fill="none" stroke="#009e73" stroke-width="0.1">\n{line}</g>\n'
    return text.replace("<g data", scored + "<g data", 1)


def replaced(a, b, count=1):
    return lambda text: text.replace(a, b, count)


def svg(change, pattern="cut/*.svg"):
    return lambda folder: folder.edit(pattern, change)


def layer_of_dxf(a, b):
    """Replace what a DXF says of the layer of inside cuts."""

    def change(text):
        at = text.index("  2\ncut-inside\n")
        return text[:at] + text[at:].replace(a, b, 1)

    return svg(change, "cut/*.dxf")


#: Tamperings of drawings that are found by what the drawing comes to, even where the digests are made anew.
DRAWN = {
    "a cut deleted": ("applied", svg(lambda t: without(t, paths(t)[-1:]))),
    "an inside cut deleted": ("applied", svg(lambda t: without(t, paths(group(t, "cut-inside")[1])[:1]))),
    "a cut moved by 0.1 mm": ("applied", svg(move(0.1))),
    "a cut moved by 1 mm": ("applied", svg(move(1.0))),
    "a cut moved by 20 mm": ("applied", svg(move(20.0))),
    "an inside cut moved by 0.1 mm": ("applied", svg(move(0.1, "cut-inside"))),
    "a cut turned": ("applied", svg(turned)),
    "two names swapped": (
        "applied",
        svg(swap('"001" data-part="lettering" data-copy="1"', '"002" data-part="lettering" data-copy="1"')),
    ),
    "two copies swapped": ("applied", svg(swap('data-copy="1"', 'data-copy="2"'))),
    "a name given another plate's id": ("applied", svg(replaced('data-plate="002"', 'data-plate="003"', -1))),
    "a cut only scored": ("applied", svg(to_score)),
    "inside cuts after outside cuts": ("applied", svg(swap_groups)),
    "inside and outside mixed up": ("applied", svg(swap("cut-inside", "cut-outside"))),
    "a line scored across a name": ("applied", svg(score_across)),
    "no stroke": ("applied", svg(lambda t: re.sub(r'stroke="#[0-9a-f]+"', 'stroke="none"', t))),
    "strokes left out": ("applied", svg(lambda t: re.sub(r' stroke="#[0-9a-f]+"', "", t))),
    "colours swapped": ("applied", svg(swap("#d55e00", "#0072b2"))),
    "one colour changed": ("applied", svg(replaced("#0072b2", "#0072b3"))),
    "a wider stroke": ("applied", svg(replaced('stroke-width="0.1"', 'stroke-width="2"'))),
    "a filled path": ("applied", svg(replaced('fill="none" d=', 'fill="#000000" d='))),
    "a filled group": ("applied", svg(replaced('fill="none" stroke=', 'fill="red" stroke='))),
    "a colour on one path": ("applied", svg(replaced('fill="none" d=', 'fill="none" stroke="#ff0000" d='))),
    "another viewBox": ("applied", svg(replaced('viewBox="0 0 400 300"', 'viewBox="0 0 800 600"'))),
    "a viewBox that is shifted": ("applied", svg(replaced('viewBox="0 0', 'viewBox="1 0'))),
    "another unit": ("applied", svg(replaced('width="400mm"', 'width="400px"'))),
    "another size": ("applied", svg(replaced('width="400mm"', 'width="401mm"'))),
    "a transform on a path": ("applied", svg(replaced("<path ", '<path transform="scale(2)" '))),
    "a transform on a group": ("applied", svg(replaced("<g ", '<g transform="translate(1)" '))),
    "a style": ("applied", svg(replaced("<path ", '<path style="display:none" '))),
    "a style sheet": ("applied", svg(replaced("<g ", "<style>path{display:none}</style><g "))),
    "a style sheet from outside": ("applied", svg(replaced("<svg ", '<?xml-stylesheet href="a.css"?><svg '))),
    "a clip": ("applied", svg(replaced("<g ", '<g clip-path="url(#a)" '))),
    "display none": ("applied", svg(replaced("<g ", '<g display="none" '))),
    "hidden": ("applied", svg(replaced("<g ", '<g visibility="hidden" '))),
    "no opacity": ("applied", svg(replaced("<path ", '<path opacity="0" '))),
    "a cut doubled": ("applied", svg(doubled)),
    "a cut opened": ("applied", svg(opened)),
    "all cuts deleted": ("applied", svg(lambda t: without(t, paths(t)))),
    "a text": ("applied", svg(replaced("<g ", "<text>9</text><g "))),
    "a template's cut moved": ("applied", svg(move(0.1, "cut-inside"), "cut/template-*.svg")),
    "a template's label moved": ("applied", svg(move(20.0, "score"), "cut/template-*.svg")),
    "a template's label moved a little": ("applied", svg(move(0.1, "score", 1), "cut/template-*.svg")),
    "a template's label deleted": ("applied", svg(lambda t: without(t, paths(t, "")[:1]), "cut/template-*.svg")),
    "a drawn jig moved": ("applied", svg(move(0.1, "cut-inside"), "jigs/*.svg")),
    "a drawn jig deleted from its file": ("applied", svg(lambda t: without(t, paths(t)[-1:]), "jigs/*.svg")),
    "drawn jigs swapped": ("applied", svg(replaced('data-plate="001"', 'data-plate="002"', -1), "jigs/001*.svg")),
    "a backing's cut moved": ("backed", svg(move(0.1), "cut/backing-*.svg")),
    "the name of a backing moved": ("backed", svg(move(0.2), "cut/lettering-*.svg")),
    "a backing's cut deleted": ("backed", svg(lambda t: without(t, paths(t)[-1:]), "cut/backing-*.svg")),
    "a hole of a pierced plate deleted": ("pierced", svg(lambda t: without(t, paths(group(t, "cut-inside")[1])[:1]))),
    "a pierced letter moved": ("pierced", svg(move(0.1, "cut-inside"))),
    "all hatch deleted": ("marked", svg(lambda t: without(t, [group(t, "score")[0]]))),
    "half of the hatch deleted": ("marked", svg(lambda t: without(t, paths(group(t, "score")[1])[::2]))),
    "one hatch line deleted": ("marked", svg(lambda t: without(t, paths(group(t, "score")[1])[3:4]))),
    "two marked names swapped": ("marked", svg(swap_marks)),
    "a hatch line moved": ("marked", svg(move(0.1, "score", 4))),
    "a hatch line doubled": ("marked", svg(lambda t: t.replace(paths(t)[0], paths(t)[0] * 2, 1))),
    "a line scored across a marked name": ("marked", svg(score_across)),
    "a carrier's pocket moved": ("carrier", svg(move(0.1, "cut-inside"), "cut/carrier-*.svg")),
    "a pin hole deleted": ("carrier", svg(lambda t: without(t, paths(t, "pin-hole")[:1]), "cut/carrier-*.svg")),
    "a drawn carrier's pocket moved": (
        "carrier",
        svg(lambda t: t.replace(paths(t, "pocket")[0], moved(paths(t, "pocket")[0], 0.1), 1), "jigs/carrier.svg"),
    ),
    "a drawn carrier's layers swapped": ("carrier", svg(swap('data-layer="1"', 'data-layer="2"'), "jigs/carrier.svg")),
    "a printed jig moved": ("print", svg(move(0.1), "jigs/*.svg")),
    "a PDF's scale": ("print", svg(replaced("2.834645669 0 0 2.8", "2.934645669 0 0 2.8"), "jigs/*.pdf")),
    "a PDF's line moved": (
        "print",
        svg(
            lambda t: re.sub(
                r"\n(-?\d+)(\.?\d*) (\S+) m\n", lambda m: f"\n{int(m[1]) + 1}{m[2]} {m[3]} m\n", t, count=1
            ),
            "jigs/*.pdf",
        ),
    ),
    "a DXF's line moved": (
        "dxf",
        svg(
            lambda t: re.sub(
                r"\n 10\n(\d+)\.", lambda m: f"\n 10\n{int(m[1]) + 1}.", t[t.index("ENTITIES") :], count=1
            ).join([t[: t.index("ENTITIES")], ""]),
            "cut/*.dxf",
        ),
    ),
    "a DXF's layer changed": (
        "dxf",
        svg(lambda t: re.sub(r"(ENTITIES.*?\n  8\n)cut-\w+", r"\1score", t, count=1, flags=re.DOTALL), "cut/*.dxf"),
    ),
    "a DXF's layer frozen": ("dxf", layer_of_dxf(" 70\n0\n", " 70\n1\n")),
    "a DXF's layer switched off": ("dxf", layer_of_dxf(" 62\n1\n", " 62\n-1\n")),
    "a DXF's layer of another index colour": ("dxf", layer_of_dxf(" 62\n1\n", " 62\n6\n")),
    "a DXF's layer dashed": ("dxf", layer_of_dxf("Continuous", "DASHED")),
    "a DXF's layer with thick lines": ("dxf", layer_of_dxf("370\n-3\n", "370\n200\n")),
    "a DXF in inches": ("dxf", svg(lambda t: re.sub(r"(\$INSUNITS\n 70\n)4", r"\g<1>1", t), "cut/*.dxf")),
    "a DXF of another run": (
        "dxf",
        svg(lambda t: t[: t.index("ENTITIES")] + "ENTITIES\n  0\nENDSEC\n  0\nEOF\n", "cut/*.dxf"),
    ),
    "a DXF that is none": ("dxf", svg(lambda _: "no drawing", "cut/*.dxf")),
}


# --- what somebody may do to the other files ------------------------------------------------------------------------


def appended(pattern, text="\n"):
    return lambda folder: folder.edit(pattern, lambda t: t + text)


def deleted(pattern):
    return lambda folder: folder.first(pattern).unlink()


def added(name, like="cut/*.svg"):
    return lambda folder: (folder.path / name).write_bytes(folder.first(like).read_bytes())


def forged(change):
    return lambda folder: folder.data("nominal.json", change)


def part_removed(document):
    document["sheets"][0]["placed"].pop()


def moved_in_record(document):
    document["sheets"][0]["placed"][0][2] += 1


def other_window(how):
    """Change how a template's window is derived: the part, the clearance, what lies beyond."""

    def change(document):
        part = next(p for p in reversed(document["parts"]) if "windows" in p)
        part["windows"][0] = how(*part["windows"][0])

    return forged(change)


#: Other colours than those of the run.
BLACK = dict.fromkeys(asdict(ColourKeys()), "#000000")


def forged_with_digest(folder):
    """Forge the record and write its new digest into the list, but not the seal."""
    folder.data("nominal.json", lambda d: d["sheets"][0].update(gap=0))
    new = digest((folder.path / "nominal.json").read_bytes())
    folder.edit("files.json", lambda t: re.sub(r'("nominal.json": ")[0-9a-f]{64}', rf"\g<1>{new}", t))


def line_ends(folder):
    folder.edit("cut/*.svg", lambda t: t.replace("\n", "\r\n"))


def linked(folder):
    path = folder.first("cut/*.svg")
    path.rename(folder.path / "elsewhere.svg")
    path.symlink_to(folder.path / "elsewhere.svg")


#: Tamperings that the digests find.
LISTED = {
    "a cut file deleted": ("applied", deleted("cut/*.svg")),
    "a cut file added": ("applied", added("cut/lettering-07.svg")),
    "another kind of file added": ("applied", added("cut/lettering-01.bak")),
    "a jig deleted": ("applied", deleted("jigs/*.svg")),
    "a jig added": ("applied", added("jigs/009-x.svg", "jigs/*.svg")),
    "line ends changed": ("applied", line_ends),
    "a cut file that is a link": ("applied", linked),
    "the worklist changed": ("applied", lambda f: f.edit("worklist.csv", lambda t: t.replace("Ida", "Ada"))),
    "the worklist deleted": ("applied", deleted("worklist.csv")),
    "the worklist on paper changed": ("applied", appended("worklist.html")),
    "the notes changed": ("applied", appended("notes.html", "<p>all is well</p>")),
    "the order changed": ("applied", appended("order.csv", "oak,3,600 x 300,9,,")),
    "the cards changed": ("applied", appended("cards.html", "<p>6 mm</p>")),
    "the proof changed": ("applied", lambda f: f.edit("proof.html", lambda t: t.replace("Ida", "Ada"))),
    "the summary changed": ("applied", lambda f: f.edit("summary.json", lambda t: t.replace('"Ida"', '"Ada"'))),
    "the summary deleted": ("applied", deleted("summary.json")),
    "the list deleted": ("applied", deleted("files.json")),
    "the list without digests": ("applied", lambda f: f.data("files.json", lambda d: d.pop("files"))),
    "the list without a seal": ("applied", lambda f: f.data("files.json", lambda d: d.pop("seal"))),
    "one digest left out": ("applied", lambda f: f.data("files.json", lambda d: d["files"].popitem())),
    "the layout changed": ("applied", appended("layout.json", " ")),
    "the offcuts changed": ("applied", appended("offcuts.json", " ")),
    "the record deleted": ("applied", deleted("nominal.json")),
    "the record with a larger kerf": ("applied", forged(lambda d: d["sheets"][0].update(kerf=0.2))),
    "the record without a gap": ("applied", forged(lambda d: d["sheets"][0].update(gap=0))),
    "the record without a part": ("applied", forged(part_removed)),
    "the record with a part moved": ("applied", forged(moved_in_record)),
    "the record with other colours": ("applied", forged(lambda d: d["sheets"][0].update(colours=BLACK))),
    "the record without its marks": ("marked", forged(lambda d: [p.update(marks=None) for p in d["parts"]])),
    "the record without its drop-ins": ("applied", forged(lambda d: d.update(drop_ins=[]))),
    "the record and its digest": ("applied", forged_with_digest),
    "a DXF deleted": ("dxf", deleted("cut/*.dxf")),
    "a PDF deleted": ("print", deleted("jigs/*.pdf")),
    "a PDF with a second drawing": ("print", appended("jigs/*.pdf", "1 0 obj\n<< >>\nendobj\n")),
    "the carrier's drawing deleted": ("carrier", deleted("jigs/carrier.svg")),
}


#: Forgeries of the record that the drawings find, whatever the digests say.
DERIVED = {
    "a wider window": other_window(lambda part, clearance, beyond: [part, clearance + 0.05, beyond]),
    "a narrower window": other_window(lambda part, clearance, beyond: [part, clearance - 0.05, beyond]),
    "the window of another name": other_window(lambda _, clearance, beyond: [0, clearance, beyond]),
    "a piece more of the window": other_window(lambda p, c, _: [p, c, pack([np.array([(-3, -9), (3, -9), (0, 9)])])]),
    "no window": forged(lambda d: [p.update(windows=[]) for p in d["parts"]]),
}


@pytest.mark.parametrize("name", DERIVED)
@pytest.mark.parametrize("job", ["applied", "carrier", "print", "skeleton"])
def test_a_forged_window_is_found_by_what_is_drawn(folder, job, name):
    changed = folder(job)
    DERIVED[name](changed)
    changed.list_anew()
    assert {f.code for f in inspected(changed)} >= {"shape-off"}


def inspected(folder):
    return look_over(folder.path).findings


@pytest.mark.parametrize("name", JOBS)
def test_an_untouched_folder_is_clean(folder, name):
    report = look_over(folder(name).path)
    assert report.findings == () and len(report.seal) == 64


@pytest.mark.parametrize("name", DRAWN)
def test_a_changed_drawing_is_found_by_its_digest_and_by_what_it_comes_to(folder, name):
    job, tamper = DRAWN[name]
    changed = folder(job)
    tamper(changed)
    assert "file-changed" in {f.code for f in inspected(changed)}
    changed.list_anew()
    found = inspected(changed)
    assert found and "file-changed" not in {f.code for f in found}
    assert all(f.severity == "error" for f in found)


@pytest.mark.parametrize("name", LISTED)
def test_any_other_change_is_found(folder, name):
    job, tamper = LISTED[name]
    changed = folder(job)
    tamper(changed)
    assert inspected(changed)


@pytest.mark.parametrize(("name", "code"), [("applied", 0), ("dxf", 0)])
def test_the_command_prints_the_seal(folder, name, code):
    from click.testing import CliRunner

    out = folder(name)
    result = CliRunner().invoke(main, ["inspect", str(out.path)])
    assert result.exit_code == code
    seal = json_of(out.path / "files.json")["seal"]
    assert f"seal {seal[:16]}" in result.stdout
    out.edit("worklist.csv", lambda t: t + "\n")
    result = CliRunner().invoke(main, ["inspect", str(out.path)])
    assert result.exit_code == 3 and "worklist.csv was changed since the run" in result.stderr


def test_what_is_found_says_where_and_how_much(folder):
    changed = folder("applied")
    changed.edit("cut/template-*.svg", move(20.0, "score"))
    (finding,) = [f for f in inspected(changed) if f.code == "marks"]
    assert "20.00 mm off" in finding.message and finding.plate in ("001", "002")


def test_a_folder_made_anew_in_whole_is_sound_but_has_another_seal(folder):
    """What the inspection cannot prove: that nobody wrote every file anew. The seal that was noted down tells."""
    changed = folder("applied")
    seal = look_over(changed.path).seal
    changed.edit("worklist.csv", lambda t: t.replace("Ida", "Ada"))
    changed.list_anew()
    report = look_over(changed.path)
    assert report.findings == () and report.seal != seal
