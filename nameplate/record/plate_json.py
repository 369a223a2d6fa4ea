"""A plate as a record keeps it: its order, its lettering, its parts with their outlines, and what must drop into what.

Outlines are rounded to `packing.STEP`, a thousandth of a millimetre, as in the record of an out folder. What was found
about a plate is not kept: it is cut, and nothing of it is left to decide.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TypeVar, cast

from msgspec import convert, to_builtins

from nameplate.cut.expectation import DropIn
from nameplate.cut.nominal_file import drop_in_document
from nameplate.cut.packing import pack, pack_region, unpack, unpack_region
from nameplate.cut.read_nominal import drop_in_from
from nameplate.errors import RecordError
from nameplate.geometry.region import Region
from nameplate.model import Lettering, Order, Part, Plate
from nameplate.system.shelf import changed
from nameplate.system.writing import Json

C = TypeVar("C")

#: The largest plate that is read (bytes, unpacked): a hundred times a name of forty letters.
LARGEST = 50_000_000


@dataclass(frozen=True, slots=True)
class KeptPlate:
    """A plate as it was made; `drawn` is its jig's part where that is only drawn, `drop_ins` what must fit in it."""

    plate: Plate
    drawn: Part | None = None
    drop_ins: tuple[DropIn, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptParts:
    """Parts that a batch shares, as they were made, and what must drop into them."""

    parts: tuple[Part, ...]
    drop_ins: tuple[DropIn, ...] = ()


def parts_of(parts: Iterable[Part]) -> tuple[tuple[str, int], ...]:
    """Name parts by their kind and layer."""
    return tuple((part.kind, part.layer) for part in parts)


def packed_plate(kept: KeptPlate) -> bytes:
    """Pack a plate that has a lettering."""
    plate = kept.plate
    assert plate.lettering is not None
    return compressed(
        {
            "order": _document(plate.order),
            "lettering": _document(plate.lettering),
            "parts": list(map(_part_document, plate.parts)),
            "jig": plate.jig,
            "drawn": None if kept.drawn is None else _part_document(kept.drawn),
            "drop_ins": list(map(drop_in_document, kept.drop_ins)),
        }
    )


def packed_parts(kept: KeptParts) -> bytes:
    """Pack what a batch shares."""
    parts, drop_ins = map(_part_document, kept.parts), map(drop_in_document, kept.drop_ins)
    return compressed({"parts": list(parts), "drop_ins": list(drop_ins)})


def unpacked_plate(data: bytes, *, name: str) -> KeptPlate:
    """Unpack a plate; raises RecordError with a sentence about `name` when the bytes are no plate."""
    with whole(name):
        document = spread(data)
        order, lettering = _of(Order, document["order"]), _of(Lettering, document["lettering"])
        parts, drop_ins = _parts_in(document)
        drawn = None if document["drawn"] is None else _part(document["drawn"])
        return KeptPlate(Plate(order, lettering, parts, jig=dict(document["jig"])), drawn, drop_ins)


def unpacked_parts(data: bytes, *, name: str) -> KeptParts:
    """Unpack what a batch shares; raises RecordError with a sentence about `name` when the bytes are none."""
    with whole(name):
        return KeptParts(*_parts_in(spread(data)))


@contextmanager
def whole(name: str) -> Iterator[None]:
    """Turn what reading a document of another form raises into a sentence about what `name` is the record of.

    Raises RecordError.
    """
    try:
        yield
    except (KeyError, TypeError, ValueError, IndexError, AttributeError) as error:
        raise RecordError(f"the record of {name} is damaged ({error}); put back a copy of the record") from error


def _parts_in(document: Json) -> tuple[tuple[Part, ...], tuple[DropIn, ...]]:
    return tuple(map(_part, document["parts"])), tuple(map(drop_in_from, document["drop_ins"]))


def compressed(document: Json) -> bytes:
    """Write a document as JSON, deflated (RFC 1950)."""
    return zlib.compress(json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode("utf-8"), 9)


def spread(data: bytes) -> Json:
    """Read such a document; raises ValueError for bytes that are none."""
    opened = zlib.decompressobj()
    try:
        text = opened.decompress(data, LARGEST)
    except zlib.error as error:
        raise ValueError(str(error)) from error
    if not opened.eof:
        raise ValueError("it is cut short, or too long")
    document = json.loads(text)
    if not isinstance(document, dict):
        raise ValueError("a table is expected")
    return document


# --- fields ---------------------------------------------------------------------------------------------------------


def _document(value: object) -> Json:
    """Write a value as a JSON table of its fields, outlines packed, numbers of arrays as what they are."""

    def packed(own: object) -> object:
        return pack_region(own) if isinstance(own, Region) else float(cast(float, own))

    document: Json = to_builtins(value, enc_hook=packed)
    return document


def _of(kind: type[C], document: object) -> C:
    """Read such a table; raises ValueError where a field is not what it should be. What is unknown is left out."""
    return convert(document, kind, dec_hook=lambda own, value: unpack_region(value) if own is Region else value)


def _part_document(part: Part) -> Json:
    return {**_document(changed(part, marks=())), "marks": pack(part.marks)}


def _part(document: Json) -> Part:
    return _of(Part, {**document, "marks": unpack(document["marks"])})
