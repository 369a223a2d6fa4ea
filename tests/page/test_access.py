"""Everyone can use the page: axe-core finds nothing serious, the keyboard reaches all, nothing runs over."""

import json
import re
from pathlib import Path

import pytest

pytest.importorskip("playwright")

from tests.browsers import needs_browser

from .conftest import TICKET, nameplate, served_here

pytestmark = needs_browser

AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text(encoding="utf-8")

ROOMS = (
    "names",
    "look",
    "settings",
    "plates",
    "plate?id=001",
    "sign-off",
    "sheets",
    "sheets/lettering-01",
    "make",
    "bench",
)

#: A list with something of all kinds in it: an error, a warning, a row on hold, an approved one.
LIST = "id,name,copies,hold\n001,Wren Abara,,\n002,<b>Jo</b>,,\n003,Ida Quill,two,\n004,wREN ABara,,\n005,Bo,,yes\n"

#: The window of a desk, in pixels.
WIDE = {"width": 1280, "height": 900}

#: What a person can tab to.
CONTROLS = (
    ":is(a[href], button:not(:disabled), input:not([type=hidden]):not(:disabled), select, textarea, summary, "
    "[tabindex='0']):not([tabindex='-1'])"
)


@pytest.fixture(scope="module")
def home(tmp_path_factory, chromium):
    """The page of a job that is under way, approved in part, made; where it is, and what lets a window in."""
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.toml").write_text(TICKET, encoding="utf-8")
    (folder / "names.csv").write_text(LIST, encoding="utf-8")
    assert nameplate(folder, "make", "job.toml", "-o", "out").exit_code == 1  # row 4 is refused
    assert nameplate(folder, "approve", "job.toml", "--by", "Ann Ode", "001").exit_code == 0
    with served_here(folder) as there:
        with chromium.new_context() as first:
            first.new_page().goto(there)
            let_in = first.storage_state()
        yield re.sub(r"/\?.*", "", there), let_in


@pytest.fixture(scope="module")
def window(chromium, home):
    """One window for all rooms: to open one for each took more than to look at it."""
    window = chromium.new_context(viewport=WIDE, reduced_motion="reduce", storage_state=home[1], color_scheme="light")
    tab = window.new_page()
    tab.set_default_timeout(120_000)
    yield tab
    window.close()


def seen(tab, home, room):
    """A room in the window, once everything in it is drawn."""
    tab.emulate_media(color_scheme="light", reduced_motion="reduce")
    tab.goto(f"{home[0]}/{room}")
    tab.wait_for_load_state("networkidle")
    tab.wait_for_selector("[hx-trigger^='load delay']", state="detached")  # it would be replaced under one's hands
    return tab


@pytest.fixture(scope="module", params=ROOMS)
def tab(request, window, home):
    """Each room, opened once for all that is looked at in it."""
    return seen(window, home, request.param)


#: Runs axe-core by some options, and gives no more of what passes than how much it is: all of it is a long text.
RUN_AXE = """async options => {
    const found = await axe.run({ resultTypes: ["violations"], ...options });
    return { passes: found.passes.length, violations: found.violations };
}"""


def found_by_axe(tab, scheme, **options):
    """What axe-core finds serious in a colour scheme."""
    tab.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    found = tab.evaluate(RUN_AXE, options)
    assert found["passes"] > (0 if options else 10)
    return [
        (scheme, one["id"], one["impact"], [n["html"] for n in one["nodes"]][:5], one["nodes"][0]["failureSummary"])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]


def test_axe_finds_nothing_serious(tab):
    tab.evaluate(AXE)
    told = found_by_axe(tab, "light") + found_by_axe(tab, "dark", runOnly=["color-contrast"])  # all of it that is
    assert not told, json.dumps(told, indent=1)


def test_axe_finds_what_is_wrong(window, home):
    tab = seen(window, home, "make")
    tab.evaluate("() => document.querySelector('main').append(document.createElement('button'))")
    tab.evaluate(AXE)
    assert "button-name" in [name for _, name, impact, *_ in found_by_axe(tab, "light") if impact == "critical"]


#: A telephone; 1280 at 200 % (WCAG 2.2, 1.4.4); a tablet upright.
NARROW = (400, 640, 820)


def test_nothing_runs_over_a_narrow_window(tab):
    out = "all => all.filter(one => one.getBoundingClientRect().right > innerWidth && !one.closest('.wide, .zoom'))"
    for width in NARROW:
        tab.set_viewport_size({"width": width, "height": 900})
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
        over = tab.locator(f"main :is({CONTROLS})").evaluate_all(f"{out}.map(one => one.outerHTML)")
        assert over == [], width
    tab.set_viewport_size(WIDE)


#: Lists all controls, and notes how each that gets the keyboard shows it: no step waits for an answer.
NOTE_FOCUS = """controls => {
    document.querySelectorAll("details").forEach(one => one.open = true);
    const all = [...document.querySelectorAll(controls)];
    window.reached = new Map();
    document.addEventListener("focusin", event => {
        const look = getComputedStyle(event.target);
        window.reached.set(all.indexOf(event.target), [look.outlineStyle, parseFloat(look.outlineWidth)]);
    });
    return all.map(one => one.outerHTML);
}"""


def test_the_keyboard_reaches_every_control_and_shows_where_it_is(tab):
    controls = tab.evaluate(NOTE_FOCUS, CONTROLS)
    for _ in range(len(controls) + 5):
        tab.keyboard.press("Tab")
    reached = {at: look for at, look in tab.evaluate("[...window.reached]") if at >= 0}
    hidden = [controls[at] for at, (style, thick) in reached.items() if style != "solid" or thick < 2]
    assert not hidden
    assert not [one for at, one in enumerate(controls) if at not in reached]
