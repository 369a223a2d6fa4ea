"""Things that go wrong, or ask for something, at a bench: each a small folder of files and the commands given in it.

What the program says in them is kept in `messages.txt`, to be read through as a maker reads it. Names are invented.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field

TICKET = """\
[job]
roster = "names.csv"
approval = "none"

[face]
shape = "ellipse"
width = 110
height = 80

[lettering]
font = "Pacifico"

[material]
lettering = { name = "cast acrylic", thickness = 3, kerf = 0.18 }
template = { name = "grey board", thickness = 1, kerf = 0.15 }
blank = { name = "birch plywood", thickness = 4, kerf = 0.2 }

[[stock]]
material = "lettering"
width = 300
height = 300

[[stock]]
material = "template"
width = 320
height = 250

[[stock]]
material = "blank"
width = 300
height = 250
"""

NAMES = "name\nWren Abara\n"

MAKE = "make job.toml -o out"
ESTIMATE = "estimate job.toml"


@dataclass(frozen=True)
class Situation:
    """A folder and what is done in it: the commands before the last one only prepare, the last one is read.

    Before that one, texts of files are replaced (`after`), and files written, or taken away where None (`then`).
    """

    title: str
    files: Mapping[str, str | bytes]
    commands: tuple[str, ...] = (MAKE,)
    after: Mapping[str, tuple[str | re.Pattern[str], str]] = field(default_factory=dict)
    then: Mapping[str, str | None] = field(default_factory=dict)


def job(
    title: str, *changes: tuple[str, str], names: str | bytes = NAMES, do: str | tuple[str, ...] = MAKE, **more: object
) -> Situation:
    """Give a situation of the small job above with some texts of its ticket changed."""
    ticket = TICKET
    for old, new in changes:
        assert ticket.count(old) >= 1, (title, old)
        ticket = ticket.replace(old, new, 1)
    files = {"job.toml": ticket, "names.csv": names, **more.pop("files", {})}  # type: ignore[arg-type]
    return Situation(title, files, (do,) if isinstance(do, str) else do, **more)  # type: ignore[arg-type]


def added(text: str) -> tuple[str, str]:
    """Give the change of a ticket that adds tables at its end."""
    return ("height = 250\n", f"height = 250\n{text}\n")


def face(text: str) -> tuple[str, str]:
    """Give the change of a ticket that puts other lines into [face]."""
    return ('shape = "ellipse"\nwidth = 110\nheight = 80', text)


def svg(body: str, *, head: str = 'width="110mm" height="80mm" viewBox="0 0 110 80"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'


def rectangle_path(x0: float, y0: float, x1: float, y1: float) -> str:
    return f"M{x0} {y0}H{x1}V{y1}H{x0}Z"


def dxf(*outlines: tuple[str, tuple[tuple[float, float], ...]], unit: int = 4) -> str:
    """Give a DXF of closed polylines, each on a layer (R12 has all that it takes; $INSUNITS as in R2000)."""
    import ezdxf

    document = ezdxf.new("R2010", units=unit)
    for layer, points in outlines:
        document.modelspace().add_lwpolyline(points, close=True, dxfattribs={"layer": layer})
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def box(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def not_a_book() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as book:
        book.writestr("hello.txt", "no spreadsheet")
    return out.getvalue()


COMMON = (
    # the ticket
    Situation("no ticket of that name", {}),
    job("no list of that name", ('"names.csv"', '"nmaes.csv"')),
    job("a decimal comma and a missing quotation mark", ("width = 110", "width = 110,5"), ('"Pacifico"', '"Pacifico')),
    job(
        "misspelt and misplaced keys",
        ("width = 110", "widht = 110"),
        ('font = "Pacifico"', 'font = "Pacifico"\nkerf = 0.2'),
    ),
    job(
        "values that make no sense",
        ("width = 110", 'width = "110 furlongs"'),
        ("height = 80", "height = 9000"),
        ("kerf = 0.18", "kerf = 18"),
    ),
    job("a font that there is not", ("Pacifico", "Pacifica")),
    job("no face", face("inset = 6")),
    job("no sheets for a material", ('material = "lettering"', 'material = "letering"')),
    job(
        "a material that must not be cut and one that nobody knows",
        ("cast acrylic", "PVC foam"),
        ("grey board", "moon rock"),
    ),
    job(
        "a word that is not one of those that may stand there",
        ('font = "Pacifico"', 'font = "Pacifico"\nmount = "glued"'),
    ),
    # the list
    job("no column with names", names="Nmae,town\nWren,Arbury\n"),
    job("no rows", names="name\n"),
    job("two columns that could be the name", names="name,Full name\nWren,Wren Abara\n"),
    job(
        "a list with everything wrong",
        names=(
            "id,name,copies,size,dx,hold,mount\n"
            "1,Wren Abara,two,,,,\n1,Otto Vale,,,,,\n,,,,,,\n2,,1,,,,\n3,שרה,,,,,\n4,Ida 😀,,,,,\n"
            "5,Zo\u200be Pell,,,,,\n"
            "6,Wren Abara,,huge,,,\n7,Mia Thorn,,,left,,\n8,Jon Reed,,,,perhaps,\n9,Una Falk,,,,,stuck\n"
            "10,BjÃ¶rn Falk,,,,,\n11,Ada\u0411 Moss,,,,,\n12,F\ufffd Moss,,,,,\n13,=Ida Moss,,,,,\n14,12 34,,,,,\n"
        ),
        do=ESTIMATE,
    ),
    job("a list in an old code page", names="name;town\nZoë Höfer;Äsch\n".encode("cp1252"), do=ESTIMATE),
    job(
        "a title above the headings and columns nobody uses",
        names="Sponsors 2026,,\n,,\nname,town,tree\nWren Abara,Arbury,pear\n",
        do=ESTIMATE,
    ),
    job("rows with more cells than headings", names="name,copies\nWren Abara,1,also,more\n", do=ESTIMATE),
    job("a letter that the font does not have", names="name\nΖωή Πελ\nWren Жук\n", do=ESTIMATE),
    job("a name that is far too long", names=f"name\n{'Wren Abara ' * 40}\n", do=ESTIMATE),
    job("a spreadsheet that is none", ("names.csv", "names.xlsx"), files={"names.xlsx": not_a_book()}),
    job("a picture in place of a list", names=b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(40)),
    job("the wrong kind of list", ("names.csv", "names.docx"), files={"names.docx": not_a_book()}),
    job("a design that there is not", names="name,design\nWren Abara,gold\nOtto Vale,\n", do=ESTIMATE),
    job(
        "designs, and rows with another one or none",
        added('[design.gold]\nlettering = { font = "Lobster" }'),
        names="name,design\nWren Abara,golden\nOtto Vale,\n",
        do=ESTIMATE,
    ),
    # lettering
    job("a face too small for its name", face('shape = "rectangle"\nwidth = 30\nheight = 14\ninset = 5')),
    job(
        "a small face",
        face('shape = "rectangle"\nwidth = 60\nheight = 18'),
        names="name\nBartholomew Quillfeather-Ashe\n",
    ),
    job(
        "cut through and hardly to read",
        ('font = "Pacifico"', 'font = "Pacifico"\nmount = "pierced"'),
        face('shape = "rectangle"\nwidth = 48\nheight = 15\ninset = 2'),
        names="name\nWren Abara\nElla Bell\n",
    ),
    job("a size larger than the face", names="name,size\nWren Abara,90\n"),
    job("a name moved off its face", names="name,dx,dy\nWren Abara,60,0\n"),
    job("letters too large for their arc", ('font = "Pacifico"', 'font = "Pacifico"\narc = 10')),
    job("free names without a size", face('shape = "none"')),
    job(
        "one size for all",
        ('font = "Pacifico"', 'font = "Pacifico"\nsize = "uniform"'),
        names="name\nIda\nMo\nJo\nUna\nBartholomew Quillfeather\n",
        do=ESTIMATE,
    ),
    job(
        "strokes wider than thin letters can take",
        ('font = "Pacifico"', 'font = "Great Vibes"\nmin_web = 5\nlegibility = "off"'),
        names="name\nIda\n",
    ),
    job(
        "lines that are far from one another",
        ('font = "Pacifico"', 'font = "Playpen Sans ExtraBold"'),
        names="name\nBao | Đặng | Nguyễn\n",
    ),
    job("a font on the web", ("Pacifico", "script.woff2"), files={"script.woff2": b"wOF2" + bytes(60)}),
    job("a font that is none", ("Pacifico", "script.ttf"), files={"script.ttf": b"hello"}),
    job("an axis that the font has not", ('font = "Pacifico"', 'font = "Pacifico"\nweight = 700'), do=ESTIMATE),
    job("lines of a column that there is not", added('[[line]]\ntext = "{nmae}"\n[[line]]\ntext = "{born}"')),
    job(
        "a scored line on a plaque that is not cut here",
        added('[[line]]\ntext = "{name}"\n[[line]]\ntext = "1931"\noperation = "score"'),
    ),
    job(
        "a dedication in small letters",
        added('[[line]]\ntext = "In memory of"\nscale = 0.2\n[[line]]\ntext = "{name}"'),
    ),
    job(
        "a backing nearly as wide as its face",
        ('font = "Pacifico"', 'font = "Pacifico"\nmount = "backed"\nbacking = 30'),
        added('[[stock]]\nmaterial = "backing"\nwidth = 300\nheight = 250'),
    ),
    job("no backing to cut a backing from", ('font = "Pacifico"', 'font = "Pacifico"\nmount = "backed"')),
    # faces drawn
    job("a drawing that is none", face('file = "face.svg"'), files={"face.svg": "hello"}),
    job("a drawing without an outline", face('file = "face.svg"'), files={"face.svg": svg('<path d="M0 0L50 50"/>')}),
    job(
        "an outline that does not close",
        face('file = "face.svg"'),
        files={"face.svg": svg('<path d="M5 5H105V75H8V9"/>')},
    ),
    job(
        "a drawing without a unit",
        face('file = "face.svg"'),
        files={"face.svg": svg(f'<path d="{rectangle_path(5, 5, 105, 75)}"/>', head='viewBox="0 0 110 80"')},
        do=ESTIMATE,
    ),
    job(
        "artwork on the face",
        face('file = "face.svg"'),
        files={
            "face.svg": svg(
                f'<path id="rim" d="{rectangle_path(5, 5, 105, 75)}"/>'
                f'<path id="logo" fill="#333" d="{rectangle_path(80, 50, 98, 68)}"/>'
                '<path id="line" fill="none" stroke="#000" d="M12 20H60"/><text x="5" y="9">Orchard</text>'
            )
        },
        do=ESTIMATE,
    ),
    job(
        "a role for what is not in the drawing",
        face('file = "face.svg"\nroles = { rim = "scored", lgo = "hatch" }'),
        files={"face.svg": svg(f'<path id="logo" d="{rectangle_path(5, 5, 105, 75)}"/>')},
    ),
    job(
        "an outline that is left open",
        face('file = "face.svg"'),
        files={
            "face.svg": svg(
                '<path id="plaque" d="M5 5H105V75H5V6.4"/><circle id="hook" cx="55" cy="12" r="3"/>'
                f'<path id="guide" d="{rectangle_path(20, 20, 90, 60)}"/>'
            )
        },
        do=ESTIMATE,
    ),
    job(
        "a DXF with a frame round the face",
        face('file = "face.dxf"'),
        files={"face.dxf": dxf(("FRAME", box(0, 0, 297, 210)), ("PLAQUE", box(90, 60, 200, 140)))},
        do=ESTIMATE,
    ),
    job(
        "a DXF in no unit",
        face('file = "face.dxf"'),
        files={"face.dxf": dxf(("PLAQUE", box(0, 0, 110, 80)), unit=0)},
        do=ESTIMATE,
    ),
    # jigs
    job("a round face in a template", face('shape = "circle"\nwidth = 90'), names="name\nIda\n"),
    job("a jig that is too loose", added("[jig]\nclearance = 0.9"), names="name\nIda\n"),
    job("a jig that is too tight", added("[jig]\nclearance = 0.01"), names="name\nIda\n"),
    job(
        "a carrier",
        added(
            '[jig]\nstyle = "carrier"\n[material.carrier]\nname = "birch plywood"\nthickness = 2\nkerf = 0.2\n'
            '[[stock]]\nmaterial = "carrier"\nwidth = 300\nheight = 250'
        ),
        names="name\nIda\n",
    ),
    # sheets
    job("a name too large for every sheet", ("width = 300\nheight = 300", "width = 60\nheight = 50")),
    job(
        "too few sheets on hand",
        ("width = 300\nheight = 300", "width = 120\nheight = 60\non_hand = 1"),
        names="name\nWren Abara\nOtto Vale\nMia Thorn\n",
    ),
    job(
        "only sheets that are in the shop, and too few",
        ("width = 300\nheight = 300", "width = 100\nheight = 80\noffcut = true\non_hand = 1"),
        names="name\nWren Abara\nOtto Vale\n",
    ),
    job("a list of offcuts that is none", added('[nest]\noffcuts = "offcuts.json"'), files={"offcuts.json": "[1, 2]"}),
    job("gaps smaller than the kerf", added("[nest]\ngap = 0.1")),
    job("a kerf that no laser has and one measured long ago", ("kerf = 0.18", "kerf = 0.9, kerf_date = 2020-01-02")),
    job("sheets smaller than their margins", ("width = 300\nheight = 300", "width = 9\nheight = 9")),
    job(
        "a layout of another job",
        do=(MAKE, "make job.toml -o out2 --layout out/layout.json"),
        after={"names.csv": ("Wren Abara", "Ida")},
    ),
    # the wall
    job(
        "a wall too small for the plates",
        added("[wall]\nwidth = 200\nheight = 150\ncolumns = 2\nrows = 1\npitch = [100, 90]"),
        names="name\nWren Abara\nOtto Vale\nMia Thorn\n",
        do="wall job.toml -o wall --notes",
    ),
    job(
        "a switch where plates would hang",
        added(
            "[wall]\nwidth = 900\nheight = 300\ncolumns = 3\nrows = 1\npitch = [250, 90]\n"
            'keep_out = [[400, 100, 100, 100]]\nhanger = [0, 60]\norder = "position"'
        ),
        names="name,position\nWren Abara,A1\nOtto Vale,A2\nMia Thorn,Z9\n",
        do="wall job.toml -o wall --notes",
    ),
    job("no wall in the ticket", do="wall job.toml -o wall"),
    # signing, weeks
    job("nobody approved", ('approval = "none"', 'approval = "required"')),
    job("an approval of plates that there are not", do="approve job.toml --by Ann 007"),
    job("a mark before anything was made", do="mark cut job.toml lettering-01"),
    job("a mark of a sheet that there is not", do=(MAKE, "mark cut job.toml lettering-09")),
    job(
        "a plate that was cut and left the list",
        names="name\nWren Abara\nIda\n",
        do=(MAKE, "mark cut job.toml lettering-01 template-01 --yes", MAKE),
        after={"names.csv": ("Wren Abara\n", "")},
    ),
    job(
        "a plate that was cut and looks otherwise now",
        do=(MAKE, "mark cut job.toml lettering-01 template-01 --yes", MAKE),
        after={"job.toml": ("Pacifico", "Lobster")},
    ),
    job(
        "a text changed after it was approved",
        ('approval = "none"\n', ""),
        names="name\nIda\n",
        do=("approve job.toml --by Ann --all", "proof job.toml", MAKE),
        after={"names.csv": ("Ida", "Idda")},
    ),
    job(
        "a plate that was approved, and whose row changes its place and its spelling",
        names="name\nIda\nWren Abara\n",
        do=("approve job.toml --by Ann --all", "estimate job.toml"),
        after={"names.csv": ("Ida\nWren Abara", "Wren Abara\nIdda")},
    ),
    job(
        "a plate that was approved and left the list while two came",
        names="name\nIda\nWren Abara\n",
        do=("approve job.toml --by Ann --all", "estimate job.toml"),
        after={"names.csv": ("Ida\nWren Abara", "Wren Abara\nOtto Vale\nMia Thorn")},
    ),
    job(
        "corrections of plates that there are not",
        files={"fix.csv": "id,text\n009,Otto Vale\n,Mia\n"},
        do="approve job.toml --corrections fix.csv",
    ),
    job("plates that there are not, to be made alone", do="make job.toml -o out --only 004,wren"),
    job("a time of a sheet that was not made", do="time job.toml --sheet lettering-07 --measured 12:40"),
    job("a time that is none", do=(MAKE, "time job.toml --sheet lettering-01 --measured soon")),
    # files
    job("an out folder that is a file", files={"out": "a file"}),
    job("a layout that is none", files={"layout.json": "{"}, do="make job.toml -o out --layout layout.json"),
    Situation("a ticket that is a folder", {"job.toml/x": ""}),
    Situation("a ticket that is a list", {"names.csv": NAMES}, ("wall names.csv",)),
    Situation("a command that there is not", {}, ("mkae job.toml",)),
    Situation("an option that there is not", {}, ("fonts --size 3",)),
    job("files of your own in the out folder", files={"out/mine.txt": "mine"}),
    Situation("a list without a face", {"names.csv": NAMES}, ("make names.csv",)),
    Situation("a face that is no shape", {"names.csv": NAMES}, ("make names.csv --face blob:9x9 --sheet 600x300",)),
    job(
        "a cut file that a program saved again",
        do=(MAKE, "inspect out"),
        after={"out/cut/lettering-01.svg": ('width="300mm"', 'width="300px"')},
    ),
    job(
        "a cut file in which a line was moved",
        do=(MAKE, "inspect out"),
        after={"out/cut/lettering-01.svg": ('d="M', 'd="M1')},
    ),
    Situation("inspect of what is no run", {"out/a.txt": ""}, ("inspect out",)),
    Situation("a coupon of an unknown material", {}, ("coupon kerf --material marble",)),
    job(
        "a coupon of a job whose names are cut from several materials",
        added('[design.gold.lettering]\nmount = "pierced"'),
        do="coupon web job.toml -o web",
    ),
    job(
        "a fit of names that no jig locates",
        ('font = "Pacifico"', 'font = "Pacifico"\nmount = "marked"'),
        do="coupon fit job.toml -o fit",
    ),
    job("keys that there are not", do="explain mounted"),
)
