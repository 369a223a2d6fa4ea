"""The room where the ticket is read and changed, table by table; all in it is what the schema says of the keys."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError, TicketError
from nameplate.findings import brief
from nameplate.page.answers import STALE, Form, page, to
from nameplate.page.history import StaleError
from nameplate.page.opened import unless_wrong
from nameplate.page.studio import Studio
from nameplate.page.versions import version_of
from nameplate.roster.rules import quoted
from nameplate.system.reading import shown
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.designs import LAID_OVER
from nameplate.ticket.explain import Entry, ToldTable, tables, toml_value
from nameplate.ticket.materials import needed_materials
from nameplate.ticket.schema import Ticket
from nameplate.ticket.starter import first_keys
from nameplate.ticket.tables import document_of, read_file
from nameplate.ticket.toml_edit import Place, heading_of, spelt, value_at
from nameplate.ticket.words import show
from nameplate.ticket.workshop import NO_WORKSHOP, own_shop, read_workshop
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MATERIALS, MaterialKeys
from nameplate.typesetting.fonts import bundled_fonts

#: Kinds of values that are texts, whatever is typed; all others are read as the ticket spells them where they can be.
TEXTS = frozenset({"choice", "colour", "material", "path", "text", "title", "wording"})

#: A decimal comma. One before three digits may part thousands, and is not read.
_COMMA = re.compile(r"(?<=\d),(?=\d+$)(?!\d{3}$)")

#: The tables that a design has, its own first.
OF_DESIGN = ("design", *LAID_OVER, "line")

#: Most characters of what an undo would undo.
LONGEST_SAID = 80


@dataclass(frozen=True, slots=True)
class KeyField:
    """A key on the page: what is told of it, its name in messages (`stock 2.price`), what can be chosen (empty: it is
    typed), what the ticket `has` and what the form holds, what it is as it `comes`, and whether it is seen `first`."""

    entry: Entry
    name: str
    choices: tuple[str, ...]
    has: tuple[str, ...]
    holds: tuple[str, ...]
    comes: str
    first: bool


@dataclass(frozen=True, slots=True)
class TableFields:
    """A table on the page: where it stands, what messages call it, its keys; whether it is one `more` of a list."""

    place: Place
    name: str
    keys: tuple[KeyField, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class Section:
    """Tables that have the same keys: the word for them, their heading, what they are about."""

    word: str
    heading: str
    about: str
    tables: tuple[TableFields, ...]


def settings(studio: Studio, request: Request, form: Form) -> Response:
    """Show what the ticket says, of the job or of a design, and change it; undo."""
    if request.method != "POST":
        return _settings(studio, request.query_params.get("design", ""))
    design = form.one("design")
    called = "" if form.one("do") == "undo" else form.one("called").strip()
    try:
        if form.one("do") == "undo":
            studio.ticket_editor.undo(form.one("version"))
        else:
            _change(studio, design, form, called)
    except StaleError as error:  # what was typed was meant for another ticket
        return _settings(studio, design, problems=error.problems, status=STALE)
    except NameplateError as error:
        return _settings(studio, design, problems=error.problems, typed=form, status=422)
    shown_next = called or design
    return to(f"/settings?{urlencode({'design': shown_next})}" if shown_next else "/settings")


def _change(studio: Studio, design: str, form: Form, called: str) -> None:
    """Write what was changed; with a name that a design is `called` also this, which looks as the job does at first."""
    document, ticket, _ = _read(studio, read_file(studio.job.ticket_file))
    sections = _Reader(document, ticket, design, form, first_keys()).sections()
    changes: dict[Place, dict[str, Any]] = {}
    said: list[str] = []
    gone: Place = ()
    for table in (table for section in sections for table in section.tables):
        for key in (key for key in table.keys if key.holds != key.has):
            value = changes.setdefault(table.place, {})[key.entry.key] = _value(key.entry.kind, key.holds)
            said.append(f"{key.name} left out" if value is None else f"{key.name} = {show(value)}")
        if table.name == form.one("gone"):
            gone = table.place
            said.append(f"{table.name} taken out")
    new: Place = ("design", called) if called else ()
    if called or form.one("do") == "design":
        if not called or called in (value_at(document, ("design",)) or ()):
            told = f"there is a design {quoted(called)} already" if called else "what is the new design called?"
            raise TicketError(f"nothing was written: {told}")
        said.append(f"design {called} added")
    what = brief(", ".join(said), LONGEST_SAID)
    studio.ticket_editor.write(form.one("version"), changes, what, gone=gone, new=new)


def _value(kind: str, texts: Sequence[str]) -> Any:  # noqa: ANN401 - whatever the ticket is to have
    """Give what stands in a ticket for what was typed; None for nothing.

    >>> _value("length", ["3"]), _value("length", ["3 mm"]), _value("title", ["3"]), _value("turns", ["[0, 90]"])
    (3, '3 mm', '3', [0, 90])
    >>> _value("choices", ["svg", "dxf"]), _value("flag", ["true"]), _value("count", [])
    (['svg', 'dxf'], True, None)
    >>> _value("number", ["0,5"]), _value("number", ["£21.50"]), _value("number", ["1,500"])
    (0.5, 21.5, '1,500')
    """
    if kind == "choices" or not texts:
        return list(texts) or None
    if kind in TEXTS:
        return texts[0]
    spelt_out = _as_number(texts[0]) if kind == "number" else texts[0]
    try:
        document, _ = document_of(f"x = {spelt_out}".encode(), "")
    except TicketError:
        return texts[0]
    is_one = len(document) == 1 and document["x"] == document["x"]  # and no NaN, which no reader takes
    return document["x"] if is_one else texts[0]


def _as_number(text: str) -> str:
    """Spell a number as a ticket does: without the sign of a currency, with a point for a decimal comma.

    >>> _as_number("21,50 €"), _as_number("-0,25"), _as_number("a,5")
    ('21.50', '-0.25', 'a,5')
    """
    return _COMMA.sub(".", "".join(sign for sign in text if unicodedata.category(sign) != "Sc").strip())


# --- what is shown --------------------------------------------------------------------------------------------------


def _read(studio: Studio, data: bytes) -> tuple[dict[str, Any], Ticket, list[str]]:
    """Give the document of a ticket, what it says, what is wrong with that; raises TicketError for what is no TOML."""
    problems: list[str] = []
    document, _ = document_of(data, studio.job.ticket_file.name)
    return document, unless_wrong(lambda: studio.job.ticket(data), Ticket(), problems), problems


def _settings(
    studio: Studio, design: str, *, problems: Sequence[str] = (), typed: Form | None = None, status: int = 200
) -> Response:
    data, file = read_file(studio.job.ticket_file), studio.job.ticket_file.name
    document, ticket, wrong = _read(studio, data)
    named = document.get("design")
    designs = list(named) if isinstance(named, dict) else []
    own = design if design in designs else ""
    sections = _Reader(document, ticket, own, typed or Form(), first_keys()).sections()
    beside = _beside(file, sections, problems or wrong)
    general = beside.pop("", [])
    if beside:
        general.insert(0, f"{'nothing was written; ' if typed else ''}to be put right, below: {', '.join(beside)}")
    sheets = document.get("stock")
    values = {
        "version": version_of(data),
        "ticket_file": file,
        "designs": ["", *designs],
        "design": own,
        "sections": sections,
        "fonts": [info.name for info in bundled_fonts()],
        "beside": beside,
        "problems": general,
        "typed": typed is not None,
        "called": typed.one("called") if typed else "",
        **_other_sheets(studio, ticket, len(sheets) if isinstance(sheets, list) else 0),
        "undo": studio.ticket_editor.last,
    }
    return page(studio, "settings.html", values, at="/settings", status=status)


def _other_sheets(studio: Studio, ticket: Ticket, own: int) -> Mapping[str, object]:
    """Give the sheets behind the ticket's ``own``: those of the workshop's file, with its name and where it lies from
    the ticket, and those that are assumed."""
    path = ticket.job.shop or own_shop()
    stock = unless_wrong(lambda: read_workshop(path), NO_WORKSHOP).stock
    of_shop = [sheet for sheet in ticket.stock[own:] if sheet in stock]
    assumed = [sheet for sheet in ticket.stock[own:] if sheet not in stock]
    told: dict[str, object] = {"of_shop": of_shop, "assumed": assumed}
    if path is not None:
        folder, whole = studio.job.folder, Path(os.path.normpath(path))
        lies = whole.relative_to(folder) if whole.is_relative_to(folder) else whole
        told |= {"shop_file": shown(Path(path.name)), "shop_path": shown(lies)}
    return told


def _beside(file: str, sections: Iterable[Section], problems: Iterable[str]) -> dict[str, list[str]]:
    """Sort problems by the key that they name, one that was changed before all others; of none they are of ""."""
    keys = [key for section in sections for table in section.tables for key in table.keys]
    names = [key.name for key in sorted(keys, key=lambda key: key.holds == key.has)]
    beside: dict[str, list[str]] = {}
    for problem in problems:
        told = [name for name in names if name in problem]
        named = (name for name in told if re.search(rf"(?<![\w.]){re.escape(name)}(?!\w)", problem))
        if name := next(named, ""):  # its file is known, and its line that of what was not written
            problem = re.sub(rf"^{re.escape(file)}(, line \d+)?, ", "", problem)
        beside.setdefault(name, []).append(problem)
    return beside


@dataclass(frozen=True, slots=True)
class _Reader:
    """Gives the tables of a job, or of a design, as a document has them and as they were typed; ``ticket`` is what the
    document says, ``first`` are the keys that are seen first."""

    document: Mapping[str, Any]
    ticket: Ticket
    design: str
    typed: Form
    first: frozenset[str]

    def sections(self) -> list[Section]:
        """Give them in the order of a ticket."""
        told = tables()
        of_job = [own.name for own in fields(Ticket) if own.name in told and own.name != "design"]
        return [self._section(word, told[word]) for word in (OF_DESIGN if self.design else of_job)]

    def _section(self, word: str, told: ToldTable) -> Section:
        places = self._places(word)
        heading = told.heading if word == "material" else heading_of(places[0])
        return Section(word, heading, told.about, tuple(self._table(told, place) for place in places))

    def _places(self, word: str) -> list[Place]:
        """Give where the tables of a word stand; in a list of them also where the next would."""
        home: Place = ("design", self.design) if self.design else ()
        there = value_at(self.document, (*home, word))
        if word in ("line", "stock"):
            return [(*home, word, number) for number in range(len(there) + 1 if isinstance(there, list) else 1)]
        if word == "material":
            own = there if isinstance(there, dict) else ()
            return [(word, key) for key in dict.fromkeys((*MATERIALS, *self.ticket.material, *own))]
        return [home if word == "design" else (*home, word)]

    def _table(self, told: ToldTable, place: Place) -> TableFields:
        there = value_at(self.document, place)
        own = there if isinstance(there, dict) else {}
        is_idle = place[0] == "material" and not own and place[1] not in self._needed
        name = "".join(f" {part + 1}" if isinstance(part, int) else f".{part}" for part in place)[1:]
        keys = (
            self._field(entry, f"{name}.{entry.key}", own.get(entry.key), self._as_it_comes(entry, place), is_idle)
            for entry in told.entries
            if entry.kind not in ("table", "tables")
        )
        return TableFields(place, name, tuple(keys), isinstance(place[-1], int) and there is None)

    def _field(self, entry: Entry, name: str, value: object, comes: str, is_idle: bool) -> KeyField:
        values = value if entry.kind == "choices" and isinstance(value, list) else [] if value is None else [value]
        texts = [one.strip() if isinstance(one, str) else spelt(one) for one in values]
        known = {"flag": ("true", "false"), "material": tuple(self.ticket.material), "roles": ()}
        choices = known.get(entry.kind, entry.choices)
        choices = tuple(dict.fromkeys((*choices, *texts))) if choices else ()
        has = tuple(filter(None, [one for one in choices if one in texts] or texts))
        holds = tuple(filter(None, map(str.strip, self.typed.all(name)))) if name in self.typed else has
        is_first = value is not None or bool(holds) or (entry.name in self.first and not is_idle)
        return KeyField(entry, name, choices, has, holds, "" if has else comes, is_first)

    def _as_it_comes(self, entry: Entry, place: Place) -> str:
        """Say what a key is that the ticket leaves out: of a design the ticket's own, of a material the workshop's."""
        value = getattr(self._record(place), entry.key, None)
        if value is None or value in ((), "", {}):
            return entry.default.removeprefix("none: ").replace('""', "empty")
        text = value.name if isinstance(value, Path) else value if isinstance(value, str) else toml_value(value)
        return {"true": "yes", "false": "no"}.get(text, text)

    def _record(self, place: Place) -> object:
        """Give the values that a table has where the document does not say them; None for those of a list."""
        word = place[2] if len(place) > 2 else place[0]
        if isinstance(place[-1], int) or word == "design":
            return None
        if word == "material":
            key = str(place[1])
            return self.ticket.material.get(key) or DEFAULT_MATERIALS.get(key, MaterialKeys())
        return getattr(self.ticket.of(self.design if self.design in self.ticket.designs else ""), str(word))

    @property
    def _needed(self) -> frozenset[str]:
        return frozenset(key for one in tickets_of(self.ticket) for key in needed_materials(one))
