"""The proof as a page for a browser, which finds names and prints.

Its pages are laid out by the program, not by the browser, so that each is one sheet of A4 or Letter and has its number.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace

from nameplate.model import Plate
from nameplate.paperwork.card_texts import CardTexts, Letters, texts_of
from nameplate.paperwork.pictures import PlatePictures, backing_of, plate_pictures
from nameplate.paperwork.proof import CHANGED_SIGN, COMPARE, GAP, PADDING, Card, CustomerProof, Grid, colours_of
from nameplate.system.html_pages import render, safe

#: The page's only script: a box and a tick that leave the plates which hold what is typed, and those to look at.
FILTER = """
const box = document.getElementById("find"), only = document.getElementById("only");
const said = document.getElementById("found"), cards = Array.from(document.querySelectorAll("article"));
const plain = text => text.normalize("NFD").replace(/\\p{M}/gu, "").toLowerCase();
const show = () => {
  const words = plain(box.value).split(/\\s+/), marked = only !== null && only.checked;
  const holds = card => words.every(word => plain(card.dataset.text).includes(word));
  const fits = card => (!marked || card.querySelector(".look")) && holds(card);
  cards.forEach(card => { card.hidden = !fits(card); });
  document.querySelectorAll("section").forEach(page => {
    const left = page.querySelectorAll("article:not([hidden])").length;
    page.hidden = left === 0;
    page.classList.toggle("short", left < page.querySelectorAll("article").length);
  });
  const left = cards.filter(card => !card.hidden).length;
  said.textContent = box.value || marked ? left + " of " + cards.length + " shown" : "";
};
box.addEventListener("input", show);
only?.addEventListener("change", show);
show();
"""


#: Of a card's letters, in points: its name's, its texts', and those of a small one.
NAME, TEXT, SMALL_NAME, SMALL_TEXT = 12.0, 8.5, 9.0, 7.5

#: What the place to sign takes in one row (mm), and in two, as it does where its text is narrower than this.
SIGN, SIGN_IN_TWO, NARROW = 5.5, 10.0, 72.0

#: Lines of a text are so far apart, and the sign before one takes so much (mm a point); browsers' letters are up to so
#: many times as wide as those of PDF files, as those of DejaVu Sans.
LEADING, INDENT, WIDE = 1.2 * 25.4 / 72, 1.55 * 25.4 / 72, 1.12

#: A name may take any number of lines.
MANY = 99


def proof_html(proof: CustomerProof) -> Iterator[str]:
    """Give, piece by piece, the proof as HTML that prints on A4 and on Letter."""
    pages, draw = proof.pages(), dict[str, PlatePictures]()
    for page in pages:
        if (face := proof.faces.get(page.design)) is not None:
            width, height = page.grid.picture
            colours = colours_of(proof.materials[page.design])
            draw[page.design] = plate_pictures(face, width=width, height=height, colours=colours)
    values = {
        "proof": proof,
        "title": proof.title,
        "pages": ((page, [_shown(proof, plate, draw, page.grid) for plate in page.plates]) for page in pages),
        "compare": COMPARE,
        "changed_sign": CHANGED_SIGN,
        "gap": GAP,
        "padding": PADDING,
        "letters": {"name": NAME / TEXT, "text": TEXT, "small_name": SMALL_NAME / SMALL_TEXT, "small_text": SMALL_TEXT},
        "total": len(pages),
        "script": safe(FILTER),
        "script_hash": base64.b64encode(hashlib.sha256(FILTER.encode()).digest()).decode(),
    }
    return render("proof.html", values, room="paperwork")


def _shown(
    proof: CustomerProof, plate: Plate, pictures: Mapping[str, PlatePictures], grid: Grid
) -> tuple[Card, CardTexts, object]:
    """Give a card, its texts as they have room, and its picture as safe SVG, None where there is no plate."""
    card = proof.card(plate, small=grid.small)
    texts = _texts_on(card, grid)
    if plate.lettering is None:
        return card, texts, None
    draw = replace(pictures[plate.order.design], colours=proof.colours(plate.order))
    label = f"plate with the name {plate.order.name}"
    return card, texts, safe(draw.of(plate.lettering, label, backing=backing_of(plate)))


def _texts_on(card: Card, grid: Grid) -> CardTexts:
    """Give what a card says, in letters of which about all have room in any browser."""
    width, height = grid.width - 2 * PADDING - 0.5, grid.height - 2 * PADDING - 0.5
    if grid.beside:
        width -= grid.picture[0] + 2.5
    else:
        height -= grid.picture[1] + 1.0
    height -= SIGN_IN_TWO if width < NARROW else SIGN
    name, size, gap = (SMALL_NAME, SMALL_TEXT, 0.4) if grid.small else (NAME, TEXT, 0.5)
    letters = Letters((name,), MANY, size, LEADING, gap, lambda size: INDENT * size, wide=WIDE, beside=grid.small)
    return texts_of(card, ("sign", "sign"), width, height, letters, "")
