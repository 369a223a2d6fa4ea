"""Which headings mean what: the columns of a roster by the names that people give them, in a few languages.

A heading is compared by its key: small letters without accents, spaces, hyphens, colons and the like. Names may stand
in one column, or in one for first and one for last names, which are joined.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from nameplate.plain_letters import unaccented
from nameplate.roster.characters import clean

#: The headings that mean something, as they are documented.
COLUMNS: tuple[str, ...] = (
    "name",
    "id",
    "copies",
    "line2",
    "font",
    "position",
    "size",
    "mount",
    "dx",
    "dy",
    "hold",
    "design",
)

#: The column that means something only where there is something to choose.
CHOICE = "design"

#: What else people call these columns. A column's own name goes before them.
OTHER_HEADINGS: dict[str, frozenset[str]] = {
    "copies": frozenset({"qty", "quantity", "count", "anzahl", "menge", "quantite", "cantidad", "quantita", "aantal"}),
    "line2": frozenset({"secondline", "2ndline", "zweitezeile", "deuxiemeligne", "segundalinea", "secondariga"}),
    "font": frozenset({"typeface"}),
    "hold": frozenset({"onhold", "held"}),
    "design": frozenset({"tier"}),
}

#: Headings of a column that holds whole names, unless it is one of a pair.
WHOLE = frozenset(
    {"name", "names", "fullname", "wholename", "displayname", "vollername", "vollname", "nomcomplet", "prenometnom"}
    | {"nom", "nombre", "nome", "naam", "navn", "namn", "nimi", "nombrecompleto", "nombreyapellidos", "nomecompleto"}
    | {"nomeecognome", "volledigenaam", "kokonimi", "imieinazwisko", "jmeno", "jmenoaprijmeni"}
)

#: First and last names, language by language: what is a whole name alone ("nom") is half of one beside its partner.
PAIRS: tuple[tuple[frozenset[str], frozenset[str]], ...] = (
    (
        frozenset({"firstname", "givenname", "forename", "first"}),
        frozenset({"lastname", "surname", "familyname", "last"}),
    ),
    (frozenset({"vorname"}), frozenset({"nachname", "familienname", "zuname", "name"})),
    (frozenset({"prenom"}), frozenset({"nom", "nomdefamille"})),
    (frozenset({"nombre", "nombres"}), frozenset({"apellido", "apellidos"})),
    (frozenset({"nome"}), frozenset({"cognome", "sobrenome", "apelido"})),
    (frozenset({"voornaam"}), frozenset({"achternaam", "familienaam", "naam"})),
    (frozenset({"fornavn"}), frozenset({"efternavn", "etternavn", "navn"})),
    (frozenset({"fornamn"}), frozenset({"efternamn", "namn"})),
    (frozenset({"etunimi"}), frozenset({"sukunimi", "nimi"})),
    (frozenset({"imie"}), frozenset({"nazwisko"})),
    (frozenset({"jmeno"}), frozenset({"prijmeni"})),
    (frozenset({"ad", "adi"}), frozenset({"soyad", "soyadi"})),
)

#: What stands between first and last name where there is such a column.
MIDDLE = frozenset({"middlename", "middlenames", "middle", "middleinitial", "tussenvoegsel", "zweitervorname"})

#: Half names that are taken for names where their column stands alone.
_HALVES = frozenset(key for pair in PAIRS for keys in pair for key in keys) - WHOLE - {"first", "last", "ad", "adi"}


def heading_key(heading: str) -> str:
    """Return a heading for comparison: no case, accents, spaces, underscores, hyphens, colons, stops or asterisks.

    >>> heading_key(" Line_2 "), heading_key("Prénom*"), heading_key("")
    ('line2', 'prenom', '')
    """
    return unaccented(re.sub(r"[\s_\-:.*]+", "", clean(heading).text).casefold())


def name_options(keys: Sequence[str]) -> list[tuple[int, ...]]:
    """Return every way to take the names from columns with these keys: each as the columns to join, in their order.

    >>> name_options(["id", "name"]), name_options(["nom", "prenom"]), name_options(["tree"])
    ([(1,)], [(1, 0)], [])
    >>> name_options(["fullname", "firstname", "middlename", "lastname"])
    [(1, 2, 3), (0,)]
    """
    middle = _where(keys, MIDDLE)[:1]
    pairs = [(a, *middle, b) for first, last in PAIRS for a in _where(keys, first) for b in _where(keys, last)]
    taken = {at for pair in pairs for at in pair}
    alone = [(at,) for at, key in enumerate(keys) if at not in taken and (key in WHOLE or key in _HALVES)]
    return [*pairs, *alone]


def _where(keys: Sequence[str], meant: Collection[str]) -> list[int]:
    return [at for at, key in enumerate(keys) if key in meant]


def columns_called(column: str, keys: Sequence[str]) -> list[int]:
    """Return where a column other than the name may be: by its own name, else by what people also call it.

    >>> columns_called("copies", ["name", "qty"]), columns_called("copies", ["count", "copies"])
    ([1], [1])
    """
    return _where(keys, {column}) or _where(keys, OTHER_HEADINGS.get(column, ()))


def meaning_of(heading: str) -> str:
    """Return the column that a heading means by itself, empty where it means none.

    >>> meaning_of("Tier"), meaning_of("dx"), meaning_of("vorname"), meaning_of("tree")
    ('design', 'dx', 'name', '')
    """
    key = heading_key(heading)
    named = "name" if name_options([key]) else ""
    return next((column for column in COLUMNS if columns_called(column, [key])), named)


def known_headings(cells: Sequence[str]) -> int:
    """Count the cells of a row that are headings, of which at least one is for names; 0 where none is.

    >>> known_headings(["Name", "Qty", "tree"]), known_headings(["Our sponsors", "Qty"])
    (2, 0)
    """
    keys = [heading_key(c) for c in cells]
    names = {at for option in name_options(keys) for at in option}
    others = {at for column in COLUMNS if column != "name" for at in columns_called(column, keys)}
    return len(names | others) if names else 0
