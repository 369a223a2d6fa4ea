"""What is in a look is what a customer sees; how the plate is cut is not."""

import shutil
from dataclasses import replace
from pathlib import Path

import nameplate
from nameplate.geometry.beam import Kerf
from nameplate.model import Order, OrderedLine
from nameplate.record.look import changes, look_digest, looks_to_sign
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import DesignKeys, FaceKeys, NestKeys, Ticket
from nameplate.ticket.workshop_schema import MaterialKeys

TICKET = Ticket(
    face=FaceKeys(shape="ellipse", width=110.0, height=80.0),
    material={"lettering": MaterialKeys(name="acrylic"), "template": MaterialKeys()},
)
ORDER = Order("001", 2, "Wren Abara")


def look(order=ORDER, ticket=TICKET):
    return looks_to_sign([order], ticket)[order.id]


def said(order=ORDER, ticket=TICKET):
    return changes(look(), look(order, ticket))


def test_what_a_customer_sees_changes_the_look_and_is_told():
    keys = replace
    assert said(keys(ORDER, name="Wren Abbara")) == ("text: Wren Abara -> Wren Abbara",)
    assert said(keys(ORDER, line2="oak")) == ("text: Wren Abara -> Wren Abara / oak",)
    assert said(keys(ORDER, fonts=("Lobster",))) == ("font: Pacifico -> Lobster",)
    assert said(keys(ORDER, size=20.0)) == ("size: as usual -> 20",)
    assert said(keys(ORDER, dx=-1.5)) == ("dx: as usual -> -1.5",)
    assert said(keys(ORDER, mount="backed")) == ("mount: applied -> backed",)
    assert said(ticket=keys(TICKET, face=FaceKeys(shape="ellipse", width=100.0, height=80.0))) == (
        "face width: 110 -> 100",
    )
    assert said(ticket=keys(TICKET, lettering=LetteringKeys(place="largest"))) == (
        "lettering place: as usual -> largest",
    )
    assert said(ticket=keys(TICKET, material={"lettering": MaterialKeys(name="mirror", colour="#ffffff")})) == (
        "material of lettering: acrylic, 3 mm -> mirror, 3 mm, #ffffff",
    )
    styled = keys(ORDER, styled=(OrderedLine("Wren Abara", ("Satisfy",), scale=0.5),))
    assert said(styled) == ("line 1 font: as usual -> Satisfy", "line 1 scale: as usual -> 0.5")


def test_a_font_is_the_same_however_it_is_written():
    assert said(replace(ORDER, fonts=("pacifico",))) == ()
    lines = [(OrderedLine("Wren", (font,)),) for font in ("Playpen Sans", "playpen-sans extrabold")]
    short, full = (look(replace(ORDER, fonts=(own[0].fonts), styled=own)) for own in lines)
    assert short == full and full["line 1 font"] == full["font"] == "Playpen Sans ExtraBold"


def test_how_a_plate_is_cut_is_not_its_look():
    sheet, card = MaterialKeys(name="acrylic", kerf=Kerf.of(0.3)), MaterialKeys(name="card", thickness=1.0)
    material = {"lettering": sheet, "template": card}
    other = replace(TICKET, material=material, nest=NestKeys(gap=9.0), lettering=LetteringKeys(legibility="off"))
    assert look_digest(look(replace(ORDER, row=9, copies=3, position="B2"), other)) == look_digest(look())


def test_a_design_has_its_own_tables():
    gold = DesignKeys(face=replace(TICKET.face, width=200.0), lettering=LetteringKeys(max_height=25.0))
    ticket = replace(TICKET, designs={"gold": gold})
    assert changes(look(ticket=ticket), look(replace(ORDER, design="gold"), ticket)) == (
        "design: as usual -> gold",
        "face width: 110 -> 200",
        "lettering max_height: as usual -> 25",
    )


def test_another_drawing_or_font_under_the_same_name_is_found(tmp_path):
    bundled = sorted(Path(nameplate.__file__).parents[1].glob("fonts/*/*.ttf"))
    (tmp_path / "face.svg").write_text("<svg/>", encoding="utf-8")
    shutil.copy(bundled[0], tmp_path / "own.ttf")
    ticket = replace(TICKET, face=FaceKeys(file=tmp_path / "face.svg"), folder=tmp_path)
    order = replace(ORDER, fonts=("own.ttf",))
    before = look(order, ticket)
    (tmp_path / "face.svg").write_text("<svg />", encoding="utf-8")
    shutil.copy(bundled[1], tmp_path / "own.ttf")
    assert changes(before, look(order, ticket)) == ("face file: another file", "own.ttf file: another file")
