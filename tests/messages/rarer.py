"""Rarer things that happen: odd spreadsheets and drawings, walls, what somebody did to the files of a run."""

from __future__ import annotations

import io
import re

from tests.messages.situations import MAKE, NAMES, Situation, added, face, job, rectangle_path, svg

FONT = 'font = "Pacifico"'
OUTLINE = f'<path id="rim" d="{rectangle_path(5, 5, 105, 75)}"/>'
WALL = "[wall]\nwidth = {}\nheight = {}\ncolumns = {}\nrows = 1\npitch = [{}, 90]\n"
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


def drawn(title: str, body: str, more: str = "", **head: str) -> Situation:
    """Give a situation of a face drawn so."""
    return job(title, face(f'file = "face.svg"\n{more}'), files={"face.svg": svg(body, **head)})


def done_to(title: str, **change: object) -> Situation:
    """Give an inspection of a run to whose files something was done."""
    return job(title, do=(MAKE, "inspect out"), **change)


RARER = (
    job("a spreadsheet with everything odd", ("names.csv", "names.xlsx"), files={"names.xlsx": odd_book()}),
    job(
        "more odd cells of a list",
        names="id,name,hold\na/b,Wren Abara,\n\u200b,\u200b,\n3,Otto Vale,yes\n4,????,\n"
        "5,Mia\u2028Thorn,\n6,\u0301Una,\n",
    ),
    job("first and last names in columns of their own", names="Vorname,Nachname,Copis\nWren,Abara,2\n"),
    job(
        "letters from another font",
        ('"Pacifico"', '["Pacifico", "Playpen Sans ExtraBold"]'),
        names="name\nΑθηνά Vale\n",
    ),
    job("a font of a row that there is not", names="name,font\nWren Abara,Lobstre\nOtto Vale,Lobster\n"),
    job(
        "ids that hang on the order of the list",
        names="name\nWren\nOtto\nMia\n",
        do="make names.csv --face ellipse:90x60 --sheet 300x200 -o out",
    ),
    job(
        "one size, and a name that has no room on its line",
        (FONT, f'{FONT}\nsize = "uniform"'),
        face('shape = "ellipse"\nwidth = 80\nheight = 40'),
        names="name\nIda\nMo\nBartholomew Quillfeather Ashe\nJolly Ogle\n",
    ),
    job("thin strokes made as wide as a large min_web", (FONT, 'font = "Great Vibes"\nmin_web = 2.6')),
    job(
        "a thin neck that stays",
        (FONT, f"{FONT}\nmin_web = 0.4\nstrengthen = false\nload = 20"),
        ("thickness = 3", "thickness = 1"),
    ),
    job("spare pieces", added("[spares]\nloss = 0.2")),
    job(
        "names without a plaque and a ring with no room",
        face('shape = "none"\nheight = 12\nring = 60\nring_at = "ends"'),
        names="name\nIda\n",
    ),
    job(
        "a name that would be as tall as a house",
        face('shape = "rectangle"\nwidth = 3000\nheight = 3000'),
        ("width = 600\nheight = 300", "width = 3000\nheight = 3000"),
        names="name\nBartholomew Quillfeather Ashe\n",
    ),
    job("windows that touch at nubs alone", added('[jig]\nwindow = "contacts"'), names="name\nÖ\n"),
    job(
        "a scored line that the name covers",
        (FONT, f'{FONT}\nmount = "backed"\nbacking = 6'),
        ("height = 80\n", "height = 80\ncut = true\n"),
        added(
            '[[stock]]\nmaterial = "backing"\nwidth = 600\nheight = 400\n'
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
    job(
        "a wall with everything wrong",
        added(
            WALL.format(500, 2400, 4, 125)
            + 'above_floor = 100\norder = "position"\nhanger = [[-40, 38], [-32, 38]]\nreserve = 9'
        ),
        names=FOUR,
        do="wall job.toml -o wall",
    ),
    job(
        "a wall in the order of surnames, with one on hold",
        added(WALL.format(900, 600, 4, 200) + 'order = "surname"'),
        names="name,hold\nWren Abara,\nOtto Vale,yes\n",
        do="wall job.toml -o wall",
    ),
    job(
        "a hole that came out aside",
        added(WALL.format(900, 600, 4, 200) + 'moved = { "002" = [12, 0] }'),
        names=FOUR,
        do="wall job.toml -o wall",
    ),
    job(
        "a hole that came out far aside",
        added(WALL.format(900, 600, 4, 200) + 'moved = { "002" = [60, 5] }'),
        names=FOUR,
        do="wall job.toml -o wall",
    ),
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
)
