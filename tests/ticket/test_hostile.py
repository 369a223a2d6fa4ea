"""Tickets and arguments that mean harm, or come from a slip: each ends in a sentence, never in a fault."""

from __future__ import annotations

import functools
import os
import sys
import tomllib

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nameplate.cli.commands import main
from nameplate.errors import EXIT_FAULT, NameplateError
from nameplate.ticket.keys import read_value
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.tables import TABLES, rules_of
from nameplate.ticket.workshop_schema import MaterialKeys, StockKeys

#: Values as TOML writes them (toml.io 1.0.0), each of which some key of some ticket might be given.
HOSTILE = [
    "0", "-1", "1.5", "9" * 400, "-" + "9" * 400, "0x" + "f" * 5000, "1e400", "nan", "-nan", "inf", "-inf", "1e-320",
    "1e308", "360000000.5", "1000000", "true", '""', '"x"', '" "', '"nan"', '"1/0"', '"' + "9" * 39 + '"',
    '"' + "x" * 5000 + '"', r'"\u0000"', r'"a\nb"', r'"\U0010ffff"', '"~nosuchuser/x.ttf"', '"~nosuchuser"',
    '"loop.csv"', '"pipe.csv"', '"sub"', '"/dev/zero"', '"' + "a/" * 2000 + '"', '"' + "n" * 300 + '.csv"',
    '"../../../.."', "[]", "[[]]", "[1]", '["x"]', "[[1, 2]]", "[nan]", "[[nan, nan], [inf, 1], [1, 1]]",
    "[" * 60 + "]" * 60, "{}", "{ a = 1 }", "{ a = { b = 1 } }", "{ wght = nan }", "{ wght = 1e308 }", '{ "" = 1 }',
    "{ " + "k" * 3000 + " = 1 }", "[" + "0, " * 500 + "0]", '["ss01", "ss01"]',
    "[" + ", ".join(f"[{n}, {n}]" for n in range(3000)) + "]", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z",
]  # fmt: skip

RECORDS = {**TABLES, "material.lettering": MaterialKeys, "stock": StockKeys}
RULES = {(table, key): rules for table, record in RECORDS.items() for key, rules in rules_of(record).items()}
KEYS = list(RULES)
PLAIN = {
    "job": {"roster": '"names.csv"'},
    "face": {"shape": '"ellipse"', "width": "110", "height": "80"},
    "stock": {"width": "600", "height": "300"},
}


def ticket_with(table, key, value):
    tables = {name: dict(PLAIN.get(name, {})) for name in RECORDS}
    tables[table][key] = value
    return "\n".join(
        f"{'[[stock]]' if name == 'stock' else f'[{name}]'}\n" + "".join(f"{k} = {v}\n" for k, v in keys.items())
        for name, keys in tables.items()
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with a list, a folder, and (where the system has them) a pipe and a link to itself."""
    folder = tmp_path_factory.mktemp("tickets")
    (folder / "names.csv").write_text("name\nAda\n", encoding="utf-8")
    (folder / "sub").mkdir()
    if sys.platform != "win32":
        os.mkfifo(folder / "pipe.csv")
        (folder / "loop.csv").symlink_to(folder / "loop.csv")
    return folder


def refusal_of(folder, text):
    """Read a ticket and return its problems; anything but values or a refusal in sentences fails."""
    path = folder / "job.toml"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    try:
        ticket = read_ticket(path)
    except NameplateError as error:
        assert all("job.toml" in p and len(p) < 2000 for p in error.problems)
        return error.problems
    assert ticket.job.roster.is_file()
    return ()


@functools.cache
def parsed(value):
    """Give the values, none or one, that TOML reads where a value is written."""
    try:
        return (tomllib.loads(f"a = {value}")["a"],)
    except (ValueError, RecursionError):
        return ()


def takes(rules, value, folder):
    """Tell whether a key with such rules takes a value by itself; anything but that or a refusal fails."""
    try:
        read_value(value, rules, folder)
    except ValueError as error:
        assert 0 < len(str(error)) < 2000
        return False
    return True


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_every_key_with_every_hostile_value(folder, table, key):
    """What a key takes goes on to the checks, in a ticket; what it refuses goes no farther, so one key of each kind is
    given all of that in tickets, and each other key one."""
    where, rules = "stock 1" if table == "stock" else table, RULES[table, key]
    taken = [value for value in HOSTILE for read in parsed(value) if takes(rules, read, folder)]
    refused = [value for value in HOSTILE if value not in taken]
    assert len(refused) > len(HOSTILE) // 2
    alone = next(own for own in KEYS if RULES[own]["kind"] == rules["kind"]) == (table, key)
    for value in (*taken, *(refused if alone else refused[:1])):
        problems = refusal_of(folder, ticket_with(table, key, value))
        assert problems or value in taken, value[:60]
        named = any(f"{where}.{key}" in p or f"{key} " in p or where in p or "nested too deep" in p for p in problems)
        assert named or not problems or "not valid TOML" in problems[0], (value[:60], problems)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(KEYS), st.sampled_from(HOSTILE)), min_size=2, max_size=6))
def test_several_hostile_values_at_once(folder, changes):
    tables = {name: dict(PLAIN.get(name, {})) for name in RECORDS}
    for (table, key), value in changes:
        tables[table][key] = value
    text = "\n".join(
        f"{'[[stock]]' if name == 'stock' else f'[{name}]'}\n" + "".join(f"{k} = {v}\n" for k, v in keys.items())
        for name, keys in tables.items()
    )
    refusal_of(folder, text)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("a = " + "[" * 100_000, "nested too deep"),
        ("a = " + "{b = " * 100_000, "nested too deep"),
        ("a" + ".a" * 400_000 + " = 1", "more than 2000 dots"),
        ("1" + ".1" * 400_000 + " = 1", "more than 2000 dots"),
        ('"x"' + '."x"' * 200_000 + " = 1", "more than 2000 dots"),
        ("[" + "a." * 400_000 + "a]", "more than 2000 dots"),
        ("".join(f"a1.1a{n} = 1\n" for n in range(3000)), "more than 2000 dots"),
        ("\n".join(f"[t{n}]" for n in range(20_000)), "unknown table"),
        ("[job]\n" + "\n".join(f"k{n} = 1" for n in range(20_000)), "unknown key"),
        ("[[stock]]\n" * 20_000, "20000 tables; expected at most 200"),
        ("[" + "x" * 500_000 + "]", "unknown table"),
        ('title = "' + "\\\\" * 400_000, "not valid TOML"),
        (b"\xff\xfe[\0", "is not UTF-8"),
        (b"a = '\xed\xa0\x80'", "is not UTF-8"),
        ('a = "\\ud800"', "a backslash has a meaning of its own"),
    ],
)
def test_a_ticket_of_any_form_ends_in_a_sentence(folder, text, part):
    assert any(part in p for p in refusal_of(folder, text))


def test_a_list_of_many_corners_is_no_key_of_many_parts(folder):
    corners = ", ".join(f"[{n}.25, {n * n % 97}.5]" for n in range(1900))
    assert refusal_of(folder, ticket_with("stock", "outline", f"[{corners}]")) == ()


@pytest.mark.skipif(sys.platform == "win32", reason="these devices are those of Linux and macOS")
def test_what_is_no_ordinary_file_is_no_ticket_and_no_list(folder):
    for name in ("pipe.csv", "loop.csv", "/dev/zero"):
        with pytest.raises(NameplateError):
            read_ticket(folder / name)
        assert any("job.roster" in p for p in refusal_of(folder, ticket_with("job", "roster", f'"{name}"')))


# the command line (which no system lets hold a NUL)

ARGUMENTS = [
    "", " ", "x", "ellipse", "ellipse:", "ellipse:110", "ellipse:nanxnan", "ellipse:1e5x2", "ellipse:infxinf",
    "circle:1/0", ":", "x" * 5000, "ellipse:" + " " * 5000 + "x", "ellipse:1" + " " * 5000 + "1x1",
    "ellipse:" + "9" * 5000 + "x1", "circle:" + "1x" * 3000, "ellipse:110x80x", "ellipse:99999x99999",
    "~nosuchuser/face.svg", "n" * 300 + ".svg", "caf\udce9.svg", "\udcff", "600 x" + " x" * 4000,
    "\u0663\u0663x\u0663", "1mmx1mmx1mm", "5x5\n", "5x5\udcff", "loop.svg", "/dev/zero.svg", "~nosuchuser/x.ttf",
    "x/" * 3000, "/dev/zero", "NUL", "-1x-1", "0x0", "1/2x1/0", "1 1/2 1/2x3", '"x"', "px x px", "pxxpx",
]  # fmt: skip


@pytest.fixture(scope="module")
def names(tmp_path_factory):
    path = tmp_path_factory.mktemp("list") / "names.csv"
    path.write_text("name\n\n\u05e9\n", encoding="utf-8")  # refused, so that a good argument costs no time
    return path


@pytest.mark.parametrize("option", ["--face", "--sheet", "--font", "-o", "--workers", "SOURCE", "--web"])
def test_no_argument_of_any_form_is_a_fault_of_the_program(names, tmp_path, monkeypatch, option):
    monkeypatch.chdir(tmp_path)
    for value in ARGUMENTS:
        given_ = {"--face": "ellipse:110x80", "--sheet": "600x300", "-o": str(tmp_path / "out"), "--workers": "1"}
        source = value if option == "SOURCE" else str(names)
        if option not in ("SOURCE", "--web"):
            given_[option] = value
        words = ["make", source, *(w for pair in given_.items() for w in pair)]
        if option == "--web":
            words = ["fonts", "--web", value]
        result = CliRunner().invoke(main, words)
        assert result.exit_code in (0, 1, 2), (option, value[:60], result.exit_code, result.output[-400:])
        assert result.exit_code != EXIT_FAULT
        assert len(result.output) < 20_000
