"""Slips of people who never saw TOML: each is told in one line, with the file, the line, and what to write."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nameplate.ticket.slips import MOST_SLIPS, parse

from .tickets import MINIMAL


@pytest.mark.parametrize(
    ("was", "typed", "right"),
    [
        ("width = 110", "width = 110,5", "width = 110.5"),
        ("width = 110", "width = 110,5  # wide", "width = 110.5"),
        ("width = 110", "width 110", "width = 110"),
        ("width = 110", "width 110,5", "width = 110.5"),
        ("width = 110", "width: 110", "width = 110"),
        ("width = 110", "width = 110 mm", 'width = "110 mm"'),
        ("width = 110", "width = 4 3/8in", 'width = "4 3/8in"'),
        ("width = 110", "width = 2 ft", 'width = "2 ft"'),
        ("width = 110", "width = 2'", 'width = "2 ft"'),
        ("width = 110", "width = 2′  # wide", 'width = "2 ft"'),
        ("width = 110", "width = 1' 6\"  # wide", 'width = "1 ft 6 in"'),
        ("width = 110", "width = 1’-6 1/2”", 'width = "1 ft 6 1/2 in"'),
        ("width = 110", "width = 1 ft 6 in", 'width = "1 ft 6 in"'),
        ("width = 110", 'width = 4 3/8"', 'width = "4 3/8 in"'),
        ("width = 110", "width = 4.5 ″", 'width = "4.5 in"'),
        ("width = 110", 'width = 12 mm"', 'width = "12 mm"'),
        ("width = 110", "width = 110;", "width = 110"),
        ("width = 110", "width = .5", "width = 0.5"),
        ("width = 110", "width\u00a0= 110", "width = 110"),
        ('"names.csv"', '"C:\\Users\\Wren\\names.csv"', 'roster = "C:/Users/Wren/names.csv"'),
        ('"names.csv"', '"names.csv', 'roster = "names.csv"'),
        ('"names.csv"', 'names.csv"', 'roster = "names.csv"'),
        ('"names.csv"', "names.csv", 'roster = "names.csv"'),
        ('"names.csv"', "“names.csv”", 'roster = "names.csv"'),
        ('"names.csv"', "„Wren’s names.csv“", 'roster = "Wren’s names.csv"'),
        ('shape = "ellipse"', "shape  “ellipse”", 'shape = "ellipse"'),
        ("[face]", "[face", "[face]"),
        ("[[stock]]", "[[stock]", "[[stock]]"),
        ("[job]", "// mine\n[job]", "# mine"),
        ("width = 600", "width = 600\non hand = 2", "on_hand = 2"),
        ("width = 600", "width = 600\noffcut = True", "offcut = true"),
        ("width = 600", "width = 600\noffcut = yes", "offcut = true"),
    ],
)
def test_what_to_write_is_said_and_is_right(problems, was, typed, right):
    text = MINIMAL.replace(was, typed, 1)
    (problem,) = problems(text)
    number = int(problem.removeprefix("job.toml, line ").partition(":")[0])
    assert text.splitlines()[number - 1].strip()[:40] in problem
    assert problem.endswith(f"; write {right}")
    assert "\n" not in problem
    lines = text.splitlines()
    lines[number - 1] = right
    tomllib.loads("\n".join(lines))  # raises where the advice does not help


@pytest.mark.parametrize(
    ("typed", "right"),
    [
        ("{ width = 160, height = 90,5 }", "{ width = 160, height = 90.5 }"),
        ("{ width = 160,5, height = 90,5 }  # oak", "{ width = 160.5, height = 90.5 }"),
        ('{ shape = "leaf", width=160 ,height=-90,5}', '{ shape = "leaf", width=160 ,height=-90.5}'),
    ],
)
def test_a_decimal_comma_in_braces_is_told_as_on_a_line_of_its_own(problems, typed, right):
    head = "[design.gold]\nface = "
    (problem,) = problems(f"{MINIMAL}{head}{typed}\n")
    assert problem.startswith("job.toml, line 13: face = { ")
    assert problem.endswith(f": a number has a point, not a comma; write face = {right}")
    tomllib.loads(head + right)


def test_commas_of_a_list_in_braces_are_no_decimal_ones():
    (problem,) = parse("x = { y = [1,2], z = 3,5, w = [4,5] }", "job.toml")[1]
    assert problem.endswith("write x = { y = [1,2], z = 3.5, w = [4,5] }")


def test_every_slip_is_told_at_once(problems):
    text = MINIMAL.replace("110", "110,5").replace('"ellipse"', "ellipse").replace("width = 600", "width 600")
    assert [p.partition(":")[0] for p in problems(text)] == [f"job.toml, line {n}" for n in (5, 6, 10)]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (MINIMAL.replace("width = 110", "width ="), "line 6: width =: the value is missing"),
        (MINIMAL.replace("height = 80", "width = 80"), "line 7: width = 80: this key is in its table already"),
        (f"{MINIMAL}[face]\ninset = 3\n", "line 12: [face]: this table is there already"),
    ],
)
def test_what_is_missing_or_there_twice(problems, text, says):
    (problem,) = problems(text)
    assert says in problem


def test_a_backslash_that_toml_takes_for_a_letter_is_told_of(problems):
    (problem,) = problems(MINIMAL.replace("names.csv", "sub\\names.csv"))  # \n is a line feed in a TOML string
    assert problem.startswith("job.toml, line 2, job.roster = ") and "write / between folders" in problem


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            MINIMAL.replace("height = 80", "height = 80\ngap = 2"),
            "line 8, face.gap: unknown key; it belongs below [nest]",
        ),
        (MINIMAL.replace("height = 80", "height = 80\nkerf = 0.2"), "it belongs below [material.lettering]"),
        (
            f"{MINIMAL}[nest]\nwidth = 5\n",
            "line 13, nest.width: unknown key; it belongs below [face] or [wall] or [[stock]]",
        ),
        (f"gap = 2\n{MINIMAL}", "line 1, gap = 2: stands above all tables; write it below [nest]"),
        (f"{MINIMAL}[template]\nkerf = 1\n", "line 12, [template]: unknown table; did you mean [material.template]?"),
        (
            MINIMAL.replace("width = 600", 'width = 600\nprice = "11,50"'),
            'line 11, stock 1.price = "11,50": expected a',
        ),
        (MINIMAL.replace("width = 600", 'width = 600\nprice = "11,50"'), "write 11.50"),
        (MINIMAL.replace("width = 600\n", ""), "line 9, stock 1.width: missing"),
        (MINIMAL.replace("width = 600", "widht = 600"), "line 10, stock 1.widht: unknown key; did you mean width?"),
        (MINIMAL.replace('"names.csv"', "'sub\\names.csv'"), "there is no such file"),
        (MINIMAL.replace('"names.csv"', "'sub\\names.csv'"), "write / between folders"),
        (MINIMAL.replace("shape = ", "radius = 3\nshape = "), "line 5, face.radius is only for"),
    ],
)
def test_a_wrong_value_or_place_is_told_with_its_line(problems, text, says):
    (problem,) = problems(text)
    assert says in problem


def test_a_file_of_slips_ends(problems):
    found = problems("\n".join(f"a{n} = 1,5" for n in range(50)))
    assert len(found) == MOST_SLIPS


@given(st.text(st.sampled_from("ab=\"'[]{}#,.:;\\“” \n1"), max_size=60))
def test_no_text_is_read_otherwise_than_the_parser_reads_it(text):
    """A text without a slip gives what `tomllib` gives, and one with a slip gives nothing."""
    try:
        wanted = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        document, found = parse(text, "job.toml")
        assert (document, bool(found)) == ({}, True)
        assert all(p.startswith("job.toml, line ") for p in found)
    else:
        assert parse(text, "job.toml") == (wanted, [])
