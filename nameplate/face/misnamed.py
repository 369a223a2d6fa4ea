"""Names in a ticket's roles that its drawing does not have, of a ticket that is refused for something else.

They are told by reading the drawing, which comes after the ticket: without this, a person who mends a ticket's other
mistakes would be told of them only then.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from nameplate.errors import TicketError
from nameplate.face.drawing.face_outline import traced
from nameplate.face.drawing.roles import not_drawn
from nameplate.system.reading import shown
from nameplate.ticket.keys import read_value
from nameplate.ticket.schema import FaceKeys
from nameplate.ticket.tables import document_of, read_file, rules_of


def misnamed_roles(ticket: Path) -> list[str]:
    """Say which names of roles there are not in the drawings that a ticket's faces name.

    What else is wrong with the ticket or its drawings is told where they are read, and nothing is raised for it.
    """
    try:
        document, _ = document_of(read_file(ticket), shown(Path(ticket.name)))
    except TicketError:
        return []
    return list(dict.fromkeys(text for face in _faces(document) for text in _problems(face, ticket.parent)))


def _faces(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Give the tables of a ticket that have a drawing and roles: the face, and those of its designs."""
    designs = document.get("design")
    owners = [document, *(designs.values() if isinstance(designs, dict) else ())]
    for owner in owners:
        face = owner.get("face") if isinstance(owner, dict) else None
        if isinstance(face, dict) and isinstance(face.get("roles"), dict) and "file" in face:
            yield face


def _problems(face: dict[str, Any], folder: Path) -> list[str]:
    try:
        file = read_value(face["file"], rules_of(FaceKeys)["file"], folder)
        return [f"{file.name}: {text}" for text in not_drawn(traced(file).traces, map(str.strip, face["roles"]))]
    except (ValueError, OSError):
        return []
