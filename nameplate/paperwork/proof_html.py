"""The proof as a page for a browser, which finds names and prints.

Its pages are laid out by the program, not by the browser, so that each is one sheet of A4 or Letter and has its number.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace

from nameplate.model import Plate
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
        "total": len(pages),
        "script": safe(FILTER),
        "script_hash": base64.b64encode(hashlib.sha256(FILTER.encode()).digest()).decode(),
    }
    return render("proof.html", values, room="paperwork")


def _shown(
    proof: CustomerProof, plate: Plate, pictures: Mapping[str, PlatePictures], grid: Grid
) -> tuple[Card, object]:
    """Give a card and its picture as safe SVG, None where there is no plate."""
    card = proof.card(plate, small=grid.small)
    if plate.lettering is None:
        return card, None
    draw = replace(pictures[plate.order.design], colours=proof.colours(plate.order))
    label = f"plate with the name {plate.order.name}"
    return card, safe(draw.of(plate.lettering, label, backing=backing_of(plate)))
