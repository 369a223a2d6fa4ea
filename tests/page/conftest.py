"""A small job, its page, and a browser's manners without a browser."""

import contextlib
import gc
import os
import queue
import re
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from nameplate.cli.commands import main
from nameplate.page import drawing, running, serving
from nameplate.page.app import make_app
from nameplate.page.opened import open_job
from nameplate.page.studio import Studio
from tests.browsers import started
from tests.lasting_pool import LastingPool

PORT, TOKEN = 4242, "a token of the tests"
HOME = f"http://127.0.0.1:{PORT}"

TICKET = """\
[job]
title = "Orchard sponsors"
roster = "names.csv"
[face]
shape = "ellipse"
width = 110
height = 80
[lettering]
legibility = "off"
[jig]
style = "none"
[[stock]]
material = "lettering"
width = 600
height = 300
price = 7.5
"""

#: As a person's program may leave it: quotes where none are needed, CR LF, a column of their own, no end of line.
NAMES = b'id;name;tree\r\n001;"Wren Abara";apple\r\n002;<img src=x onerror=alert(1)>;pear\r\n003;Jo;plum'

#: A ticket with remarks, as a person would have it who edits it by hand.
REMARKS = """\
# ours
[job]
roster = "names.csv"
paper  = "a4"        # theirs is letter

[face]
shape  = "ellipse"   # or a drawing
width  = 110
height = "3 1/8 in"  # as the board has it

[lettering]
legibility = "off"
font = ["Pacifico", "Lobster"]   # the fallback has what it lacks
mount = "applied"    # glued on

[material]
lettering = { name = "cast acrylic", thickness = 3, kerf = 0.18 }   # measured in March
[[stock]]
material = "lettering"
width = 600
height = 300
price = 11.50        # with the foil
# what is left of last year
[[stock]]
material = "template"
width = 300
height = 200
[jig]
style = "template"
[files]
formats = ["dxf", "svg"]
[design.gold]        # for the first ten
face = { shape = "hexagon", width = 130, height = 90 }
[design.gold.lettering]
min_web = 2          # they are touched
"""


@pytest.fixture(autouse=True, scope="session")
def lasting_drawers(lasting_workers):
    """Have the workers that drew a page draw the next."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawing, "ProcessPool", LastingPool)
        yield


@pytest.fixture(autouse=True)
def commands_without_workers(monkeypatch):
    """Have commands that the page runs work alone; `test_story.py` has a page as users have it."""
    paths = filter(None, (str(Path(__file__).parents[2]), os.environ.get("PYTHONPATH")))
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(paths))
    monkeypatch.setattr(running, "COMMAND", (sys.executable, "-m", "tests.alone"))


@pytest.fixture(scope="module")
def chromium():
    with started() as browser:
        yield browser


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "job.toml").write_text(TICKET, encoding="utf-8")
    (tmp_path / "names.csv").write_bytes(NAMES)
    return tmp_path


@pytest.fixture
def ticket(folder):
    path = folder / "job.toml"
    path.write_bytes(REMARKS.replace("\n", "\r\n").encode())
    return path


@pytest.fixture
def studio(folder):
    made = Studio(open_job(folder))
    yield made
    made.stop()


@pytest.fixture
def closed():
    return []


@pytest.fixture
def stranger(studio, closed):
    """A client that nobody let in."""
    app = make_app(studio, port=PORT, token=TOKEN, close=lambda: closed.append(True))
    return TestClient(app, base_url=HOME, follow_redirects=False)


@pytest.fixture
def browser(stranger):
    """A client that came by the first address and sends its own pages' Origin."""
    stranger.get("/", params={"token": TOKEN})
    stranger.headers["origin"] = HOME
    stranger.follow_redirects = True
    return stranger


def version(answer):
    """The version that the first form of a page sends back."""
    return re.search(r'name="version" value="(\w+)"', answer.text)[1]


def lines(path):
    return path.read_bytes().decode().split("\r\n")


def changed(before, after):
    """Lines that are only in one of two texts."""
    return [line for line in before if line not in after], [line for line in after if line not in before]


def nameplate(folder, *words):
    """Run the command line in a folder, to its end."""
    with contextlib.chdir(folder):
        return CliRunner().invoke(main, words)


@pytest.fixture
def made(folder, once_in_this_process):
    """The job with its files made; what the page runs itself takes ten times as long to start as to make these."""
    assert nameplate(folder, "make", "job.toml", "-o", "out").exit_code == 0
    return folder


@contextlib.contextmanager
def served(folder):
    """The first address of the page of a job, while a process of its own serves it."""
    words = [sys.executable, "-m", "nameplate", "open", folder, "--no-browser"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as server:
        yield server.stdout.readline().strip()
        server.terminate()


@contextlib.contextmanager
def served_here(folder):
    """The first address of the page of a job, while a thread of this process serves it: its workers last, too."""
    servers, told = [], queue.Queue()

    def noted(*given):
        servers.append(server(*given))
        return servers[0]

    server = serving._server
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(serving, "_server", noted)
        job = open_job(folder)
        thread = threading.Thread(target=lambda: serving.serve(job, browse=False, say=told.put), daemon=True)
        thread.start()
        yield told.get(timeout=60)
    servers[0].should_exit = True
    thread.join()
    gc.collect()  # a connection left open is told here


def seen(browser):
    """Wait until all plates of the sign-off are drawn, as a person does, and give its page."""
    for address in re.findall(r'data-unseen="(/plates/\w+/sign)"', browser.get("/sign-off").text):
        browser.get(address)
    return browser.get("/sign-off")
