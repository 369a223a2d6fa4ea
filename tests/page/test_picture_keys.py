"""The key of a plate's picture: it changes where what the plate is made or drawn by does, and nowhere else."""

import pytest

from nameplate.page.ticket_edits import tried
from nameplate.page.trials import hardest, trial_of
from nameplate.typesetting.fonts import bundled_fonts

from .conftest import nameplate


def reworded(folder, *changes):
    """Write the ticket with some words changed."""
    text = (folder / "job.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / "job.toml").write_text(text, encoding="utf-8")


MEASURED = 'kerf_off = 0.004\nkerf_date = 2026-03-01\nkerf_batch = "crate 2"\nkerf_days = 90'

#: What a ticket may say besides of which no plate is made, and of which all are.
ELSEWHERE = {
    "price": ("price = 7.5", "price = 8.25"),
    "sheet": ("width = 600", "width = 500"),
    "title": ("Orchard sponsors", "Sponsors of the orchard"),
    "wall": ("[[stock]]", "[wall]\nwidth = 900\nheight = 300\ncolumns = 3\nrows = 1\npitch = [150, 140]\n[[stock]]"),
    "cards": ("[[stock]]", "[cards]\nper_page = 2\n[[stock]]"),
    "nest": ("[[stock]]", "[nest]\ngap = 2\n[[stock]]"),
    "speeds": ("[[stock]]", "[material.lettering]\ncut_speed = 12\nscore_speed = 150\n[[stock]]"),
    "measured": ("[[stock]]", f"[material.lettering]\n{MEASURED}\n[[stock]]"),
    "grain": ("[[stock]]", "[material.lettering]\ngrain = true\nface_down = true\n[[stock]]"),
    "face_down": ("[[stock]]", "[files]\nface_down = true\n[[stock]]"),
}
OF_ALL = {
    "min_web": ("[lettering]", "[lettering]\nmin_web = 1.8"),
    "font": ("[lettering]", '[lettering]\nfont = "Lobster"'),
    "fallback": ("[lettering]", '[lettering]\nfont = ["Pacifico", "Lobster"]'),
    "face": ("width = 110", "width = 111"),
    "holes": ("width = 110", "width = 110\nholes = [[0, 33, 3]]"),
    "thickness": ("[[stock]]", "[material.lettering]\nthickness = 4\n[[stock]]"),
    "colour": ("[[stock]]", '[material.lettering]\ncolour = "#8a1f2b"\n[[stock]]'),
    "inches": ("[job]", '[job]\npaper = "letter"'),
    "arc": ("[lettering]", "[lettering]\narc = 90"),
    "kerf": ("[[stock]]", "[material.lettering]\nkerf = 0.2\n[[stock]]"),
    "size": ("[lettering]", '[lettering]\nsize = "uniform"'),
    "jig": ('style = "none"', 'style = "print"'),
}


@pytest.mark.parametrize("change", ELSEWHERE.values(), ids=ELSEWHERE)
def test_what_no_plate_is_made_by_draws_none_anew(folder, studio, change):
    before = studio.view()
    for plate in before.keys:
        studio.room.ask(before, plate).result(60)
    reworded(folder, change)
    after = studio.view()
    assert after.version != before.version and after.keys == before.keys
    assert all(studio.room.known(key).svg for key in after.keys.values())


@pytest.mark.parametrize("change", OF_ALL.values(), ids=OF_ALL)
def test_what_all_plates_are_made_by_draws_them_anew(folder, studio, change):
    before = set(studio.view().keys.values())
    reworded(folder, change)
    assert before.isdisjoint(studio.view().keys.values())


def test_a_drawing_and_a_font_are_known_by_what_is_in_them(folder, studio):
    fonts = {info.name: info.path.read_bytes() for info in bundled_fonts()}
    (folder / "own.ttf").write_bytes(fonts["Pacifico"])
    face = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60"><path d="{}"/></svg>'
    (folder / "face.svg").write_text(face.format("M1 1H89V59H1Z"), encoding="utf-8")
    reworded(folder, ('shape = "ellipse"\nwidth = 110\nheight = 80', 'file = "face.svg"'))
    (folder / "names.csv").write_text("id,name,font\n1,Wren,own.ttf\n2,Jo,\n", encoding="utf-8")
    first = studio.view().keys
    (folder / "own.ttf").write_bytes(fonts["Satisfy"])
    (folder / "names.csv").write_text("id,name,font,tree\n1,Wren,own.ttf,\n2,Jo,,\n", encoding="utf-8")
    second = studio.view().keys
    assert {plate for plate in first if first[plate] != second[plate]} == {"1"}
    (folder / "face.svg").write_text(face.format("M1 1H89V58H1Z"), encoding="utf-8")
    assert set(second.values()).isdisjoint(studio.view().keys.values())


def test_a_font_that_was_replaced_draws_new_letters(folder, studio):
    """By workers that have the font open that lay there before."""
    fonts = {info.name: info.path.read_bytes() for info in bundled_fonts()}
    (folder / "names.csv").write_text("id,name,font\n1,Wren,own.ttf\n", encoding="utf-8")
    pictures = []
    for name in ("Pacifico", "Satisfy"):
        (folder / "own.ttf").write_bytes(fonts[name])
        pictures.append(studio.room.ask(studio.view(), "1").result(60).svg)
    (folder / "names.csv").write_text("id,name,font\n1,Wren,Satisfy\n", encoding="utf-8")
    assert pictures[0] != pictures[1] == studio.room.ask(studio.view(), "1").result(60).svg


def test_a_font_that_comes_later_is_seen_whatever_rows_call_theirs(folder, studio):
    wrong = "f" * 300 + ".ttf"
    (folder / "names.csv").write_text(f"id,name,font\n1,Wren,own.ttf\n2,Jo,{wrong}\n3,Ada,\n", encoding="utf-8")
    assert set(studio.view().keys) == {"3"}
    (folder / "own.ttf").write_bytes(bundled_fonts()[0].path.read_bytes())
    assert set(studio.view().keys) == {"1", "3"}


def test_the_size_and_the_font_of_a_row_draw_it_alone_anew(folder, studio):
    rows = "id,name,size,font\n1,Wren,{},\n2,Jo,,{}\n3,Ada,,\n"
    keys = {}
    for row, given in ((0, ("", "")), (1, ("20", "")), (2, ("", "Satisfy"))):
        (folder / "names.csv").write_text(rows.format(*given), encoding="utf-8")
        keys[row] = studio.view().keys
    changed = {row: [plate for plate, key in keys[0].items() if keys[row][plate] != key] for row in keys}
    assert changed == {0: [], 1: ["1"], 2: ["2"]}


def test_in_a_batch_of_one_size_a_changed_name_draws_its_design_anew(folder, studio):
    reworded(folder, ("[jig]", '[design.gold.lettering]\nsize = "uniform"\n[jig]'))
    rows = "id,name,design\n1,Wren,gold\n2,Jo,gold\n3,Ada,\n4,Ida,\n"
    (folder / "names.csv").write_text(rows, encoding="utf-8")
    before = studio.view().keys
    (folder / "names.csv").write_text(rows.replace("Jo", "Una").replace("Ada", "Eda"), encoding="utf-8")
    after = studio.view().keys
    assert {plate for plate in before if before[plate] != after[plate]} == {"1", "2", "3"}
    reworded(
        folder, ("[lettering]", "[lettering]\nmin_web = 1.8"), ("gold.lettering]", "gold.lettering]\nmin_web = 1.5")
    )
    later = studio.view().keys
    assert {plate for plate in after if after[plate] != later[plate]} == {"3", "4"}


def test_a_plate_that_stays_as_cut_is_known_by_what_was_cut(browser, folder, studio, made):
    browser.post("/bench", data={"cut": "lettering-01", "by": "Bo"})
    first = studio.view()
    reworded(folder, ("price = 7.5", "price = 8.25"))
    assert studio.view().keys == first.keys and set(first.on) == set(first.keys)
    reworded(folder, ("[lettering]", "[lettering]\nmin_web = 3"))
    shown = studio.view().keys
    assert nameplate(folder, "make", "job.toml", "-o", "out", "--again", "003").exit_code == 0
    browser.post("/bench", data={"cut": "lettering-02", "by": "Bo"})
    cut = studio.view()
    assert set(cut.on) == set(first.on) and cut.on["003"].plate.order == first.on["003"].plate.order
    assert {plate for plate in shown if shown[plate] != cut.keys[plate]} == {"003"}


#: A change of a ticket of which no plate is made, and one of which all are.
TRIED = ({("job",): {"title": "Sponsors"}}, {("lettering",): {"min_web": 1.8}})


def test_names_drafted_for_a_trial_have_the_keys_of_what_they_are_made_by(folder, studio):
    view = studio.view()
    names = hardest(view, "")
    dearer, wider = (tried(studio.job, (folder / "job.toml").read_bytes(), changes)[1] for changes in TRIED)
    keys = {name: trial_of(view, ticket, names).view.keys for name, ticket in (("dearer", dearer), ("wider", wider))}
    assert keys["dearer"] == view.keys and set(keys["wider"].values()).isdisjoint(view.keys.values())
