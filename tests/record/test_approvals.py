"""An approval is of one look: it goes when the plate is to look otherwise, and comes back with the look."""

import pytest

from nameplate.errors import RecordError
from nameplate.model import Order
from nameplate.record.approvals import EMPTY_BOOK, approve, read_sign_book, withdraw
from nameplate.record.ids import KnownPlate
from nameplate.record.plate_list import keep_plates, keep_proof, known_plates, plate_entries
from nameplate.record.store import writing

WREN = {"text": "Wren Abara", "font": "Pacifico"}
ADA = {"text": "Ada Pell", "font": "Pacifico"}


@pytest.fixture
def store(tmp_path):
    with writing(tmp_path / "job.record") as found:
        yield found


def keep(store, looks, at="2026-03-01T09:00:00Z"):
    listed = [KnownPlate(plate, look["text"], "", place) for place, (plate, look) in enumerate(looks.items())]
    orders = [Order(plate, 2, look["text"]) for plate, look in looks.items()]
    with store.transaction():
        keep_plates(store, plate_entries(listed, [], orders, looks), at)


def sign_offs(store, looks):
    return {plate: read_sign_book(store).sign_off(plate, look) for plate, look in looks.items()}


def sign(store, looks, who, at="2026-03-02T09:00:00Z"):
    with store.transaction():
        return approve(store, looks, who=who, at=at)


def test_two_people_approve_the_same_plate_and_both_are_told(store):
    keep(store, {"001": WREN, "002": ADA})
    assert not read_sign_book(store).signed
    assert sign(store, {"001": WREN}, "Ann Ode") == ("001",)
    assert sign(store, {"001": WREN}, "Bo Lark", "2026-03-03T09:00:00Z") == ("001",)
    assert sign(store, {"001": WREN, "002": ADA}, "Ann Ode") == ("002",)
    signs = sign_offs(store, {"001": WREN, "002": ADA})
    assert signs["001"].who == "Ann Ode, Bo Lark" and signs["001"].reason == ""
    assert signs["001"].plainly == "Approved by Ann Ode, 2026-03-02 and Bo Lark, 2026-03-03"


def test_a_change_takes_the_approval_away_says_what_changed_and_taken_back_gives_it_back(store):
    keep(store, {"001": WREN})
    sign(store, {"001": WREN}, "Ann Ode")
    other = {"text": "Wren Abbara", "font": "Lobster"}
    now = sign_offs(store, {"001": other})["001"]
    assert now.by == ()
    assert now.reason == (
        "changed since Ann Ode approved it on 2026-03-02 (text: Wren Abara -> Wren Abbara; font: Pacifico -> Lobster)"
    )
    assert now.plainly == (
        "Changed since Ann Ode approved it, 2026-03-02: the text was “Wren Abara”, the font was “Pacifico”"
    )
    assert sign_offs(store, {"001": WREN})["001"].who == "Ann Ode"


def prove(store, looks, at, shown=""):
    keep(store, looks, at)
    with store.transaction():
        keep_proof(store, dict.fromkeys(looks, shown), at)


def test_before_anybody_was_asked_to_sign_nothing_has_changed_and_nothing_is_new(store):
    keep(store, {"001": WREN})
    keep(store, {"001": {**WREN, "text": "Wren A."}, "002": ADA}, "2026-03-03T09:00:00Z")
    signs = sign_offs(store, {"001": {**WREN, "font": "Lobster"}, "002": ADA, "003": WREN})
    assert {sign.plainly for sign in signs.values()} == {""}
    assert signs["001"].reason == "nobody has approved it"


def test_without_an_approval_a_plate_is_compared_with_the_last_proof_to_be_signed(store):
    short = {**WREN, "text": "Wren A."}
    prove(store, {"001": WREN}, "2026-03-01T09:00:00Z")
    prove(store, {"001": WREN}, "2026-03-02T09:00:00Z")
    assert sign_offs(store, {"001": WREN})["001"].plainly == ""
    keep(store, {"001": {**WREN, "font": "Lobster"}}, "2026-03-03T08:00:00Z")  # a run of one's own
    keep(store, {"001": short, "002": ADA}, "2026-03-03T09:00:00Z")
    signs = sign_offs(store, {"001": short, "002": ADA, "003": WREN})
    assert signs["001"].plainly == "Changed since the proof of 2026-03-02: the text was “Wren Abara”"
    assert signs["001"].reason == "nobody has approved it"
    assert signs["002"].plainly == signs["003"].plainly == "New on the list"
    # once a proof has it, that is what the next is compared with
    prove(store, {"001": short, "002": ADA}, "2026-03-04T09:00:00Z")
    signs = sign_offs(store, {"001": WREN, "002": ADA, "003": WREN})
    assert [sign.plainly for sign in signs.values()] == [
        "Changed since the proof of 2026-03-04: the text was “Wren A.”",
        "",
        "New on the list",
    ]
    # an approval counts for more than any proof after it
    sign(store, {"001": short}, "Ann Ode", "2026-03-05T09:00:00Z")
    prove(store, {"001": {**WREN, "text": "Wrenn"}}, "2026-03-06T09:00:00Z")
    assert sign_offs(store, {"001": WREN})["001"].plainly == (
        "Changed since Ann Ode approved it, 2026-03-05: the text was “Wren A.”"
    )


def test_what_was_shown_and_signed_under_a_short_name_of_its_font_is_the_same_still(store):
    short, full = ({**WREN, "font": font} for font in ("Playpen Sans", "Playpen Sans ExtraBold"))
    prove(store, {"001": short, "002": short}, "2026-03-01T09:00:00Z")
    sign(store, {"001": short}, "Ann Ode")
    book = read_sign_book(store)
    signed, shown = (book.sign_off(plate, full) for plate in ("001", "002"))
    assert signed.who == "Ann Ode" and shown.plainly == "" and book.on_no_proof({"001": full, "002": full}) == ()
    with store.transaction():
        withdraw(store, ["001"], who="Ann Ode", at="2026-03-03T09:00:00Z")
    assert read_sign_book(store).sign_off("001", full).plainly == "Approval withdrawn by Ann Ode, 2026-03-03"
    changed = read_sign_book(store).sign_off("002", {**WREN, "font": "Lobster"}).plainly
    assert changed == "Changed since the proof of 2026-03-01: the font was “Playpen Sans ExtraBold”"


def test_a_customer_reads_of_which_part_the_material_was_another_and_that_it_is_set_otherwise(store):
    oak = {**WREN, "material of blank": "birch plywood, 3 mm", "material of lettering": "black acrylic, 3 mm"}
    prove(store, {"001": oak, "002": oak, "003": oak}, "2026-03-01T09:00:00Z")
    bought = {**oak, "material of blank": "oak, 10 mm, #d8b98a", "lettering max_height": "42"}
    dark = {**oak, "material of lettering": "black acrylic, 3 mm, #101010"}
    signs = sign_offs(store, {"001": bought, "002": dark, "003": oak})
    assert [sign.plainly.partition(": ")[2] for sign in signs.values()] == [
        "the material of the plaque was “birch plywood, 3 mm”, it is set otherwise",
        "the colour of the letters is another",
        "",
    ]


def test_what_a_proof_showed_is_told_of_the_look_that_a_plate_is_compared_with(store):
    low = {**WREN, "lettering max_height": "42"}
    prove(store, {"001": WREN}, "2026-03-01T09:00:00Z", '{"size": 20.0}')
    keep(store, {"001": low}, "2026-03-02T09:00:00Z")  # a run of one's own
    sign = read_sign_book(store).sign_off("001", low)
    assert sign.shown == '{"size": 20.0}' and sign.in_plain_words(["it is set smaller"]).endswith(": it is set smaller")
    assert sign.in_plain_words(()) == "" and sign.plainly.endswith(": it is set otherwise")
    retold = read_sign_book(store).sign_off("001", {**low, "text": "Wrenn"})
    assert retold.in_plain_words(["it is set smaller"]).endswith(": the text was “Wren Abara”")
    for damaged in ("[1]", "{"):
        store.change("UPDATE looks SET shown = ?", (damaged,))
        with pytest.raises(RecordError, match="is damaged"):
            read_sign_book(store)


def test_who_leaves_the_list_keeps_its_id_and_one_that_is_asked_about_stays_in_it(store):
    keep(store, {"001": WREN, "002": ADA})
    with store.transaction():
        keep_plates(
            store, plate_entries([KnownPlate("001", "Wren", "[]", 5)], ["002"], [Order("001", 2, "Wren")], {}), ""
        )
    assert known_plates(store) == (KnownPlate("002", "Ada Pell", "", 1), KnownPlate("001", "Wren", "[]", 5))
    keep(store, {"001": WREN})
    assert known_plates(store)[1] == KnownPlate("002", "Ada Pell", "", None)


def test_without_a_record_nobody_has_approved_anything():
    sign_off = EMPTY_BOOK.sign_off("001", WREN)
    assert sign_off.reason == "nobody has approved it" and sign_off.plainly == ""
