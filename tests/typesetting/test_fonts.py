import pickle
import tomllib
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

from nameplate.errors import FontError
from nameplate.model import Order
from nameplate.plates.orders import make_orders
from nameplate.plates.typeset import fonts_of
from nameplate.roster.reader import Roster, Row
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import DesignKeys, Ticket
from nameplate.typesetting.fonts import Font, bundled_fonts, fonts_with, load_font, load_fonts

ROOT = Path(__file__).parents[2]


def test_ten_fonts_come_with_the_program_each_with_its_licence():
    fonts = bundled_fonts()
    assert [f.name for f in fonts] == sorted(f.name for f in fonts)
    assert {"Pacifico", "Great Vibes", "Dancing Script Bold", "Playpen Sans ExtraBold"} <= {f.name for f in fonts}
    for font in fonts:
        assert font.licence in ("OFL-1.1", "Apache-2.0")
        assert (font.path.parent / "LICENSE.txt").is_file()
        assert "Latin" in font.scripts
        assert font.letters >= 100


def test_scripts_are_those_of_the_font():
    scripts = {f.name: f.scripts for f in bundled_fonts()}
    assert {"Vietnamese", "Cyrillic"} <= set(scripts["Pacifico"])
    assert "Vietnamese" not in scripts["Leckerli One"]
    assert [name for name, have in scripts.items() if "Greek" in have] == ["Playpen Sans ExtraBold"]


@pytest.mark.parametrize("spec", ["Great Vibes", "great vibes", "GREAT-VIBES", "greatvibes", " Great  Vibes Regular"])
def test_a_bundled_name_is_found_however_it_is_written(spec):
    assert load_font(spec).name == "Great Vibes"


def test_an_unknown_name_offers_the_nearest_and_the_list():
    with pytest.raises(FontError, match="did you mean Pacifico") as caught:
        load_font("Pacifcio")
    assert "Lobster Two Bold" in str(caught.value)
    with pytest.raises(FontError, match="bundled fonts: Dancing") as caught:
        load_font("Xq")
    assert "did you mean" not in str(caught.value)
    with pytest.raises(FontError):
        load_font("")


@pytest.mark.parametrize("cff", [False, True], ids=["TrueType", "CFF"])
def test_a_font_of_ones_own_by_path_relative_to_the_ticket(make_font, tmp_path, cff):
    make_font("own.otf", cff=cff)
    font = load_font("own.otf", tmp_path)
    assert (font.name, font.units_per_em) == ("Blocks", 1000)
    assert (font.cap_height, font.x_height, font.slant) == pytest.approx((0.7, 0.5, 0.0))
    assert font.missing("A ao") == ()
    assert font.missing("Bob") == ("B", "b")


def test_a_font_value_travels_between_processes():
    font = load_font("Pacifico")
    copy = pickle.loads(pickle.dumps(font))
    assert copy == font
    assert copy.missing("Anna") == ()
    assert len(pickle.dumps(font)) < 1000


@pytest.mark.parametrize(
    ("font", "text", "missing"),
    [
        ("Pacifico", "Łukasz Nguyễn Þórdís O’Brien Анна", ()),
        ("Pacifico", "Ελένη", ("Ε", "λ", "έ", "ν", "η")),
        ("Leckerli One", "Łukasz", ("Ł",)),
        ("Sacramento", "Lê Thị", ("ị",)),
        ("Pacifico", "", ()),
        ("Pacifico", "漢😀漢", ("漢", "😀")),
    ],
)
def test_missing_letters(font, text, missing):
    assert load_font(font).missing(text) == missing
    assert load_font(font).missing(unicodedata.normalize("NFD", text)) == missing


def test_a_letter_made_of_parts_that_stand_on_one_another_is_not_missing(make_font):
    font = load_font(str(make_font()))
    assert font.missing("o\u0301") == ()  # no ó in the font, but an o and an acute that is placed over it
    assert font.missing("ò") == ("ò",)


def test_fonts_with_a_letter():
    assert fonts_with("ễ") == ("Dancing Script Bold", "Great Vibes", "Lobster", "Pacifico", "Playpen Sans ExtraBold")
    assert fonts_with("λ")
    assert fonts_with("漢") == ()


def test_least_cap_height_grows_with_the_web():
    font = load_font("Pacifico")
    assert font.least_cap_height(3.0) == pytest.approx(2 * font.least_cap_height(1.5))


def test_equal_fonts_are_equal():
    assert load_font("Pacifico") == load_font("pacifico")
    assert isinstance(load_font("Pacifico"), Font)


def test_every_package_is_in_the_wheel():
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"]
    found = {".".join(p.parent.relative_to(ROOT).parts) for p in (ROOT / "nameplate").rglob("__init__.py")}
    assert set(listed) == found | {"nameplate.bundled_fonts"}


def test_axes_are_found_by_tag_or_name_and_checked(variable_font):
    assert load_font(str(variable_font), axes={"wght": 700}).axes == (("wght", 700.0),)
    assert load_font(str(variable_font), axes={"weight": 700}).axes == (("wght", 700.0),)
    assert load_font(str(variable_font)).axes == ()
    keys = LetteringKeys(weight=300.0, axes=(("opsz", 12.0),))
    assert keys.font_axes == {"weight": 300.0, "opsz": 12.0}
    with pytest.raises(FontError, match="outside its range 100 to 900"):
        load_font(str(variable_font), axes={"wght": 950})
    with pytest.raises(FontError) as caught:
        load_font(str(variable_font), axes={"wdth": 90, "opsz": 12})
    assert len(caught.value.problems) == 2
    with pytest.raises(FontError, match="not a variable font"):
        load_font("Pacifico", axes={"wght": 700})


def test_a_variable_fallback_takes_the_weight_of_the_main_font(variable_font):
    main, fallback = load_fonts(["Pacifico", str(variable_font)])
    assert main.axes == ()
    ((tag, weight),) = fallback.axes
    assert tag == "wght" and 100 <= weight <= 900
    static = load_fonts(["Pacifico", "Lobster"])
    assert [f.axes for f in static] == [(), ()]


def test_a_rows_own_font_takes_the_tickets_axes_as_far_as_it_has_them(variable_font):
    order = Order("1", 2, "a", fonts=(str(variable_font),))
    fonts, findings = fonts_of(LetteringKeys(weight=300.0), Path(), order)
    assert fonts[0].axes == (("wght", 300.0),) and not findings
    keys = LetteringKeys(font=(str(variable_font),), weight=700.0)
    assert fonts_of(keys, Path(), order)[0][0].axes == (("wght", 700.0),)
    fonts, (finding,) = fonts_of(keys, Path(), replace(order, fonts=("Pacifico",)))
    assert fonts[0].axes == () and finding.severity == "warning"
    assert "Pacifico has no weight" in finding.message


def test_a_row_whose_own_font_does_not_go_so_far_is_refused(variable_font, tmp_path):
    narrow = instancer.instantiateVariableFont(TTFont(variable_font), {"wght": (100, 500)})
    narrow.save(tmp_path / "narrow.ttf")
    ticket = Ticket(lettering=LetteringKeys(font=(str(variable_font),), weight=700.0), folder=Path())
    rows = (Row(2, "aa"), Row(3, "aa", font=str(tmp_path / "narrow.ttf")), Row(4, "aa", font="Pacifico"))
    orders = make_orders(Roster(rows), ticket)
    assert [o.row for o in orders.orders] == [2, 4] and [o.row for o in orders.refused] == [3]
    (finding,) = [f for f in orders.findings if f.severity == "error"]
    assert finding.row == 3 and "outside its range 100 to 500" in finding.message


@pytest.mark.parametrize("family", ["Oleo Script", "dancing script", "Playpen Sans", "Lobster Two"])
def test_a_family_of_one_style_is_found_by_its_name(family):
    assert load_font(family).name.casefold() in (f"{family.casefold()} bold", f"{family.casefold()} extrabold")


def test_half_a_familys_name_is_no_font():
    with pytest.raises(FontError, match="there is no font 'Oleo'"):
        load_font("Oleo")


def test_a_rows_font_is_judged_by_the_axes_of_its_own_design(variable_font):
    wide = TTFont(variable_font)
    wide["fvar"].axes[0].maxValue = 3000
    wide.save(variable_font.with_name("wide.ttf"))
    designs = {
        name: DesignKeys(lettering=LetteringKeys(font=("wide.ttf",), weight=weight))
        for name, weight in (("a", 400), ("b", 2000))
    }
    rows = [Row(number, "aa", design=name, font=variable_font.name) for number, name in enumerate("ab", 2)]
    orders = make_orders(Roster(tuple(rows)), Ticket(designs=designs, folder=variable_font.parent))
    assert [order.design for order in orders.orders] == ["a"]
    assert [order.design for order in orders.refused] == ["b"]
