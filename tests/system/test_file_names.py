import itertools
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.plates.orders import make_orders
from nameplate.roster.reader import Roster, Row
from nameplate.system.file_names import DEVICES, jig_stems, safe_stem
from nameplate.ticket.schema import Ticket

#: Microsoft Learn, "Naming Files, Paths, and Namespaces": characters that no name may hold.
FORBIDDEN = set('<>:"/\\|?*') | {chr(n) for n in range(32)}

texts = st.text(max_size=70) | st.text("aAbB -._/é", max_size=5)


def is_one_file(a, b):
    """As the pickiest systems judge: APFS and NTFS fold case, HFS+ decomposes (Apple TN1150)."""
    fold = [unicodedata.normalize("NFD", unicodedata.normalize("NFD", x).casefold()) for x in (a, b)]
    return fold[0] == fold[1]


@given(st.lists(st.tuples(texts, texts), max_size=6))
def test_every_plate_has_a_file_of_its_own_that_every_system_takes(plates):
    stems = jig_stems(plates)
    assert len(stems) == len(plates)
    assert not any(is_one_file(a, b) for a, b in itertools.combinations(stems, 2))
    for stem in stems:
        assert stem and not FORBIDDEN & set(stem) and stem[0] not in " .-" and stem[-1] not in " ."
        assert stem.partition(".")[0].rstrip().lower() not in DEVICES
        assert len(f"{stem}.svg") <= 60 and len(stem.encode("utf-8")) <= 120


@pytest.mark.parametrize(
    "plates",
    [
        [("a", "b c"), ("a-b", "c")],
        [("a", "Wren"), ("A", "Wren")],
        [("\u00e9", "Wren"), ("e\u0301", "Wren")],
        [("x" * 40, "Wren Abara of the orchard"), ("x" * 40, "Wren Abara of the orchards")],
        [("1", "Ελένη"), ("1-plate", "Ελένη"), ("1", "Σοφία")],
        [("a", "b"), ("a", "b"), ("a", "b 2")],
    ],
)
def test_plates_that_once_shared_a_file_no_longer_do(plates):
    stems = jig_stems(plates)
    assert not any(is_one_file(a, b) for a, b in itertools.combinations(stems, 2))


@given(st.permutations([("a", "b c"), ("a-b", "c"), ("A", "b c"), ("z", "Wren"), ("a-b-c", "")]))
def test_a_list_sorted_otherwise_gives_the_same_files(plates):
    fixed = sorted(plates)
    assert dict(zip(plates, jig_stems(plates), strict=True)) == dict(zip(fixed, jig_stems(fixed), strict=True))


def test_five_thousand_plates_of_one_name_are_numbered_in_one_go():
    stems = jig_stems([("a", "b")] * 5000)
    assert stems[0] == "a-b" and stems[-1] == "a-b-5000" and len(set(stems)) == 5000


@pytest.mark.parametrize("name", ["con", "Aux", "nul.txt", "COM1", "com¹", "LPT9.a.b", "prn "])
def test_no_file_is_a_device(name):
    assert safe_stem(name).startswith("_")


def test_orders_carry_the_stem_before_plates_are_made():
    rows = (Row(2, name="b c", id="a"), Row(3, name="c", id="a-b"))
    orders = make_orders(Roster(rows), Ticket())
    assert [order.stem for order in orders.orders] == ["a-b-c", "a-b-c-2"]
