"""The proof as a PDF file, for whoever is sent it or prints it: what `proof.py` says, drawn for one paper size.

The places of things are mm from the upper left corner of the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from nameplate.geometry import region as rg
from nameplate.geometry.box import Box
from nameplate.geometry.region import Array, Region
from nameplate.geometry.simplify import simplified
from nameplate.model import Plate
from nameplate.paperwork.card_texts import Letters, Paragraph, texts_of
from nameplate.paperwork.pictures import BORDER, FINE, backing_of, painted
from nameplate.paperwork.proof import CHANGED_SIGN, COMPARE, GAP, PADDING, Card, CustomerProof, Grid, ProofPage
from nameplate.pdf.pages import OnPage, PdfPages, Stroke
from nameplate.pdf.paper import POINTS, Paper
from nameplate.pdf.text_face import broken, fitted, lacking, width_of

#: Blank strip (mm) along the sides of a page, above its heading, and below its foot.
SIDE, TOP, BOTTOM = 12.0, 10.0, 6.0

#: What the heading takes (mm), with the blank below it, and the foot with the blank above it.
HEAD, FOOT = 31.0, 7.0

INK, GREY = "#1b1b1b", "#8a8a8a"

#: Lines to write on and boxes to tick; the edge of a face; what else is drawn on one.
HAIR, EDGE, DRAWN = Stroke(0.25, INK), Stroke(0.15, "#555555"), Stroke(0.15, "#555555", dashed=True)

#: Sizes of letters (points): a page's title, what else its heading says, its foot, and the text of a card.
TITLE, TEXT, SMALL = 15.0, 9.5, 8.0

#: Sizes that a plate's name is tried in, so that it stands on few lines and no word is cut.
NAME_SIZES = (13.0, 11.0, 9.5, 8.0, 6.5, 5.0)

#: Lines that a name may take below its picture; beside it two more.
NAME_LINES = 2

#: Texts narrower than this (mm) have the place for initials in a row of its own.
NARROW = 55.0

#: Of a text's size in points, in mm: the distance of two lines, the height of capitals, the depth of a g.
LEADING, CAPITAL, DEPTH = 1.28 / POINTS, 0.714 / POINTS, 0.2 / POINTS

LACKING = "\ufffd stands for a letter that the typeface of this text does not have."


def proof_pdf(proof: CustomerProof, paper: Paper) -> bytes:
    """Give the file; each page has a place to sign, and each plate one."""
    room = (paper.width - 2 * SIDE, paper.height - TOP - HEAD - FOOT - BOTTOM)
    sheets = proof.pages(room)
    pages = PdfPages(paper, title=f"{proof.title}: proof")
    pictures = {page.design: _Picture.of(proof, page) for page in sheets if page.design in proof.faces}
    for number, page in enumerate(sheets, 1):
        grid = page.grid
        _heading(pages, proof, page.about, first=number == 1)
        for place, plate in enumerate(page.plates):
            row, column = divmod(place, grid.columns)
            x, y = SIDE + column * (grid.width + GAP), TOP + HEAD + row * (grid.height + GAP)
            _CardSpace(pages, grid, x, y).draw(proof, plate, pictures)
        _foot(pages, proof, f"page {number} of {len(sheets)}")
        pages.next_page()
    return pages.data()


# --- a page ---------------------------------------------------------------------------------------------------------


def _heading(pages: PdfPages, proof: CustomerProof, about: str, *, first: bool) -> None:
    title = f"{proof.title}: proof{'' if first else ', continued'}{f', {about}' if about else ''}"
    width = pages.paper.width - 2 * SIDE
    size, lines = fitted(title, width, sizes=(TITLE, 12.0, 9.5, 7.0), lines=1)
    pages.text(SIDE, TOP + 5, lines[0], size, colour=INK)
    y = TOP + 10.5
    if first:
        _counted(pages, proof, y)
        y += 4.6
    _words(pages, SIDE, y, COMPARE, TEXT)
    _signature(pages, TOP + HEAD - 8)
    pages.rule(SIDE, TOP + HEAD - 4, SIDE + width, TOP + HEAD - 4, Stroke(0.4, INK))


def _counted(pages: PdfPages, proof: CustomerProof, y: float) -> None:
    """Write how much there is of what, and draw a place for the date; in smaller letters where it is much."""
    said, line = f"{proof.counted}, sent on", 26.0
    wide = width_of(f"{said} {proof.to_look_at} {proof.unlike_before} {proof.without_plate}", TEXT) + 10  # two signs
    size = TEXT * min(1.0, (pages.paper.width - 2 * SIDE - line - 3) / wide)
    x = _words(pages, SIDE, y, said, size)
    pages.rule(x, y + 0.6, x + line, y + 0.6, HAIR)
    x += line + 3
    for sign, text in (("!", proof.to_look_at), (CHANGED_SIGN, proof.unlike_before)):
        if text:
            x = _words(pages, _sign(pages, x, y, size, sign), y, text, size)
    _words(pages, x, y, proof.without_plate, size)


def _signature(pages: PdfPages, y: float) -> None:
    """Draw the place to sign a page."""
    x = _words(pages, SIDE, y, "Approved as marked below:", TEXT)
    asked = {"name": 0.36, "signature": 0.42, "date": 0.22}
    free = pages.paper.width - SIDE - x - sum(width_of(f"{word}  ", TEXT) + 2 for word in asked)
    for word, share in asked.items():
        x = _words(pages, x, y, word, TEXT)
        pages.rule(x, y + 0.6, x + share * free, y + 0.6, HAIR)
        x += share * free + 2


def _foot(pages: PdfPages, proof: CustomerProof, page: str) -> None:
    y, end = pages.paper.height - BOTTOM, pages.paper.width - SIDE
    room = end - SIDE - width_of(page, SMALL) - 5
    size, lines = fitted(f"{proof.title}, version {proof.version}", room, sizes=(SMALL, 6.5, 5.0), lines=1)
    pages.text(SIDE, y, lines[0], size, colour=INK)
    pages.text(end, y, page, SMALL, colour=INK, align=1)


def _words(pages: PdfPages, x: float, y: float, text: str, size: float) -> float:
    """Write a text and give where the next one may begin."""
    pages.text(x, y, text, size, colour=INK)
    return x + width_of(f"{text} ", size)


def _sign(pages: PdfPages, x: float, y: float, size: float, sign: str) -> float:
    """Draw the sign of what needs checking or has changed, and give where its text may begin."""
    radius = 0.75 * CAPITAL * size
    pages.disc(x + radius, y - CAPITAL * size / 2, radius, colour=INK)
    pages.text(x + radius, y - 0.06 * CAPITAL * size, sign, 0.9 * size, colour="#ffffff", align=0.5)
    return x + 2 * radius + 1


def _indent(size: float) -> float:
    """Give what a sign before a text takes (mm)."""
    return 2 * 0.75 * CAPITAL * size + 1


# --- a card ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _CardSpace:
    """A card's place on its page: the upper left corner."""

    pages: PdfPages
    grid: Grid
    x: float
    y: float

    def draw(self, proof: CustomerProof, plate: Plate, pictures: Mapping[str, _Picture]) -> None:
        """Draw the card: its picture, what it says, and where to sign."""
        card, grid = proof.card(plate, small=self.grid.small), self.grid
        frame = Stroke(0.25, GREY) if card.made else Stroke(0.4, INK, dashed=True)
        self.pages.box(self.x, self.y, grid.width, grid.height, frame)
        x, y = self.x + PADDING + grid.picture[0] / 2, self.y + PADDING + grid.picture[1] / 2
        if card.made:
            pictures[plate.order.design].draw(self.pages, proof, plate, (x, y))
        else:
            self.pages.text(x, y, card.instead[0], TEXT, colour=INK, align=0.5)
        self._told(card)
        self._tick(card)

    @property
    def _text(self) -> tuple[float, float, float]:
        """Where the text of the card begins, and how wide it may be."""
        if not self.grid.beside:
            return self.x + PADDING, self.y + PADDING + self.grid.picture[1] + 1, self.grid.width - 2 * PADDING
        aside = PADDING + self.grid.picture[0] + 2.5
        return self.x + aside, self.y + PADDING, self.grid.width - aside - PADDING

    @property
    def _size(self) -> float:
        return 7.0 if self.grid.small else SMALL

    @property
    def _bottom(self) -> float:
        return self.y + self.grid.height - PADDING

    @property
    def _is_narrow(self) -> bool:
        """Whether what the customer marks and their initials do not fit one row."""
        return self._text[2] < NARROW

    def _told(self, card: Card) -> None:
        """Write name, number, what to look at and the facts, in letters in which the place to sign has room."""
        x, y, width = self._text
        height = self._bottom - (9.0 if self._is_narrow else 4.4) - y
        note = LACKING if lacking(card.heading) else ""
        texts = texts_of(card, (CHANGED_SIGN if card.has_changed else "", "!"), width, height, self._letters, note)
        for line in texts.name:
            y += texts.name_size * LEADING
            self.pages.text(x, y - texts.name_size * DEPTH, line, texts.name_size, colour=INK)
        if texts.beside:
            beside = x + width_of(f"{texts.name[-1]}  ", texts.name_size)
            self.pages.text(beside, y - texts.name_size * DEPTH, card.count, texts.letters.size, colour=INK)
        for one in texts.paragraphs:
            y = self._paragraph(one, x, y + texts.letters.gap, texts.letters.size)

    @property
    def _letters(self) -> Letters:
        names, gap = (NAME_SIZES[2:], 0.3) if self.grid.small else (NAME_SIZES, 0.5)
        lines = NAME_LINES + 2 * self.grid.beside
        return Letters(names, lines, self._size, LEADING, gap, _indent, beside=self.grid.small)

    def _paragraph(self, told: Paragraph, x: float, y: float, size: float) -> float:
        if told.sign:
            _sign(self.pages, x, y + size * LEADING, size, told.sign)
        for line in told.lines:
            y += size * LEADING
            self.pages.text(x + (_indent(size) if told.sign else 0.0), y, line, size, colour=INK)
        return y

    def _tick(self, card: Card) -> None:
        """Draw what the customer marks, and where they put their initials; or why there is nothing to sign."""
        x, _, width = self._text
        y, size, end = self._bottom - 0.6, self._size, x + width
        if not card.made:
            lines = broken(card.instead[1], size, width)
            step = size * LEADING
            for number, line in enumerate(lines):
                self.pages.text(x, y - step * (len(lines) - 1 - number), line, size, colour=INK)
            return
        row = y - 4.2 if self._is_narrow else y
        for word in ("as it should be", "change"):
            side = 1.4 * CAPITAL * size
            self.pages.box(x, row - side + 0.3, side, side, HAIR)
            x = _words(self.pages, x + side + 1, row, word, size) + 1.5
        x = _words(self.pages, self._text[0] if self._is_narrow else x, y, "initials", size)
        self.pages.rule(x, y + 0.4, end, y + 0.4, HAIR)


# --- a picture ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Picture:
    """Draws plates of one face at one scale: ``scale`` of their mm are one on the page.

    Of names that stand free each is drawn as large as it can be in the ``room`` on the page (mm).
    """

    middle: tuple[float, float]
    scale: float
    outline: tuple[Array, ...]
    holes: tuple[Array, ...]
    artwork: tuple[Array, ...]
    scored: tuple[Array, ...]
    room: tuple[float, float] | None = None

    @classmethod
    def of(cls, proof: CustomerProof, page: ProofPage) -> _Picture:
        face = proof.faces[page.design]
        box = rg.bounds(face.outline)
        scale = _scale_in(page.grid.picture, box)
        if face.free:
            return cls(box.centre, scale, (), (), (), (), page.grid.picture)
        outline, holes, artwork = (_rings(shape, scale) for shape in (face.outline, face.keep_outs, face.artwork))
        return cls(box.centre, scale, outline, holes, artwork, face.scored)

    def draw(self, pages: PdfPages, proof: CustomerProof, plate: Plate, middle: tuple[float, float]) -> None:
        """Draw a plate round the ``middle`` of its box on the page."""
        lettering = plate.lettering
        assert lettering is not None
        if self.room is not None:
            box = rg.bounds(lettering.region)
            own = replace(self, middle=box.centre, scale=_scale_in(self.room, box), room=None)
            own.draw(pages, proof, plate, middle)
            return
        colours = proof.colours(plate.order)
        x, y = middle[0] - self.middle[0] / self.scale, middle[1] + self.middle[1] / self.scale
        place = OnPage(x, y, self.scale)
        pages.outlines(self.outline, place, fill=colours.face, stroke=EDGE)
        pages.outlines(self.holes, place, fill="#ffffff", stroke=EDGE)
        pages.outlines(self.artwork, place, stroke=DRAWN)
        pages.outlines(self.scored, place, stroke=DRAWN, closed=False)
        for shape, fill in painted(lettering, backing_of(plate), colours):
            pages.outlines(_rings(shape, self.scale), place, fill=fill)


def _scale_in(room: tuple[float, float], box: Box) -> float:
    """Give how many mm of a box are one on the page where it is as large as the room there."""
    return max((box.width + 2 * BORDER) / room[0], (box.height + 2 * BORDER) / room[1])


def _rings(region: Region, scale: float) -> tuple[Array, ...]:
    """Give the outlines of a region, thinned out to what print can show."""
    if region.is_empty:
        return ()
    return rg.all_rings(simplified(region, FINE * scale))
