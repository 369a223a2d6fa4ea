"""Page sizes are those of their standards."""

from nameplate.pdf.paper import PAPERS
from nameplate.ticket.schema import PAPERS as WORDS


def test_every_word_of_a_ticket_has_its_size():
    assert tuple(PAPERS) == WORDS
    sizes = {name: (paper.width, paper.height) for name, paper in PAPERS.items()}
    # ISO 216:2007, A4; ANSI/ASME Y14.1, size A (8 1/2 by 11 in of 25.4 mm)
    assert sizes == {"a4": (210, 297), "letter": (215.9, 279.4)}
