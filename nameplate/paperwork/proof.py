"""The proof: every name as typed beside the name as made, to be signed off before anything is cut.

Pages are laid out here, not by the browser, so that each is one sheet of A4 or Letter and carries its number.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.model import Face, Plate
from nameplate.paperwork.pages import by_design, in_groups, render
from nameplate.paperwork.pictures import PlatePictures, backing_of, plate_pictures

#: Cards on a page: two columns of four, each 91 x 56 mm.
CARDS_A_PAGE = 8

#: The box on a card that the picture of the plate fills (mm).
PICTURE_BOX = (44.0, 31.0)

#: Room on a card for findings beside the picture, in lines and letters; what does not fit is told on the last pages.
_CARD_LINES = 8
_CARD_LETTERS = 26

#: The same for a page of the list of findings.
_LIST_LINES = 50
_LIST_LETTERS = 95

_MARKS = {"error": "not made", "warning": "look", "note": "note"}


@dataclass(frozen=True, slots=True)
class Card:
    """What one card of the proof shows. ``picture`` is safe SVG, or None for a row that could not be made."""

    id: str
    row: int
    name: str
    line2: str
    copies: int
    position: str
    picture: object
    figures: str
    findings: tuple[tuple[str, str], ...]
    more: int
    hold: bool = False


def proof_html(
    plates: Sequence[Plate], faces: Mapping[str, Face], findings: Sequence[Finding], *, title: str
) -> Iterator[str]:
    """Give, piece by piece, the sign-off sheet of a job as HTML that prints on A4 and on Letter.

    ``faces`` are by design; each design has pages of its own. Rows on hold have a card that says so. ``findings`` are
    all of the job; those of a row stand on its card, and all stand on the pages at the end.
    """
    draw = {name: plate_pictures(face, width=PICTURE_BOX[0], height=PICTURE_BOX[1]) for name, face in faces.items()}
    by_row = _by_row(findings)
    groups = by_design(plates, faces)
    pages = [(heading, page) for heading, own in groups for page in in_groups(own, CARDS_A_PAGE)]
    lists = _list_pages(findings)
    values = {
        "title": title,
        "pages": ((about, [_card(p, draw, by_row.get(p.order.row, [])) for p in page]) for about, page in pages),
        "page_count": len(pages),
        "lists": lists,
        "total": len(pages) + len(lists),
        "made": sum(p.lettering is not None for p in plates),
        "names": sum(not p.order.hold for p in plates),
        "held": sum(p.order.hold for p in plates),
        "marks": _MARKS,
    }
    return render("proof.html", values)


def _card(plate: Plate, draw: Mapping[str, PlatePictures], findings: Sequence[Finding]) -> Card:
    from markupsafe import Markup

    order, lettering = plate.order, plate.lettering
    shown, more = _fitting(tuple(dict.fromkeys((*findings, *plate.findings))))
    picture = None
    figures = ""
    if lettering is not None:
        picture = Markup(draw[order.design].of(lettering, order.name, backing=backing_of(plate)))
        figures = f"capitals {lettering.letter_height:.1f} mm high"
    return Card(
        id=order.id,
        row=order.row,
        name=order.name,
        line2=order.line2,
        copies=order.copies,
        position=order.position,
        picture=picture,
        figures=figures,
        findings=shown,
        more=more,
        hold=order.hold,
    )


def _by_row(findings: Sequence[Finding]) -> dict[int, list[Finding]]:
    rows: dict[int, list[Finding]] = {}
    for finding in findings:
        if finding.row is not None:
            rows.setdefault(finding.row, []).append(finding)
    return rows


def _fitting(findings: Sequence[Finding]) -> tuple[tuple[tuple[str, str], ...], int]:
    """Return the findings that fit a card, the last one cut short when it alone is too long, and how many do not."""
    shown: list[tuple[str, str]] = []
    room = _CARD_LINES
    for finding in findings:
        lines = math.ceil((len(finding.message) + 9) / _CARD_LETTERS)
        if lines > room and shown:
            break
        letters = room * _CARD_LETTERS - 12
        text = finding.message if lines <= room else finding.message[:letters] + "…"
        shown.append((finding.severity, text))
        room -= min(lines, room)
        if room <= 0:
            break
    return tuple(shown), len(findings) - len(shown)


def _list_pages(findings: Sequence[Finding]) -> tuple[tuple[Finding, ...], ...]:
    """Share all findings out to pages by the lines they need."""
    pages: list[list[Finding]] = []
    room = 0
    for finding in findings:
        lines = math.ceil((len(finding.message) + 30) / _LIST_LETTERS)
        if lines > room:
            pages.append([])
            room = _LIST_LINES
        pages[-1].append(finding)
        room -= lines
    return tuple(tuple(page) for page in pages)
