"""Rarer things that happen: odd spreadsheets and drawings, walls, what somebody did to the files of a run."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

from tests.messages.situations import ESTIMATE, MAKE, NAMES, Situation, added, face, job, rectangle_path, svg

FONT = 'font = "Pacifico"'
OUTLINE = f'<path id="rim" d="{rectangle_path(5, 5, 105, 75)}"/>'
FOUR = "name,position\nWren Abara,A1\nOtto Vale,A2\nMia Thorn,A3\nUna Falk,A4\n"


def odd_book() -> bytes:
    """Give a spreadsheet with hidden rows and columns, merged cells, errors, dates, long numbers and a second sheet."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    rows = (
        ("name", "id", "note", "position"),
        ("Wren Abara", 1, "#REF!", "A1"),
        ("Otto Vale", 2, 12345678901234567890, "A2"),
        ("=A2", 3, "", ""),
        ("Mia Thorn", 4.5, "", ""),
        ("Una Falk", 5, "", ""),
    )
    for row in rows:
        sheet.append(row)
    sheet["C2"].data_type = "e"
    sheet.row_dimensions[6].hidden = True
    sheet.column_dimensions["D"].hidden = True
    sheet.merge_cells("B5:C5")
    sheet["C4"] = 0.5
    sheet["C4"].number_format = "0 %"
    book.create_sheet("Old list").append(("name",))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def odder_book() -> bytes:
    """Give a spreadsheet with a number that is none, a date for an id, a dressed number and many errors in one row."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    for row in (
        ("name", "id", "line2", "a", "b", "c", "d"),
        ("Wren Abara", 777777, ""),
        ("Otto Vale", 3, 45413),
        ("Mia Thorn", 4, 12.5),
        ("Una Falk", 5, "", "#REF!", "#REF!", "#REF!", "#REF!"),
        ("", 6),
    ):
        sheet.append(row)
    sheet["C3"].number_format = "yyyy-mm-dd"
    sheet["C4"].number_format = '0.00 "EUR"'
    sheet.merge_cells("A5:A6")
    out, changed = io.BytesIO(), io.BytesIO()
    book.save(out)
    with zipfile.ZipFile(out) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"<v>777777</v>", b"<v>seven</v>"))
    return changed.getvalue()


def for_viewing_only() -> bytes:
    """Give a font that its maker allows to be viewed and printed only (fsType 4, OpenType specification, OS/2)."""
    from fontTools.ttLib import TTFont

    from nameplate.typesetting.fonts import load_font

    font = TTFont(load_font("Pacifico", Path()).path)
    font["OS/2"].fsType = 4
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def drawn(title: str, body: str, more: str = "", **head: str) -> Situation:
    """Give a situation of a face drawn so."""
    return job(title, face(f'file = "face.svg"\n{more}'), files={"face.svg": svg(body, **head)}, do=ESTIMATE)


def wall(
    title: str,
    *changes: tuple[str, str],
    size: tuple[int, int] = (900, 600),
    pitch: int = 200,
    more: str = "",
    **rest: object,
) -> Situation:
    """Give the plan of a wall, so wide and high (mm), with one row of four places and `more` in its table."""
    table = f"[wall]\nwidth = {size[0]}\nheight = {size[1]}\ncolumns = 4\nrows = 1\npitch = [{pitch}, 90]\n"
    return job(title, *changes, added(table + more), do="wall job.toml -o wall --notes", **{"names": FOUR, **rest})


def done_to(title: str, **change: object) -> Situation:
    """Give an inspection of a run to whose files something was done."""
    return job(title, do=(MAKE, "inspect out"), **change)


RARER = (
    job(
        "a spreadsheet with everything odd", ("names.csv", "names.xlsx"), files={"names.xlsx": odd_book()}, do=ESTIMATE
    ),
    job(
        "more odd cells of a list",
        names="id,name,hold\na/b,Wren Abara,\n\u200b,\u200b,\n3,Otto Vale,yes\n4,????,\n"
        "5,Mia\u2028Thorn,\n6,\u0301Una,\n",
        do=ESTIMATE,
    ),
    job(
        "bars that break no line, and letters that became question marks",
        names="name,line2\nWren|Abara,\nOtto Vale,Rose | Ash\nZo? Thorn,\n",
        do=f"{ESTIMATE} --notes",
    ),
    job(
        "many names that are too long for a face of an unknown unit",
        face('file = "face.svg"'),
        names="name\n" + "".join(f"{name} Quillfeather\n" for name in ("Bartholomew", "Wilhelmina", "Maximilian")),
        files={"face.svg": svg(OUTLINE, head='viewBox="0 0 110 80"')},
        do=ESTIMATE,
    ),
    job("first and last names in columns of their own", names="Vorname,Nachname,Copis\nWren,Abara,2\n", do=ESTIMATE),
    job(
        "letters from another font",
        ('"Pacifico"', '["Pacifico", "Playpen Sans ExtraBold"]'),
        names="name\nΑθηνά Vale\n",
        do=ESTIMATE,
    ),
    job("a font of a row that there is not", names="name,font\nWren Abara,Lobstre\nOtto Vale,Lobster\n", do=ESTIMATE),
    job(
        "ids that hang on the order of the list",
        names="name\nWren\nOtto\nMia\n",
        do="estimate names.csv --face ellipse:90x60 --sheet 300x200",
    ),
    job(
        "one size, and a name that has no room on its line",
        (FONT, f'{FONT}\nsize = "uniform"\nlegibility = "off"'),
        face('shape = "ellipse"\nwidth = 80\nheight = 40'),
        names="name\nIda\nMo\nBartholomew Quillfeather\n",
        do=MAKE,
    ),
    job(
        "thin strokes made as wide as a large min_web",
        (FONT, 'font = "Sacramento"\nmin_web = 2.6\nlegibility = "off"'),
    ),
    job(
        "a thin neck that stays",
        (FONT, f"{FONT}\nmin_web = 0.4\nstrengthen = false\nload = 20"),
        ("thickness = 3", "thickness = 1"),
        names="name\nIda\n",
    ),
    job("spare pieces", added("[spares]\nloss = 0.2"), do=ESTIMATE),
    job(
        "names without a plaque, with a ring at each end",
        face('shape = "none"\nheight = 12\nring = 60\nring_at = "ends"'),
        names="name\nIda\n",
    ),
    job(
        "a name that would be as tall as a house",
        face('shape = "rectangle"\nwidth = 3000\nheight = 3000'),
        ("width = 300\nheight = 300", "width = 3000\nheight = 3000"),
        names="name\nBartholomew Quillfeather Ashe\n",
    ),
    job("windows that touch at nubs alone", added('[jig]\nwindow = "contacts"'), names="name\nÖ\n"),
    job(
        "a scored line that the name covers",
        (FONT, f'{FONT}\nmount = "backed"\nbacking = 6'),
        ("height = 80\n", "height = 80\ncut = true\n"),
        added(
            '[[stock]]\nmaterial = "backing"\nwidth = 300\nheight = 250\n'
            '[[line]]\ntext = "{name}"\n[[line]]\ntext = "1931"\nscale = 0.5\noperation = "score"'
        ),
    ),
    drawn(
        "lines that nearly meet, cross themselves, or are drawn twice",
        f'{OUTLINE}{OUTLINE.replace("rim", "again")}<path id="slip" d="M20 20H30V30H20V20.05"/>'
        '<path id="a" d="M60 60H70"/><path id="b" d="M70 60V66L60 60"/>'
        f'<path id="far" d="{rectangle_path(106, 5, 109, 9)}"/>',
    ),
    drawn(
        "a hole over the edge and a zone beside the face",
        OUTLINE + f'<path id="hole" d="{rectangle_path(100, 30, 109, 40)}"/>'
        f'<path id="zone" d="{rectangle_path(40, 20, 108, 60)}"/>',
    ),
    drawn(
        "a rectangle as large as the page",
        f'<path d="{rectangle_path(0, 0, 110, 80)}"/><circle cx="55" cy="40" r="30"/>',
    ),
    drawn("a face that is nearly symmetric", '<path id="rim" d="M5 5H105V74.6L5 75Z"/>'),
    drawn("a face rebuilt from its left half", '<path id="rim" d="M5 5H105V74.6L5 75Z"/>', 'symmetry = "left"'),
    wall(
        "a wall with everything wrong",
        size=(500, 2400),
        pitch=125,
        more='above_floor = 100\norder = "position"\nhanger = [[-40, 38], [-32, 38]]\nreserve = 9',
    ),
    wall(
        "a wall in the order of surnames, with one on hold",
        more='order = "surname"',
        names="name,hold\nWren Abara,\nOtto Vale,yes\n",
    ),
    wall("a hole that came out aside", more='moved = { "002" = [12, 0] }'),
    wall("a hole that came out far aside", more='moved = { "002" = [60, 5] }\nkeep_out = [[420, 200, 10, 200]]'),
    job(
        "a plate that was cut and is spelt otherwise",
        names="name,tree\nWren Abara,elm\n",
        do=(MAKE, "mark cut job.toml lettering-01 template-01 --yes", MAKE),
        after={"names.csv": ("Wren Abara", "Wren Abarra")},
    ),
    done_to(
        "files of a run that are gone, and one that was put there",
        then={"out/worklist.csv": None, "out/cut/other.svg": "x"},
    ),
    done_to(
        "a cut file without a name",
        after={"out/cut/lettering-01.svg": (re.compile(r'<path [^>]*data-part="lettering"[^>]*/>'), "")},
    ),
    done_to("a cut file in another colour", after={"out/cut/lettering-01.svg": (re.compile("#0072b2"), "#ff0000")}),
    done_to("a cut file with an open line", after={"out/cut/lettering-01.svg": (re.compile(r'Z"'), '"')}),
    done_to("a cut file that is none", then={"out/cut/lettering-01.svg": "hello"}),
    done_to("a run without its list of files", then={"out/files.json": None}),
    Situation(
        "a list that is a folder", {"names.csv/x": ""}, ("estimate names.csv --face ellipse:90x60 --sheet 600x300",)
    ),
    Situation("a command without what it is about", {}, ("make",)),
    Situation(
        "a size of a sheet that is none", {"names.csv": NAMES}, ("estimate names.csv --face ellipse:90x60 --sheet 600",)
    ),
    # what the list asks for
    job(
        "a spreadsheet with odder cells",
        ("names.csv", "names.xlsx"),
        files={"names.xlsx": odder_book()},
        do=ESTIMATE,
    ),
    job("a line break within an id", names='id,name\n"1\n2",Wren Abara\n', do=ESTIMATE),
    job("a material that nobody knows", ("cast acrylic", "moon rock"), do=ESTIMATE),
    job(
        "a design that alone is complete, and a row without it",
        face(""),
        added('[design.gold]\nface = { shape = "ellipse", width = 110, height = 80 }'),
        names="name,design\nWren Abara,gold\nOtto Vale,\n",
        do=ESTIMATE,
    ),
    job(
        "a row whose line cannot be scored",
        (FONT, f'{FONT}\nmount = "pierced"'),
        added('[[line]]\ntext = "{name}"\n[[line]]\ntext = "{line2}"\noperation = "score"'),
        names="name,line2,mount\nWren Abara,1931,applied\n",
        do=ESTIMATE,
    ),
    job(
        "lines that are empty in a row",
        added('[[line]]\ntext = "{line2}"'),
        names="name,line2\nWren Abara,\nOtto Vale,pear\n",
        do=ESTIMATE,
    ),
    job(
        "a mount without its material",
        names="name,mount\nWren Abara,backed\n",
        do=ESTIMATE,
    ),
    job(
        "a plate that is left to a later run",
        names="name\nWren Abara\nOtto Vale\n",
        do="estimate job.toml --only 001",
    ),
    job(
        "two plates of one name, and a row that could be either",
        names="name,tree\nMia,oak\nJo,elm\nIda,ash\nMia,fir\n",
        do=("proof job.toml", ESTIMATE),
        after={"names.csv": ("Mia,oak\nJo,elm\nIda,ash\nMia,fir", "Jo,elm\nMia,yew\nIda,ash")},
    ),
    job(
        "a plate whose every name is spoiled and that is spelt otherwise now",
        ("width = 110", "cut = true\nwidth = 110"),
        do=(
            MAKE,
            "mark cut job.toml --all --yes",
            "mark spoiled job.toml 001 --yes",
            ESTIMATE,
        ),
        after={"names.csv": ("Wren Abara", "Wren Abarra")},
    ),
    # lettering
    job(
        "a font for viewing only",
        ("Pacifico", "script.ttf"),
        files={"script.ttf": for_viewing_only()},
        do=ESTIMATE,
    ),
    job(
        "small letters that read from near by",
        (FONT, f"{FONT}\nmin_web = 0.6\nmax_height = 6"),
        names="name\nIda\n",
    ),
    job(
        "a plate that closes letters, dots and accents",
        (FONT, 'font = "Great Vibes"\nmount = "pierced"\nwords = "tie"\nmax_height = 11.5\nlegibility = "off"'),
        names="name\nWilhelmina Lilybell\nZoë\n",
    ),
    job(
        "small names without a plaque, with a large ring",
        face('shape = "none"\nheight = 8\nring = 90'),
        names="name\nIda\n",
    ),
    job(
        "a window that breaks out of its face",
        face('shape = "rectangle"\nwidth = 70\nheight = 40\ninset = 0'),
    ),
    job(
        "a window near the edge of its template",
        face('shape = "rectangle"\nwidth = 70\nheight = 40\ninset = 0.6'),
        names="name\nIda\n",
    ),
    job(
        "a hole near the edge of a plaque that is cut here",
        face('shape = "rectangle"\nwidth = 100\nheight = 60\nholes = [[47.1, 0, 4]]\ncut = true'),
        names="name\nIda\n",
        do=ESTIMATE,
    ),
    drawn(
        "lines that are drawn again and one that crosses itself",
        '<path id="rim" d="M5 5H105V75H5Z"/>'
        '<path id="loop" d="M40 40H60V60H50.1L49.9 60.2H50.1L49.9 60H40Z"/>'
        '<path id="a" d="M70 60H80"/><path id="again" d="M70 60H80"/><path id="b" d="M80 60V66L70 60"/>',
    ),
    job(
        "sheets that cannot lie face down",
        added('[files]\nface_down = true\n[jig]\nstyle = "skeleton"'),
        do=ESTIMATE,
    ),
    # the wall
    wall(
        "a wall that is low, wide and full of holes",
        size=(900, 3200),
        more="above_floor = 0\nlevel = 600\nkeep_out = [[200, 500, 90, 200]]\n"
        'moved = { "002" = [2.5, 0], "077" = [1, 0], "003" = [[1, 0], [2, 0]] }',
    ),
    wall("a wall that is high", more="above_floor = 2000\nlevel = 2200"),
    wall(
        "a wall of names that stand free",
        face('shape = "none"\nheight = 30\nring = 4'),
        names="name,hold\nIda,\nMo,yes\n",
    ),
    wall(
        "a wall of plates with holes of their own",
        face('file = "face.svg"'),
        names=FOUR.replace("A1", "A2"),
        files={"face.svg": svg(f'{OUTLINE}<circle cx="55" cy="12" r="3"/>')},
    ),
    done_to("a run whose record is damaged", then={"out/nominal.json": "{"}),
)
