"""The list of plates in the record: which id has which text, and how each plate was to look, whenever that changed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeAlias

from nameplate.model import Order
from nameplate.record.ids import KnownPlate
from nameplate.record.look import Look, as_text, look_digest
from nameplate.record.store import Store
from nameplate.system.digests import digest

#: What the record keeps of one plate, by the names of its columns, and `look`, the look as JSON or nothing. Of a plate
#: that a row may be, which is asked about, only the `id`.
PlateEntry: TypeAlias = Mapping[str, Any]

_COLUMNS = ("id", "position", "name", "texts", "design", "text_digest", "look_digest", "listed", "cells")


def known_plates(store: Store | None) -> tuple[KnownPlate, ...]:
    """Give every plate that was ever in the list; without a record none. Raises RecordError."""
    if store is None:
        return ()
    rows = store.rows("SELECT id, listed, cells, position, current FROM plates ORDER BY position, id")
    return tuple(KnownPlate(r["id"], r["listed"], r["cells"], r["position"] if r["current"] else None) for r in rows)


def plate_entries(
    listed: Iterable[KnownPlate], waiting: Iterable[str], orders: Iterable[Order], looks: Mapping[str, Look]
) -> list[PlateEntry]:
    """Tell what is to be kept of the plates of a list; plates without a look cannot be made as the list has them."""
    by_id = {order.id: order for order in orders}
    own = [plate_entry(plate, by_id[plate.id], looks.get(plate.id)) for plate in listed if plate.id in by_id]
    there = {entry["id"] for entry in own}
    return [*own, *({"id": plate} for plate in waiting if plate not in there)]


def plate_entry(plate: KnownPlate, order: Order, look: Look | None = None) -> PlateEntry:
    """Tell what is to be kept of a plate as the list and its order have it; without a `look` it cannot be made so."""
    texts = json.dumps(order.texts, ensure_ascii=False)
    return {
        "id": plate.id,
        "position": plate.place or 0,
        "name": order.name,
        "texts": texts,
        "design": order.design,
        "text_digest": digest(texts.encode()),
        "look_digest": "" if look is None else look_digest(look),
        "listed": plate.text,
        "cells": plate.cells,
        "look": "" if look is None else as_text(look),
    }


def keep_plates(store: Store, entries: Sequence[PlateEntry], at: str) -> None:
    """Put the plates of a list into the record, within a transaction; those that are not in it left the list.

    `at` is the time that a new look has. Raises RecordError.
    """
    store.change("UPDATE plates SET current = 0")
    store.change_each("UPDATE plates SET current = 1 WHERE id = ?", [(entry["id"],) for entry in entries])
    whole = [entry for entry in entries if "cells" in entry]
    changes = ", ".join(f"{column} = excluded.{column}" for column in _COLUMNS[1:])
    store.change_each(
        f"INSERT INTO plates ({', '.join(_COLUMNS)}, current) VALUES ({'?, ' * len(_COLUMNS)}1) "
        f"ON CONFLICT (id) DO UPDATE SET {changes}, current = 1",
        [tuple(entry[column] for column in _COLUMNS) for entry in whole],
    )
    latest = {row["plate"]: row["digest"] for row in store.rows("SELECT plate, digest FROM looks ORDER BY id")}
    new = [e for e in whole if e["look"] and latest.get(e["id"]) != e["look_digest"]]
    looks = [(e["id"], e["look_digest"], e["look"], at) for e in new]
    store.change_each("INSERT INTO looks (plate, digest, look, at) VALUES (?, ?, ?, ?)", looks)


def keep_proof(store: Store, shown: Mapping[str, str], at: str) -> None:
    """Write down that a proof to be signed was made of some plates as they were last kept, within a transaction.

    By plate it is told what the proof shows of it, as JSON. Raises RecordError.
    """
    store.change_each(
        "UPDATE looks SET proof = ?, shown = ? WHERE id = (SELECT max(id) FROM looks WHERE plate = ?)",
        [(at, seen, plate) for plate, seen in shown.items()],
    )


def keep_corrected(store: Store, texts: Mapping[str, str]) -> None:
    """Put texts that the list is about to have into the record, within a transaction; raises RecordError.

    What else the record knows of the rows stays as the list has it by now, so that plates are found before and after.
    """
    store.change_each("UPDATE plates SET listed = ? WHERE id = ?", [(text, plate) for plate, text in texts.items()])
