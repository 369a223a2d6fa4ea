"""Reads a job ticket: its tables, what the workshop file adds to them, and whether they go together.

All problems are found in one go.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from nameplate.errors import TicketError
from nameplate.system.reading import shown
from nameplate.ticket.checks import check_ticket, complete_stock, tickets_of
from nameplate.ticket.designs import read_designs
from nameplate.ticket.materials import needed_materials
from nameplate.ticket.schema import JobKeys, Ticket
from nameplate.ticket.tables import OTHER_TABLES, TABLES, TableReader, document_of, keys_in, read_file
from nameplate.ticket.words import show
from nameplate.ticket.workshop import NO_WORKSHOP, Workshop, read_workshop
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MATERIALS


def read_ticket(path: Path, *, shop: Path | None = None, own: Path | None = None, data: bytes | None = None) -> Ticket:
    """Return the checked ticket of a TOML file, or of the bytes ``data`` that the file is to have.

    Lengths become millimetres; relative paths start at the ticket's folder; what the ticket leaves out and had to be
    filled in is listed in ``assumptions``. Materials and stock come from the workshop file ``shop``, else the ticket's
    own `[job] shop`, else the user's ``own``, where the ticket does not say them itself.

    Raises TicketError with every problem found.
    """
    file = shown(Path(path.name))
    document, lines = document_of(read_file(path) if data is None else data, file)
    reader = TableReader(file, path.parent, lines)
    for name in document:
        if name not in (*TABLES, *OTHER_TABLES):
            reader.unknown_table(name, document[name])
    job: JobKeys = reader.table(document, "job", JobKeys())
    if not job.title and job.roster is not None:  # what nobody wrote must not reach a customer
        job = dataclasses.replace(job, title=shown(Path(job.roster.stem)))
    workshop = _workshop(shop or job.shop or own, reader)
    bases: dict[str, Any] = {name: record() for name, record in TABLES.items() if name != "job"}
    bases |= {"colours": workshop.colours, "machine": workshop.machine}
    tables = {name: reader.table(document, name, base) for name, base in bases.items()}
    theirs = {**DEFAULT_MATERIALS, **workshop.material}
    written = document.get("material", {})
    own_lines = reader.line_tables(document.get("line", []))
    known = (*written, *theirs) if isinstance(written, dict) else theirs
    designs = read_designs(reader, document, {**tables, "line": own_lines}, known)
    used = tuple(dict.fromkeys((*MATERIALS, *(key for own in designs.values() for key in own.materials.values()))))
    ours = reader.materials(document, theirs, used=used)
    sheets = reader.stock(document, used=used)
    stocked = {sheet.material for sheet in sheets}  # of these the workshop's are left out
    ticket = Ticket(
        job=job,
        **tables,
        line=own_lines,
        material={key: ours.get(key) or theirs[key] for key in used if key in ours or key in theirs},
        stock=(*sheets, *(s for s in workshop.stock if s.material in used and s.material not in stocked)),
        folder=path.parent,
        designs=designs,
    )
    for keys, text in check_ticket(ticket, tainted=frozenset(reader.bad)):
        origin = _from_shop(keys, workshop, keys_in(document), len(sheets))
        reader.problems.append(f"{reader.place(*keys)}, {text}{origin}")
    if reader.problems:
        raise TicketError(reader.problems)
    return complete_stock(dataclasses.replace(ticket, assumptions=tuple(_assumed(ticket, ours, workshop))))


def _workshop(path: Path | None, reader: TableReader) -> Workshop:
    """Read the workshop file, if there is one; its problems are told with those of the ticket."""
    try:
        return read_workshop(path)
    except TicketError as error:
        reader.problems += error.problems
        reader.bad |= {"stock", "[[stock]]"}  # that none is there is no slip of the ticket
        return NO_WORKSHOP


def _from_shop(keys: Iterable[str], workshop: Workshop, own: frozenset[str], own_sheets: int) -> str:
    """Say which of some keys are from the workshop file: its sheets are counted after the ticket's own."""
    theirs = [key for key in keys if key in workshop.keys - own]
    for sheet in dict.fromkeys(key.partition(".")[0] for key in keys if key.startswith("stock ")):
        if int(sheet.removeprefix("stock ")) > own_sheets:
            theirs.append(sheet)
    return f" ({' and '.join(theirs)} from {workshop.file})" if theirs else ""


def _assumed(ticket: Ticket, own: Iterable[str], workshop: Workshop) -> Iterator[str]:
    """Say what of the materials that the ticket needs is not in it, and which of its values are of older tickets."""
    if workshop.file:
        yield workshop.remark
    needed = {key for one in tickets_of(ticket) for key in needed_materials(one)}
    missing = needed & set(DEFAULT_MATERIALS) - {*own, *workshop.material}
    taken = ((key, DEFAULT_MATERIALS[key]) for key in MATERIALS if key in missing)
    told = (f"[material.{key}] {m.name}, {m.thickness:g} mm, kerf {m.kerf.told()}" for key, m in taken)
    if missing:
        yield f"not in the ticket, and taken to be: {'; '.join(told)}"
    if (effort := ticket.nest.effort) != "quick":
        why = 'does what "quick" does: longer searches saved too little; leave the key out'
        yield f"[nest] effort = {show(effort)} {why}"
