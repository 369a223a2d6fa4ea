"""Tables for spreadsheet programs, read back by an independent library."""

from __future__ import annotations

import csv
import hashlib
import io
import time
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from nameplate.system.spreadsheets import csv_text, safe_cell, xlsx_bytes

ROWS = [
    {"plate": "001", "name": "Zoë “Z” Ó", "tree": "=1+1", "x_mm": "12.5"},
    {"plate": "002", "name": "-Ada", "tree": "http://a.example", "x_mm": ""},
    {"plate": "003", "name": "+49", "tree": "\tpear", "x_mm": "-3"},
]
HEADINGS = ["plate", "name", "tree", "x_mm"]


@given(st.text(max_size=12))
def test_no_cell_is_a_formula_and_none_loses_a_letter(text):
    # a cell that begins so is run by spreadsheet programs (common practice: OWASP, CSV injection)
    safe = safe_cell(text)
    assert safe in (text, "'" + text)
    if safe == text and text[:1] in ("=", "+", "-", "@", "\t", "\r"):
        assert float(text.replace(",", ".")) is not None


@pytest.mark.parametrize("number", ["-1", "+49", "-2,5", "3.25", "-0.5"])
def test_plain_numbers_stay(number):
    assert safe_cell(number) == number


@pytest.mark.parametrize("text", ["=1", "+1+1", "-1-1", "@x", "-Ada", "\t=1", " =1", "＝1"])
def test_everything_else_that_starts_so_is_made_safe(text):
    assert safe_cell(text) == "'" + text


def cells(data):
    sheet = load_workbook(io.BytesIO(data)).active
    return [list(row) for row in sheet.iter_rows()]


def test_both_forms_hold_the_same_table_and_no_formula():
    book = cells(xlsx_bytes("worklist", HEADINGS, ROWS, numbers={"x_mm"}))
    text = list(csv.reader(io.StringIO(csv_text(HEADINGS, ROWS).removeprefix("\ufeff"), newline="")))
    assert [["" if c.value is None else f"{c.value}" for c in row] for row in book] == text
    assert [row[2] for row in text[1:]] == ["'=1+1", "http://a.example", "'\tpear"] and text[2][1] == "'-Ada"
    assert not [c for row in book for c in row if c.data_type == "f" or c.hyperlink]
    assert [row[3].value for row in book] == ["x_mm", 12.5, None, -3]
    assert book[1][0].value == "001"  # an id stays a text


def test_the_same_table_is_the_same_bytes_on_any_day(monkeypatch):
    first = xlsx_bytes("worklist", HEADINGS, ROWS)
    monkeypatch.setattr(time, "time", lambda: 2e9)
    monkeypatch.setattr(time, "localtime", lambda *_: time.gmtime(2e9))
    assert hashlib.sha256(first).digest() == hashlib.sha256(xlsx_bytes("worklist", HEADINGS, ROWS)).digest()
    with zipfile.ZipFile(io.BytesIO(first)) as book:
        assert {info.date_time for info in book.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"1980-01-01T00:00:00Z" in book.read("docProps/core.xml")


def test_a_table_without_rows_has_its_headings():
    assert [[c.value for c in row] for row in cells(xlsx_bytes("worklist", HEADINGS, []))][:1] == [HEADINGS]
