"""A whole job on the page, in a real browser, as somebody does it who types no commands; then by the command line.

The files that are downloaded are, to the byte, those that the command line makes of the same ticket, list and record.
"""

import io
import re
import shutil
import zipfile

import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect

from tests.browsers import needs_browser

from .conftest import nameplate, served
from .test_browser import watched
from .test_browser import window as window
from .test_look import PLAQUE

pytestmark = needs_browser

#: A list with five problems: a count that is none, a sign that no font has, an id twice, a size that is none, no name.
LIST = "id,name,copies,size\n001,Wren,two,\n002,Ida 🌳,,\n001,Jo,,\n004,Una,,big\n005,,,\n"

#: How each is put right: the row, its column, what is typed.
CORRECTIONS = ((2, "copies", "2"), (3, "name", "Ida"), (4, "id", "003"), (5, "size", "20"), (6, "name", "Eve"))


#: A place on an outline, in the window.
ON_IT = "one => { const at = one.getPointAtLength(9).matrixTransform(one.getScreenCTM()); return [at.x, at.y] }"


@pytest.fixture
def job(tmp_path):
    folder = tmp_path / "job"
    assert nameplate(tmp_path, "new", "job").exit_code == 0
    (folder / "names.csv").write_text(LIST, encoding="utf-8")
    (tmp_path / "Our plaque.svg").write_bytes(PLAQUE)
    return folder


@pytest.fixture
def address(job):
    with served(job) as there:
        yield there


def to(tab, name):
    tab.get_by_role("navigation", name="Rooms").get_by_role("link", name=name).click()
    expect(tab.get_by_role("heading", level=1)).to_have_text(name, timeout=60_000)


def errors(tab):
    return tab.locator("main .finding.error")


def files_in(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.timeout(600)
def test_a_job_from_a_bad_list_to_its_files(window, address, job):
    tab = watched(window)
    tab.goto(address)
    _correct(tab)
    assert (job / "names.csv").read_text(encoding="utf-8") == (
        "id,name,copies,size\n001,Wren,2,\n002,Ida,,\n003,Jo,,\n004,Una,,20\n005,Eve,,\n"
    )
    _choose_the_look(tab, job)
    to(tab, "Plates")
    expect(tab.locator("article", has_text="Lobster")).to_have_count(5, timeout=300_000)
    expect(tab.locator("article .error")).to_have_count(0)
    to(tab, "Sign-off")
    tab.get_by_label("Approved by").fill("Ann Ode")
    tab.get_by_role("button", name="Approve all").click()
    expect(tab.locator(".good")).to_have_count(5, timeout=120_000)
    twin = job.parent / "twin"
    shutil.copytree(job, twin)
    made = _made(tab)
    assert nameplate(twin, "make", "job.toml", "-o", "out").exit_code == 0
    assert made == {f"out/{name}": data for name, data in files_in(twin / "out").items()}
    assert {"out/cut/lettering-01.svg", "out/cut/template-01.svg", "out/proof.pdf", "out/summary.json"} <= made.keys()
    _look_at_a_sheet(tab)
    left = re.compile(r"htmx:(afterRequest|sendAbort|sendError)")  # what was under way when a room was left
    assert [text for text in tab.said if not left.match(text)] == []


def _correct(tab):
    expect(errors(tab)).to_have_count(5)
    for left, (row, column, text) in zip((4, 3, 2, 1, 0), CORRECTIONS, strict=True):
        cell = tab.get_by_label(f"{column}, row {row}", exact=True)
        cell.fill(text)
        cell.press("Enter")
        expect(errors(tab)).to_have_count(left, timeout=60_000)


def _choose_the_look(tab, job):
    to(tab, "Look")
    before = (job / "job.toml").read_text(encoding="utf-8")
    tab.get_by_label("An outline saved as SVG or DXF").set_input_files(job.parent / "Our plaque.svg")
    tab.get_by_role("button", name="Take this drawing").click()
    expect(tab.locator(".face figcaption")).to_contain_text("Our plaque.svg: 90.0 x 60.0 mm", timeout=60_000)
    tab.get_by_role("button", name="Take Lobster", exact=True).click()
    expect(tab.locator("article", has_text="This one is chosen")).to_contain_text("Lobster", timeout=60_000)
    tab.get_by_label("Kept clear along the edge", exact=True).fill("40")
    expect(tab.locator("#trial .problems")).to_contain_text("leaves no room for lettering", timeout=60_000)
    tab.get_by_label("Kept clear along the edge", exact=True).fill("5")
    expect(tab.locator("#trial img").first).to_be_visible(timeout=60_000)
    expect(tab.locator("#trial [role=status]")).to_contain_text("By drafts of all 5 names: none is", timeout=60_000)
    tab.get_by_role("button", name="Keep these sizes").click()
    expect(tab.get_by_text("inset 5")).to_be_visible(timeout=60_000)
    after = (job / "job.toml").read_text(encoding="utf-8")
    assert [line for line in after.splitlines() if line not in before.splitlines()] == [
        "# rectangle, rounded, ellipse, circle, shield, leaf, hexagon, none",
        'file = "Our plaque.svg"',
        "inset = 5",
        'font  = "Lobster"       # nameplate fonts lists them',
    ]


def _made(tab):
    to(tab, "Make")
    tab.get_by_role("button", name="Make the files").click()
    link = tab.get_by_role("link", name=re.compile("out.zip"))
    expect(link).to_be_visible(timeout=300_000)
    with tab.expect_download() as got:
        link.click()
    data = got.value.path().read_bytes()
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _look_at_a_sheet(tab):
    to(tab, "Sheets")
    tab.get_by_role("img", name="Look at lettering sheet 1 closely").click()
    drawing = tab.locator(".zoom > svg")
    expect(drawing).to_be_visible(timeout=60_000)
    width = drawing.bounding_box()["width"]
    tab.get_by_role("button", name="Larger").click()
    tab.keyboard.press("+")
    assert drawing.bounding_box()["width"] == pytest.approx(2.25 * width, rel=0.01)
    tab.keyboard.press("-")
    tab.keyboard.press("0")
    assert drawing.bounding_box()["width"] == pytest.approx(width, rel=0.01)
    tab.get_by_role("link", name="005 Eve, lettering").focus()
    expect(tab.locator("#told")).to_have_text("005 Eve, lettering")
    expect(tab.locator(".piece.told title")).to_have_text("005 Eve, lettering")
    piece = tab.locator(".piece", has_text="003 Jo")
    piece.scroll_into_view_if_needed()
    tab.mouse.move(*piece.locator(".body").evaluate(ON_IT))
    expect(tab.locator("#told")).to_have_text("003 Jo, lettering")
