"""A job of five designs, each made another way, and its papers: read back by html.parser, PDFium, a browser."""

from __future__ import annotations

import csv
import re
from collections import Counter
from html.parser import HTMLParser

import pypdfium2
import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.job import pools
from nameplate.pool import processes
from nameplate.ticket.workshop import CONFIG_VARIABLE
from tests.browsers import needs_browser, started
from tests.jobs import write_job
from tests.lasting_pool import Here

TICKET = """\
job = { title = "Orchard sponsors", roster = "names.csv", approval = "none" }
face = { shape = "ellipse", width = 80, height = 50 }
jig = { style = "carrier" }
[design.gold]
lettering = { font = "Lobster" }
[design.silver]
lettering = { mount = "backed", register = "template" }
jig = { style = "template" }
[design.bronze]
lettering = { mount = "pierced" }
[design.etched]
lettering = { mount = "marked" }
[design.paper]
jig = { style = "print" }
"""

STOCK = '[[stock]]\nmaterial = "{}"\nwidth = 600\nheight = 300\n'

NAMES = """\
name,design,copies,position
Wren,gold,2,A1
Zoë Ó Faoláin,silver,,A2
Otto Vale,bronze,,B2
Mia,etched,,
Una <b> Falk,paper,,
Nguyễn Hạnh,gold,,C1
"""


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mixed")
    stock = "".join(map(STOCK.format, ("lettering", "template", "carrier", "backing", "blank")))
    write_job(folder, TICKET + stock, NAMES)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(processes, "ProcessPool", Here)
        patch.setattr(pools, "ProcessPool", Here)
        patch.setenv(CONFIG_VARIABLE, str(folder / "none"))
        done = CliRunner().invoke(main, ["make", str(folder / "job.toml"), "-o", str(folder / "out")])
    assert done.exit_code == 0, done.output
    return folder / "out"


class Articles(HTMLParser):
    """Collects the texts of the articles of a page, each by its heading, and what is drawn in each."""

    def __init__(self, text):
        super().__init__()
        self.articles, self.tags = [], []
        self._open = None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "article":
            self._open = {"heading": "", "text": "", "drawn": Counter()}
            self.articles.append(self._open)
        elif self._open is not None:
            self._open["drawn"][tag] += 1
        self.tags.append(tag)

    def handle_endtag(self, tag):
        if tag == "article":
            self._open = None
        while self.tags and self.tags.pop() != tag:
            pass

    def handle_data(self, data):
        if self._open is not None:
            self._open["text"] += " " + " ".join(data.split())
            if {"h2", "h3"} & set(self.tags):
                self._open["heading"] += data


def articles(path):
    return Articles(path.read_text(encoding="utf-8")).articles


def rows():
    return list(csv.DictReader(NAMES.splitlines()))


def numbered():
    """The rows with the numbers that plates without an id are given: in the order of the list."""
    return [(f"{number:03d}", row) for number, row in enumerate(rows(), 1)]


def test_every_row_of_the_list_is_on_the_proof_with_its_count_and_its_design(out):
    told = Counter(
        (card["heading"], re.search(r"No\. (\d+), (\d+) piece", card["text"]).groups())
        for card in articles(out / "proof.html")
    )
    assert told == Counter((row["name"], (number, row["copies"] or "1")) for number, row in numbered())
    document = pypdfium2.PdfDocument(out / "proof.pdf")
    pages = [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    for number, row in numbered():
        (page,) = [text for text in pages if f"{row['name']} No. {number}, {row['copies'] or 1} piece" in text]
        assert f"design {row['design']}" in page
    assert sum(len(re.findall(r"No\. \d+", text)) for text in pages) == len(rows())


def test_the_proof_has_no_word_of_engineering(out):
    said = [card["text"] for card in articles(out / "proof.html")]
    document = pypdfium2.PdfDocument(out / "proof.pdf")
    said += [page.get_textpage().get_text_range() for page in document]
    words = r"MPa|\d N|necks?|webs?|kerf|windows?|clearance|play|stress|rows?|min_web|template|carrier|hard-to-read"
    assert [text for text in said if re.search(rf"\b(?:{words})\b", text)] == []


def test_the_cards_know_how_each_plate_is_made(out):
    text = (out / "cards.html").read_text(encoding="utf-8")
    body = text.partition("<h2>")[2]  # below the cautions
    sections = {part.partition("</h2>")[0]: part for part in body.split("<h2>")}
    steps = {heading: re.findall(r"<li>(.+?)</li>", part) for heading, part in sections.items() if "<ol>" in part}
    assert list(steps) == [
        "Names glued on in the carrier (2)",
        "Names on backings, glued on with a template (1)",
        "Names cut through their plates (1)",
        "Engraved names (1)",
        "Names glued on with a printed template (1)",
    ]
    glued, backed, pierced, marked, printed = (" ".join(own) for own in steps.values())
    assert "pocket" in glued and "three pins" in glued and "both ears" in glued
    assert backed.index("on the backing edge to edge") < backed.index("on the face edge to edge") and "notch" in backed
    assert all("glue" not in way and "template" not in way for way in (pierced, marked)) and "bridge" in pierced
    assert "100 mm line of the print" in printed and "as true as your hand" in printed
    assert text.count("the carrier taken apart") == 1 and "Carrier of design gold" in text

    cards = {card["heading"]: card for card in articles(out / "cards.html")}
    assert set(cards) == {f"{number} {row['name']}" for number, row in numbered()}
    for heading, card in cards.items():
        on_nothing = heading in ("003 Otto Vale", "004 Mia")
        assert (card["drawn"]["circle"] == 0) == on_nothing  # dots of glue
        there = "its template: " in card["text"] or "jigs/" in card["text"]  # cut with others, or on paper
        assert there != on_nothing and ("glued" in card["text"].split()) != on_nothing
        assert ("mm off at most" in card["text"]) == (not on_nothing and "Una" not in heading)  # paper is the hand's
    assert cards["001 Wren"]["text"].split()[2:5] == ["hangs", "at", "A1;"]


def test_the_worklist_says_of_each_way_what_is_cut_first(out):
    text = (out / "worklist.html").read_text(encoding="utf-8")
    work = re.sub(r"\s+", " ", text.partition("<h2>Order of work</h2>")[2].partition("<figure")[0])
    said = dict(re.findall(r"<h3>(.+?)</h3> <p>(.+?)</p>", work))
    assert list(said) == ["design gold", "design silver", "designs bronze and etched", "design paper"]
    assert "Cut the carrier" in said["design gold"] and "backing first" in said["design silver"]
    assert "glue" not in said["designs bronze and etched"] and "Print jigs/all.pdf" in said["design paper"]


@needs_browser
def test_the_proof_is_found_through_by_keyboard_named_for_a_screen_reader_and_printed_whole(out, tmp_path):
    with started() as browser:
        tab = browser.new_page()
        said = []
        tab.on("console", lambda message: said.append(message.text))
        tab.goto((out / "proof.html").as_uri())
        for row in rows():
            card = tab.get_by_role("article", name=row["name"], exact=True)
            assert card.count() == 1
            assert card.get_by_role("img", name=f"plate with the name {row['name']}", exact=True).count() == 1
        assert tab.get_by_role("search").count() == tab.get_by_role("main").count() == 1
        assert tab.get_by_role("heading", level=1).count() == 1
        tab.keyboard.press("Tab")
        assert tab.evaluate("document.activeElement === document.querySelector('input[type=search]')")
        tab.keyboard.type("faolain")  # accents need not be typed
        status = tab.get_by_role("status")
        assert status.inner_text() == "1 of 6 shown"
        assert tab.get_by_role("article").count() == 1
        tab.keyboard.press("Control+A")
        tab.keyboard.press("Delete")
        tab.keyboard.press("Tab")
        tab.keyboard.press("Space")
        assert status.inner_text() == "1 of 6 shown"  # the odd signs of one
        tab.keyboard.press("Space")
        assert status.inner_text() == "" and tab.get_by_role("article").count() == 6
        for paper, width in (("A4", 210), ("Letter", 215.9)):  # ISO 216; ANSI/ASME Y14.1: 8 1/2 in
            tab.pdf(path=tmp_path / f"{paper}.pdf", format=paper)
            document = pypdfium2.PdfDocument(tmp_path / f"{paper}.pdf")
            assert document[0].get_size()[0] == pytest.approx(width / 25.4 * 72, abs=1)
            printed = [" ".join(page.get_textpage().get_text_range().split()) for page in document]
            assert [f"page {n} of {len(printed)}" in text for n, text in enumerate(printed, 1)] == [True] * 5
            assert all(any(row["name"] in text for text in printed) for row in rows())
    assert said == []
