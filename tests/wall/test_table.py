"""wall.csv against the plan and exact inches."""

import csv
import io
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.model import Order
from nameplate.units import sixteenths
from nameplate.wall.files import wall_html
from nameplate.wall.table import COLUMNS, wall_csv
from tests.wall.walls import orders, planned, wall

#: One inch in mm, exactly (1959).
INCH = Fraction(254, 10)


def inches_of(text):
    """An independent reader of a tape's inches: a sign, whole inches, a fraction."""
    sign = -1 if text.startswith("-") else 1
    return sign * sum((Fraction(part) for part in text.lstrip("-").split(" ")), Fraction(0))


@given(st.integers(-10_000_000, 10_000_000))
def test_inches_are_the_nearest_sixteenth(micrometres):
    text = sixteenths(micrometres / 1000)
    inches = inches_of(text)
    assert (inches * 16).denominator == 1
    assert abs(inches * INCH - Fraction(micrometres, 1000)) <= INCH / 32
    *_, fraction = text.split(" ")
    assert "/" not in fraction or int(fraction.split("/")[0]) % 2  # lowest terms: halves of an even top would go


def test_known_inches():
    # from ORACLES: 9.525 mm is 3/8 in; 100 mm reads 3 15/16, which is 0.0125 mm more
    assert (sixteenths(9.525), sixteenths(100.0), sixteenths(-25.4), sixteenths(0.2)) == ("0 3/8", "3 15/16", "-1", "0")


def table(plan, status=None):
    text = wall_csv(plan, status or {})
    assert text.startswith("\ufeff")
    return list(csv.DictReader(io.StringIO(text[1:], newline="")))


def test_a_row_a_hole_with_the_columns_that_were_promised_first():
    assert COLUMNS[:6] == ("id", "name", "x", "y", "x_in", "y_in")
    keys = wall(hanger=((-40.0, 25.0), (40.0, 25.0)))
    plan = planned(keys, [*orders(2), Order(id="=1", row=9, name="-Ada", copies=2)])
    rows = table(plan, {"002": "held"})
    assert [(r["id"], r["hole"], r["place"], r["status"]) for r in rows] == [
        ("001", "1", "A1", "made"),
        ("001", "2", "A1", "made"),
        ("002", "1", "A2", "held"),
        ("002", "2", "A2", "held"),
        ("'=1", "1", "A3", "made"),
        ("'=1", "2", "A3", "made"),
        ("'=1/2", "1", "A4", "made"),
        ("'=1/2", "2", "A4", "made"),
    ]
    assert rows[0]["name"] == "Name 1"
    assert rows[4]["name"] == "'-Ada"  # no spreadsheet takes it for a formula
    assert [(r["x"], r["y"]) for r in rows[:2]] == [("-1465", "700"), ("-1385", "700")]


def test_inches_of_every_hole_are_reckoned_from_the_datum_so_that_errors_do_not_add_up():
    plan = planned(wall(pitch=(301.3, 127.7), hanger=((3.3, 11.1),)), orders(100))
    holes = [hole for hanging in plan.hangings for hole in hanging.holes]
    for row, hole in zip(table(plan), holes, strict=True):
        for mm, inches in ((row["x"], row["x_in"]), (row["y"], row["y_in"])):
            assert abs(inches_of(inches) * INCH - Fraction(mm)) <= INCH / 32 + Fraction(1, 1000)
        assert float(row["x"]) == pytest.approx(hole.x, abs=0.0005)
        assert float(row["y"]) == pytest.approx(hole.y, abs=0.0005)


def test_on_paper_places_are_told_to_a_tenth_and_in_the_table_for_programs_closer():
    plan = planned(wall(hanger=((1 / 3, 2 / 3),)), orders(2))
    cells = re.findall(
        r'<td class="n">(-?[\d.]+)</td><td class="n">(-?[\d.]+)</td>', "".join(wall_html(plan, {}, title=""))
    )
    holes = [hole for hanging in plan.hangings for hole in hanging.holes]
    assert [tuple(map(float, own)) for own in cells] == [(round(hole.x, 1), round(hole.y, 1)) for hole in holes]
    assert all(len(row["x"].partition(".")[2]) == 3 for row in table(plan))
