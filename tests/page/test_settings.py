"""The room Settings: the ticket in the words of `explain`, and what is changed written as a person would."""

import tomllib

import lxml.html
import pytest

from nameplate.page.answers import Form
from nameplate.page.settings_room import _Reader, _value
from nameplate.ticket.explain import entries, tables
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.schema import Ticket
from nameplate.ticket.starter import first_keys, write_workshop

from .conftest import REMARKS, TICKET, changed, lines


def shown(browser, design=""):
    answer = browser.get("/settings", params={"design": design})
    assert answer.status_code == 200
    return answer


def form_of(answer):
    """The form of the room, as a browser has it."""
    return next(form for form in lxml.html.fromstring(answer.text).forms if form.get("action") == "/settings")


def send(browser, changed=(), design="", then=None, **fields):
    """Send the whole form as a browser does, with some of it changed."""
    data = {}
    for name, value in form_of(then or shown(browser, design)).form_values():
        data.setdefault(name, []).append(value)
    return browser.post("/settings", data=data | dict(changed) | fields)


def box(answer, name):
    """The controls of a key."""
    return form_of(answer).xpath(".//*[@name=$name]", name=name)


# --- what is shown


def test_every_key_is_shown_with_its_label_and_what_explain_says(browser, ticket):
    where = {"material": "material.lettering", "stock": "stock 1", "line": "line 1"}
    for word, table in tables().items():
        page = shown(browser, "gold" if word == "design" else "")
        tree, told = form_of(page), 0
        for entry in table.entries:
            if entry.kind in ("table", "tables"):  # they are shown by their own keys
                continue
            name = f"{'design.gold' if word == 'design' else where.get(word, word)}.{entry.key}"
            control = next(one for one in box(page, name) if one.get("type") != "hidden")
            if control.get("type") == "checkbox":
                control = control.getparent().getparent()
                assert tree.get_element_by_id(control.get("aria-labelledby")).text == entry.key.replace("_", " ")
            else:
                label = tree.xpath(".//label[@for=$id]", id=control.get("id"))
                assert [one.text for one in label] == [entry.key.replace("_", " ")], name
            about = tree.get_element_by_id(control.get("aria-describedby"))
            rest = about.getparent().text_content()
            assert entry.meaning.replace("`", "").startswith(about.text_content()), name
            for part in (*entry.meaning.split("; "), entry.accepts, entry.default, entry.example):
                assert part.replace("`", "") in rest, (name, part)
            told += 1
        assert told, word
        assert "`" not in tree.text_content()
    assert "<code>file</code> has the form" in shown(browser, "").text


def test_each_kind_of_key_has_the_control_for_it(browser, ticket):
    page = shown(browser)

    def options(name):
        (select,) = box(page, name)
        return [(o.get("value"), o.text, o.get("selected") is not None) for o in select.iter("option")]

    assert options("job.paper") == [
        ("", "as it comes", False), ("a4", "a4", True), ("letter", "letter", False),
    ]  # fmt: skip
    assert options("face.cut") == [("", "as it comes", False), ("true", "yes", False), ("false", "no", False)]
    assert [value for value, *_ in options("cards.per_page")] == ["", "1", "2", "6"]
    assert ("template", "template", True) in options("stock 2.material")
    ticks = [one for one in box(page, "files.formats") if one.get("type") == "checkbox"]
    assert [one.get("value") for one in ticks if one.checked] == ["svg", "dxf"] and len(ticks) == 5
    assert [box(page, name)[0].value for name in ("face.height", "stock 1.price", "nest.gap")] == [
        "3 1/8 in",
        "11.5",
        "",
    ]


def test_what_is_left_out_is_told_as_it_comes(browser, ticket, folder, monkeypatch):
    shop = write_workshop(folder / "shop").read_text(encoding="utf-8").replace("0.15", "0.17")
    monkeypatch.setenv("NAMEPLATE_CONFIG", str(folder / "shop"))
    (folder / "shop" / "workshop.toml").write_text(shop, encoding="utf-8")

    def comes(name, design=""):
        cell = box(shown(browser, design), name)[0].getparent()
        return [p.text for p in cell.findall("p")]

    assert comes("nest.gap") == ["as it comes: 1.5"]
    assert comes("lettering.max_height") == ["as it comes: as tall as the face allows"]
    assert comes("lettering.strengthen") == ["as it comes: yes"]
    assert comes("material.template.kerf") == ["as it comes: 0.17"]  # of the workshop file
    assert comes("material.lettering.kerf") == []
    assert comes("design.gold.lettering.legibility", "gold") == ["as it comes: off"]  # of the ticket
    ticket.write_text(REMARKS.partition("[[stock]]")[0] + "[jig]\n", encoding="utf-8")
    told = "From workshop.toml, the workshop's file, which is for all its jobs: lettering 600 x 300 mm, price 11.5; "
    assert told in shown(browser).text and "taken as here" not in shown(browser).text


def test_sheets_that_are_not_changed_here_say_where_they_are(browser, ticket, folder, monkeypatch):
    monkeypatch.setenv("NAMEPLATE_CONFIG", str(folder / "none"))
    ticket.write_text(REMARKS.replace('"template"\nwidth = 300', '"carrier"\nwidth = 300'), encoding="utf-8")
    page = shown(browser).text
    assert "Not in job.toml, but taken as here: template 600 x 300 mm. Sheets" in page and "From " not in page
    shop = '[[stock]]\nmaterial = "template"\nwidth = 500\nheight = 250\nprice = 3\n'
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    ticket.write_text(
        ticket.read_text(encoding="utf-8").replace("[job]", '[job]\nshop = "shop.toml"'), encoding="utf-8"
    )
    page = shown(browser).text
    assert "From shop.toml, the workshop's file, which is for all its jobs: template 500 x 250 mm, price 3. " in page
    assert "open shop.toml in a text editor" in page and "taken as here" not in page
    outside = folder.parent / "elsewhere.toml"
    outside.write_text(shop, encoding="utf-8")
    ticket.write_text(ticket.read_text(encoding="utf-8").replace("shop.toml", "../elsewhere.toml"), encoding="utf-8")
    assert f"open {outside} in a text editor" in shown(browser).text


def test_what_a_first_ticket_has_and_what_this_one_says_is_seen_first(browser, ticket):
    tree = form_of(shown(browser))
    folded = {one.get("name") for one in tree.xpath(".//section/details//*[@name]")}
    seen = {one.get("name") for one in tree.xpath(".//section//*[@name]")} - folded
    wanted = {name for name in first_keys() if name.split(".")[0] not in ("material", "stock")}
    wanted |= {"job.paper", "lettering.legibility", "files.formats", "stock 2.price", "material.template.kerf"}
    assert wanted <= seen
    assert {"nest.gap", "wall.width", "material.blank.kerf", "stock 3.width", "lettering.arc"} <= folded
    assert len(seen) < 40 < 130 < len(folded)


def test_hostile_text_is_escaped(browser, ticket):
    hostile = '"><img src=x onerror=alert(1)>'
    text = REMARKS.replace("cast acrylic", hostile.replace('"', '\\"')).replace("design.gold", "design.'<b>g\"'")
    ticket.write_text(text, encoding="utf-8")
    for design in ("", '<b>g"'):
        page = shown(browser, design)
        assert "<img" not in page.text and "<b>g" not in page.text
    assert box(shown(browser), "material.lettering.name")[0].value == hostile
    answer = send(browser, {"face.width": hostile})
    assert answer.status_code == 422 and "<img" not in answer.text and box(answer, "face.width")[0].value == hostile


# --- what is changed


def test_a_form_that_is_sent_as_it_came_changes_nothing(browser, ticket):
    before = ticket.read_bytes()
    for design in ("", "gold"):
        answer = send(browser, design=design)
        assert answer.status_code == 200 and "Undo" not in answer.text
    assert ticket.read_bytes() == before


@pytest.mark.parametrize("entry", [e for e in entries() if e.kind not in ("table", "tables")], ids=lambda e: e.name)
def test_what_stands_in_a_box_is_read_as_the_same_value(entry):
    value = tomllib.loads(entry.example)[entry.key]
    field = _Reader({}, Ticket(), "", Form(), frozenset())._field(entry, "name", value, "", False)
    assert _value(entry.kind, field.has) == value


def test_only_what_was_changed_is_written_and_remarks_stay(browser, ticket):
    before = lines(ticket)
    keys = {
        "stock 1.price": "12.25", "lettering.mount": "backed", "lettering.register": "score", "job.paper": "",
        "material.lettering.kerf": "{ x = 0.2, y = 0.16 }", "stock 2.material": "backing", "nest.gap": "1/8 in",
        "spares.loss": "0.04", "files.face_down": "true", "jig.style": "none",
    }  # fmt: skip
    answer = send(browser, keys)
    assert answer.status_code == 200
    gone, new = changed(before, lines(ticket))
    assert gone == [
        'paper  = "a4"        # theirs is letter',
        'mount = "applied"    # glued on',
        'lettering = { name = "cast acrylic", thickness = 3, kerf = 0.18 }   # measured in March',
        "price = 11.50        # with the foil",
        'material = "template"',
        'style = "template"',
    ]
    assert new == [
        "# theirs is letter",
        'mount = "backed"    # glued on',
        'register = "score"',
        'lettering = { name = "cast acrylic", thickness = 3, kerf = {x = 0.2, y = 0.16} }   # measured in March',
        "price = 12.25        # with the foil",
        'material = "backing"',
        'style = "none"',
        "face_down = true",
        "[nest]",
        'gap = "1/8 in"',
        "[spares]",
        "loss = 0.04",
    ]
    own = read_ticket(ticket)
    assert (own.nest.gap, own.stock[0].price, own.spares.loss, own.files.face_down) == (3.175, 12.25, 0.04, True)
    assert "job.paper left out, lettering.mount = &#34;backed&#34;" in answer.text  # beside Undo


def test_of_named_choices_several_can_be_ticked(browser, ticket):
    send(browser, {"files.formats": ["", "svg", "png"]})
    assert read_ticket(ticket).files.formats == ("svg", "png")
    send(browser, {"files.formats": [""]})
    assert read_ticket(ticket).files.formats == ("svg",) and "formats" not in ticket.read_text(encoding="utf-8")


def test_a_material_that_the_ticket_does_not_have_gets_a_table(browser, ticket):
    send(browser, {"material.blank.kerf": "0.21"})
    assert read_ticket(ticket).material["blank"].kerf.widest == 0.21
    ticket.write_text(TICKET, encoding="utf-8")
    send(browser, {"material.lettering.thickness": "1/4 in"})
    assert read_ticket(ticket).material["lettering"].thickness == 6.35


def test_a_sheet_is_added_behind_the_last_and_taken_out(browser, ticket):
    before = lines(ticket)
    send(browser, {"stock 3.material": "lettering", "stock 3.width": "24 in", "stock 3.height": "400"})
    added = lines(ticket)
    new = ["", "[[stock]]", 'material = "lettering"', 'width = "24 in"', "height = 400"]
    at = added.index(new[3]) - 3
    assert added == [*before[:at], *new, *before[at:]] and before[at] == "[jig]"
    answer = send(browser, gone="stock 1")
    assert [sheet.width for sheet in read_ticket(ticket).stock] == [300, 609.6]
    assert "stock 1 taken out" in answer.text
    gone, new = changed(added, lines(ticket))
    assert gone == ["width = 600", "height = 300", "price = 11.50        # with the foil"] and new == []
    assert "# what is left of last year" in lines(ticket)
    for _ in range(2):
        send(browser, do="undo")
    assert lines(ticket) == before


def test_a_sheet_without_its_width_is_told_beside_it_and_the_only_sheet_stays(browser, ticket):
    before = ticket.read_bytes()
    answer = send(browser, {"stock 3.height": "400"})
    assert answer.status_code == 422
    assert "stock 3.width: missing" in box(answer, "stock 3.width")[0].getparent().text_content()
    assert box(answer, "stock 3.height")[0].value == "400"
    assert "no sheet size is given for lettering" in send(browser, gone="stock 1").text
    assert ticket.read_bytes() == before


@pytest.mark.parametrize("design", ["gold", "oak leaf", 'the "old" ones'])
def test_lines_are_added_and_taken_out_too_those_of_a_design_as_its_own(browser, ticket, design):
    name = design.replace('"', '\\"')
    ticket.write_text(REMARKS.replace("design.gold", f'design."{name}"'), encoding="utf-8")
    send(browser, {"line 1.text": "In memory of"})
    for number, text in enumerate(("{name}", "of {tree}"), 1):
        line = f"design.{design}.line {number}"
        assert send(browser, {f"{line}.text": text, f"{line}.gap": "0.2"}, design=design).status_code == 200
    own = read_ticket(ticket)
    assert [one.text for one in own.line] == ["In memory of"]
    assert [(one.text, one.gap) for one in own.of(design).line] == [("{name}", 0.2), ("of {tree}", 0.2)]
    send(browser, gone=f"design.{design}.line 1", design=design)
    assert [one.text for one in read_ticket(ticket).of(design).line] == ["of {tree}"]


def test_what_a_design_says_is_written_below_it(browser, ticket):
    before = lines(ticket)
    keys = {"design.gold.face.inset": "8", "design.gold.lettering.min_web": "", "design.gold.jig.clearance": "0.3"}
    send(browser, keys | {"design.gold.materials": '{ lettering = "template" }'}, design="gold")
    gone, new = changed(before, lines(ticket))
    assert gone == ['face = { shape = "hexagon", width = 130, height = 90 }', "min_web = 2          # they are touched"]
    assert new == [
        'face = { shape = "hexagon", width = 130, height = 90, inset = 8}',
        'materials = {lettering = "template"}',
        "# they are touched",
        "[design.gold.jig]",
        "clearance = 0.3",
    ]
    gold = read_ticket(ticket).of("gold")
    assert (gold.face.inset, gold.lettering.min_web, gold.jig.clearance) == (8, 1.5, 0.3)
    assert gold.key_of("lettering") == "template"


def test_a_job_whose_designs_alone_have_a_face_is_changed_too(browser, ticket):
    ticket.write_text(REMARKS.replace("shape  = ", "# ").replace("width  = 110\n", ""), encoding="utf-8")
    assert send(browser, {"nest.gap": "2"}).status_code == 200
    assert send(browser, {"lettering.min_web": "2"}).status_code == 200
    assert (read_ticket(ticket).nest.gap, read_ticket(ticket).of("gold").face.width) == (2, 130)
    answer = send(browser, {"design.gold.face.inset": "45"}, design="gold")
    assert answer.status_code == 422 and "an inset of 45 mm leaves no room" in answer.text


@pytest.mark.parametrize(("typed", "price"), [("11,50", 11.5), ("£21.50", 21.5), ("9,5 €", 9.5), ("$8", 8)])
def test_a_number_is_taken_as_people_write_it(browser, ticket, typed, price):
    assert send(browser, {"stock 1.price": typed}).status_code == 200
    assert read_ticket(ticket).stock[0].price == price


def test_fonts_are_there_to_choose_from(browser, ticket):
    page = shown(browser)
    for name in ("lettering.font", "line 1.font"):
        options = form_of(page).get_element_by_id(box(page, name)[0].get("list"))
        assert "Satisfy" in [one.get("value") for one in options]


# --- what is wrong, late or taken back


def test_a_font_of_a_line_that_is_none_is_told_beside_it_too(browser, ticket):
    assert send(browser, {"line 1.text": "{name}", "line 1.font": "Satisfy"}).status_code == 200
    before = ticket.read_bytes()
    answer = send(browser, {"line 1.font": "Comic Sans"})
    assert answer.status_code == 422 and ticket.read_bytes() == before
    assert "there is no font 'Comic Sans'" in box(answer, "line 1.font")[0].getparent().text_content()


@pytest.mark.parametrize(
    ("name", "typed", "reason"),
    [
        ("nest.gap", "wide", "nest.gap = \"wide\": 'wide' is not a length"),
        ("stock 1.price", "11,500", 'stock 1.price = "11,500": expected a number, without quotes or unit'),
        ("stock 1.price", "nan", "expected a number"),
        ("stock 2.on_hand", "1.5", "expected a whole number"),
        ("lettering.mount", "glued", "expected one of applied, pierced, backed, marked"),
        ("material.lettering.kerf", "{ x = 0.2 }", "material.lettering.kerf = { x = 0.2 }: expected a width, or both"),
        ("material.lettering.kerf_date", "1 March", "expected a date"),
        ("material.lettering.name", "PVC", "material.lettering.name"),
        ("job.roster", "gone.csv", "there is no such file"),
        ("lettering.font", "Comic Sans", "there is no font 'Comic Sans'"),
        ("face.radius", "3", 'face.radius is only for shape = "rounded"'),
        ("nest.turns", '0\n[job]\ntitle = "x"', "expected a list of angles"),
        ("nest.turns", "[" * 3000, "expected a list of angles"),
        ("stock 1.width", "", "stock 1.width: missing; a sheet needs a width and a height"),
    ],
)
def test_what_is_wrong_is_told_beside_its_key_and_nothing_is_written(browser, ticket, name, typed, reason):
    before = ticket.read_bytes()
    answer = send(browser, {name: typed, "job.title": "Ours"})
    assert answer.status_code == 422 and ticket.read_bytes() == before
    control = box(answer, name)[0]
    assert control.get("aria-invalid") == "true"
    wrong = form_of(answer).get_element_by_id(control.get("aria-describedby").split()[1])
    assert reason in wrong.text_content() and "job.toml" not in wrong.text_content()
    assert control.tag == "select" or control.value == typed
    assert box(answer, "job.title")[0].value == "Ours"
    assert f"nothing was written; to be put right, below: {name}" in answer.text and "Undo" not in answer.text
    assert all(one.get("open") is not None for one in control.iterancestors("details"))


def test_what_is_about_no_key_is_told_above_all(browser, ticket):
    page = send(browser, {"face.inset": "45"})
    told = lxml.html.fromstring(page.text).find_class("problems")[0].text_content()
    assert "an inset of 45 mm leaves no room" in told and box(page, "face.inset")[0].value == "45"


@pytest.mark.parametrize(
    ("called", "heading", "pressed"),
    [
        ("silver", "[design.silver]", {"do": "design"}),
        ("oak leaf", '[design."oak leaf"]', {}),  # Save, as Enter does
    ],
)
def test_a_design_is_added_with_what_else_was_changed_and_looks_as_the_job_does(
    browser, ticket, called, heading, pressed
):
    before = lines(ticket)
    answer = send(browser, {"called": called, "nest.gap": "2"}, **pressed)
    gone, new = changed(before, lines(ticket))
    assert gone == [] and set(new) == {"[nest]", "gap = 2", heading} and lines(ticket)[-2:] == [heading, ""]
    own = read_ticket(ticket)
    assert own.of(called).face == own.face and answer.url.params["design"] == called
    assert f"design {called} added" in answer.text and f"rows with {called} in the column" in answer.text
    send(browser, {f"design.{called}.face.width": "90"}, design=called)
    assert read_ticket(ticket).of(called).face.width == 90
    for _ in range(2):
        send(browser, do="undo")
    assert lines(ticket) == before


@pytest.mark.parametrize(
    ("called", "reason"),
    [
        ("", "what is the new design called?"),
        ("gold", "there is a design “gold” already"),
        ("x" * 300, "expected a name"),
    ],
)
def test_a_design_that_cannot_be_added_is_told_and_what_was_typed_stays(browser, ticket, called, reason):
    before = ticket.read_bytes()
    answer = send(browser, {"called": called, "job.title": "Ours"}, do="design")
    assert answer.status_code == 422 and reason in answer.text and ticket.read_bytes() == before
    assert box(answer, "called")[0].value == called and box(answer, "job.title")[0].value == "Ours"


def test_every_edit_is_undone_to_the_byte(browser, ticket):
    states = [ticket.read_bytes()]
    for keys in ({"stock 1.price": "3"}, {"stock 1.price": "", "line 1.text": "{name}"}):
        send(browser, keys)
        states.append(ticket.read_bytes())
    assert len(set(states)) == 3
    for expected in states[-2::-1]:
        send(browser, {"job.title": "typed, not saved"}, do="undo")
        assert ticket.read_bytes() == expected
    assert "nothing to undo" in send(browser, do="undo").text


def test_of_two_tabs_the_second_is_told_and_sees_the_ticket_as_it_is(browser, ticket):
    tab = shown(browser)
    send(browser, {"stock 1.price": "3"}, then=tab)
    once = ticket.read_bytes()
    answer = send(browser, {"nest.gap": "4"}, then=tab)
    assert answer.status_code == 409 and "changed elsewhere" in answer.text and ticket.read_bytes() == once
    assert (box(answer, "stock 1.price")[0].value, box(answer, "nest.gap")[0].value) == ("3", "")


def test_a_ticket_that_no_run_takes_is_put_right_here(browser, ticket):
    ticket.write_text(
        REMARKS.replace('"applied" ', '"glued" ').replace("width  = 110", "width = 9999"), encoding="utf-8"
    )
    page = shown(browser)
    assert "to be put right, below: face.width, lettering.mount" in page.text
    assert "expected at most 3000 mm" in box(page, "face.width")[0].getparent().text_content()
    assert box(page, "lettering.mount")[0].value == "glued"
    assert send(browser, {"face.width": "120", "lettering.mount": "applied"}).status_code == 200
    assert read_ticket(ticket).face.width == 120


@pytest.mark.parametrize(
    "text", ["stock = 3\nline = [1]\nmaterial = 4\ndesign = 5\nface = []\n[nest]\ngap = [{ a = 1 }]", ""]
)
def test_a_ticket_of_odd_tables_is_shown(browser, ticket, text):
    ticket.write_text(text, encoding="utf-8")
    assert "nest.gap" in shown(browser).text


def test_a_ticket_that_is_no_toml_is_told(browser, ticket):
    ticket.write_text("[face\n", encoding="utf-8")
    answer = browser.get("/settings")
    assert answer.status_code == 422 and "job.toml, line 1" in answer.text


def test_a_design_that_is_gone_is_told(browser, ticket):
    tab = shown(browser, "gold")
    ticket.write_text(REMARKS.partition("[design")[0], encoding="utf-8")
    before = ticket.read_bytes()
    assert send(browser, {"design.gold.face.inset": "8"}, then=tab).status_code == 409
    answer = send(browser, {"design": "gold", "design.gold.face.inset": "8"})
    assert answer.status_code == 422 and "has no [design.gold.face]" in answer.text
    assert ticket.read_bytes() == before
