"""How a plate is to look, in plain values: what a customer signs, and by which a later change is found and told.

A *look* is a table from what is meant (in words, like `font` or `face width`) to its value as text. Keys of the ticket
stand in it only where they are not as a ticket without them has them, so that a key that is new in a later version
changes no look. Fonts of the program have their full names there, however they are written. Nothing about how a plate
is cut is in it: no kerf, no nest, no jig.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

from nameplate.errors import FaceError
from nameplate.face.drawing.xml_text import MOST_BYTES
from nameplate.model import Order, OrderedLine
from nameplate.system.digests import digest
from nameplate.system.reading import read_regular
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.materials import MOUNT_MATERIALS
from nameplate.ticket.schema import FaceKeys, Ticket
from nameplate.ticket.words import show
from nameplate.typesetting.fonts import bundled_fonts, full_name, load_font

#: What is meant, and its value as text.
Look: TypeAlias = Mapping[str, str]

#: Keys of [lettering] that an order has its own of, and one that changes nothing that can be seen.
_NOT_TOLD = ("font", "mount", "legibility")

#: What stands between fonts.
_AND = " and "

#: Digits of a file's digest that a look has: two files are the same by chance once in 10 to the 19.
_DIGITS = 16


def looks_to_sign(orders: Iterable[Order], ticket: Ticket) -> dict[str, Look]:
    """Give the look of each order by its id; raises FaceError or FontError when a drawing or a font cannot be read."""
    keys = cache(lambda design: dict(_of_design(ticket.of(design))))
    fonts = cache(lambda spec: dict(_of_font(spec, ticket.folder)))
    found: dict[str, Look] = {}
    for order in orders:
        own = ticket.of(order.design)
        files = {name: text for spec in order.every_font for name, text in fonts(spec).items()}
        materials = dict(_of_materials(own, order.mount))
        found[order.id] = {**dict(_of_order(order)), **keys(order.design), **materials, **files}
    return found


def look_digest(look: Look) -> str:
    """Give the digest of a look; the order of its values does not matter.

    >>> look_digest({"a": "1", "b": "2"}) == look_digest({"b": "2", "a": "1"})
    True
    """
    return digest(as_text(look).encode())


def as_text(look: Look) -> str:
    """Write a look as JSON."""
    return json.dumps(dict(look), ensure_ascii=False, sort_keys=True)


def changes(before: Look, after: Look) -> tuple[str, ...]:
    """Say what changed from one look to another, one thing each; what is not in a look was as usual.

    >>> changes({"text": "Wren", "font": "Pacifico"}, {"text": "Wrenn", "font": "Pacifico", "size": "20"})
    ('text: Wren -> Wrenn', 'size: as usual -> 20')
    """
    return tuple(
        f"{name}: another file"
        if name.endswith(" file") and name in before and name in after
        else f"{name}: {before.get(name, 'as usual')} -> {after.get(name, 'as usual')}"
        for name in dict.fromkeys((*after, *before))
        if before.get(name) != after.get(name)
    )


def as_written_now(look: Look) -> Look:
    """Give a look of an older record as it is written now: fonts by their full names.

    >>> as_written_now({"text": "Wren", "line 1 font": "Playpen Sans and own.ttf"})
    {'text': 'Wren', 'line 1 font': 'Playpen Sans ExtraBold and own.ttf'}
    """
    return {name: _named(text.split(_AND)) if name.endswith("font") else text for name, text in look.items()}


def _named(fonts: Iterable[str]) -> str:
    return _AND.join(map(full_name, fonts))


def _of_order(order: Order) -> Iterator[tuple[str, str]]:
    yield "text", " / ".join(order.texts)
    if len(order.lines) > 1:
        yield "broken", " | ".join(order.lines)
    if order.design:
        yield "design", order.design
    yield "mount", order.mount
    yield "font", _named(order.fonts)
    for name in ("size", "dx", "dy"):
        if value := getattr(order, name):
            yield name, f"{value:g}"
    for number, line in enumerate(order.styled, 1):
        yield f"line {number} font", _named(line.fonts)
        yield from _set(f"line {number}", line, OrderedLine("", ()), ("text", "fonts", "breaks", "column"))


def _of_design(own: Ticket) -> Iterator[tuple[str, str]]:
    """Give what the tables of a design say of the look, where they say something else than nothing."""
    yield from _set("face", own.face, FaceKeys(), ("file",))
    yield from _set("lettering", own.lettering, LetteringKeys(), _NOT_TOLD)
    if own.face.file is not None:
        data = read_regular(own.face.file, MOST_BYTES, FaceError, what="a drawing of the face")
        yield "face file", digest(data)[:_DIGITS]


def _set(table: str, keys: Any, usual: Any, but: tuple[str, ...]) -> Iterator[tuple[str, str]]:  # noqa: ANN401 - records of keys
    for spec in fields(keys):
        value = getattr(keys, spec.name)
        if spec.name not in but and value != getattr(usual, spec.name):
            yield f"{table} {spec.name}", _shown(value)


def _of_materials(own: Ticket, mount: str) -> Iterator[tuple[str, str]]:
    """Give the materials that are seen: what the mount takes, and the plaque's."""
    own_roles = MOUNT_MATERIALS.get(mount, ())
    for role in dict.fromkeys((*own_roles, "blank")) if own_roles else ():
        material = own.material.get(own.key_of(role))
        if material is not None:
            colour = f", {material.colour}" if material.colour else ""
            yield f"material of {role}", f"{material.name}, {material.thickness:g} mm{colour}"


def _of_font(spec: str, folder: Path) -> Iterator[tuple[str, str]]:
    """Give the digest of a font of the user's; the program's own are known by their names."""
    path = load_font(spec, folder).path
    if path not in {info.path for info in bundled_fonts()}:
        yield f"{path.name} file", digest(path.read_bytes())[:_DIGITS]


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else value if isinstance(value, str) else show(value)
