"""The workshop file: materials, stock and the laser's colours, kept once for all jobs. A ticket's own keys win."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nameplate.errors import TicketError
from nameplate.findings import brief
from nameplate.system.reading import shown
from nameplate.ticket.tables import TABLES, TableReader, document_of, keys_in, read_file, rules_of
from nameplate.ticket.values import is_key
from nameplate.ticket.words import closest
from nameplate.ticket.workshop_schema import (
    DEFAULT_MATERIALS,
    MATERIALS,
    ColourKeys,
    MachineKeys,
    MaterialKeys,
    StockKeys,
)

SHOP_NAME = "workshop.toml"

#: Names the folder of a user's own files in place of the system's usual one.
CONFIG_VARIABLE = "NAMEPLATE_CONFIG"

_KNOWN = ("machine", "material", "stock")


@dataclass(frozen=True, slots=True)
class Workshop:
    """What a workshop file says. ``file`` is its name for messages, ``keys`` are those it sets (`material.blank.kerf`).

    Without a file it is empty, and what a ticket leaves out takes its default.
    """

    file: str = ""
    material: Mapping[str, MaterialKeys] = field(default_factory=dict)
    stock: tuple[StockKeys, ...] = ()
    colours: ColourKeys = field(default_factory=ColourKeys)
    machine: MachineKeys = field(default_factory=MachineKeys)
    keys: frozenset[str] = frozenset()

    @property
    def remark(self) -> str:
        """What is said of a job that uses it."""
        return f"materials and stock that the ticket does not say itself are those of {self.file}"


#: No workshop file.
NO_WORKSHOP = Workshop()


def read_workshop(path: Path | None) -> Workshop:
    """Return what a workshop file says, nothing without one; raises TicketError with every problem found."""
    if path is None:
        return NO_WORKSHOP
    file = shown(Path(path.name))
    place = shown(path) if path == own_workshop() else file  # nobody has that one before their eyes
    what = "a workshop file"
    document, lines = document_of(read_file(path, what=what), place, what=what)
    reader = TableReader(place, path.parent, lines)
    used = _own_keys(document)
    material, stock = reader.materials(document, DEFAULT_MATERIALS, used=used), reader.stock(document, used=used)
    colours = reader.table(document, "machine.colours", ColourKeys())
    machine = reader.table({"machine": _own_machine(reader, document)}, "machine", MachineKeys())
    for name in document:
        if name in TABLES and name not in _KNOWN:
            hint = "[machine.colours] in a workshop file" if name == "colours" else "it belongs in a job ticket"
            reader.unknown(f"[{name}]", "table of a workshop file", hint)
        elif name not in _KNOWN:
            reader.unknown_table(name, document[name], _KNOWN)
    if reader.problems:
        raise TicketError(reader.problems)
    return Workshop(file, material, stock, colours, machine, keys_in(document))


def _own_machine(reader: TableReader, document: Mapping[str, Any]) -> object:
    """Return what stands in [machine] but its colours; a key that it does not know is told, and left out."""
    raw = document.get("machine", {})
    if not isinstance(raw, dict):
        return raw
    known = (*rules_of(MachineKeys), "colours")
    for key in raw:
        if key not in known:
            reader.unknown(f"machine.{brief(key)}", "key", reader.nearest(key, known))
    return {key: value for key, value in raw.items() if key in known[:-1]}


def _own_keys(document: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the keys of materials that a workshop file may have: those of all roles, and others that designs may use.

    One that is nearly a role's is a slip. Known limit: a slip of any other is found by the ticket that uses it.
    """
    raw = document.get("material", {})
    keys = raw if isinstance(raw, dict) else ()
    others = (key for key in keys if is_key(key) and not closest(key, MATERIALS))
    return tuple(dict.fromkeys((*MATERIALS, *others)))


def own_workshop() -> Path:
    """Return where the user's own workshop file is, or would be: in their configuration folder."""
    from platformdirs import user_config_dir

    return Path(os.environ.get(CONFIG_VARIABLE) or user_config_dir("nameplate", appauthor=False)) / SHOP_NAME


def own_shop() -> Path | None:
    """Return the user's own workshop file, where there is one."""
    own = own_workshop()
    return own if own.is_file() else None
