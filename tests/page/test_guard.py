"""Only the browser that was sent to the page may ask it for something, and only from the page itself."""

import asyncio
import re

import pytest

from nameplate.page.answers import ROOMS

from .conftest import HOME, PORT, TOKEN

ADDRESSES = [*ROOMS, "/", "/static/page.css", "/out.zip", "/out/summary.json", "/plates/0.svg", "/run/make/events"]


@pytest.mark.parametrize("address", ADDRESSES)
def test_without_the_cookie_nothing_is_shown(stranger, address):
    assert stranger.get(address).status_code == 403
    assert stranger.get(address, headers={"cookie": f"nameplate-{PORT}=guess"}).status_code == 403


@pytest.mark.parametrize("address", ["/names", "/settings", "/sign-off", "/bench", "/run", "/close"])
def test_without_the_cookie_nothing_is_done(stranger, closed, address):
    assert stranger.post(address, headers={"origin": HOME}).status_code == 403
    assert closed == []


def test_the_first_address_gives_a_cookie_that_scripts_and_other_sites_do_not_get(stranger):
    assert stranger.get("/", params={"token": "guess"}).status_code == 403
    answer = stranger.get("/", params={"token": TOKEN})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie and "domain" not in cookie
    assert stranger.get("/names").status_code == 200


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", ""])
def test_another_host_is_refused(browser, host):
    assert browser.get("/names", headers={"host": host}).status_code == 403


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "http://127.0.0.1:1", f"https://127.0.0.1:{PORT}", ""]
)
def test_another_origin_is_refused(browser, folder, origin):
    before = (folder / "names.csv").read_bytes()
    sent = {"do": "save", "row": "4", "c2": "Ida", "version": "0"}
    assert browser.post("/names", data=sent, headers={"origin": origin}).status_code == 403
    assert (folder / "names.csv").read_bytes() == before


def test_what_changes_something_must_say_where_it_comes_from(browser, closed):
    del browser.headers["origin"]
    assert browser.post("/close").status_code == 403
    assert closed == []
    assert browser.get("/names").status_code == 200


@pytest.mark.parametrize("address", ["/close", "/run"])
def test_looking_changes_nothing(browser, closed, address):
    assert browser.get(address).status_code == 405
    assert closed == []


def test_no_page_has_a_script_or_a_style_within_it(browser):
    for address in ROOMS:
        answer = browser.get(address)
        assert answer.status_code == 200
        policy = answer.headers["content-security-policy"]
        assert "unsafe" not in policy and "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert not re.search(r"<style|\sstyle=|\son\w+=\"|<script(?![^>]*\ssrc=\"/static/)", answer.text)


def test_a_form_that_is_too_large_is_refused(browser):
    assert browser.post("/names", content=b"a=" + b"b" * 1_000_001).status_code == 413
    assert browser.post("/names", content=b"\xff=1").status_code == 413


@pytest.mark.parametrize("address", ["/names", "/plate/draft", "/run"])
def test_a_browser_that_leaves_in_the_middle_of_its_form_is_no_fault(browser, address):
    headers = {"host": f"127.0.0.1:{PORT}", "origin": HOME, "cookie": f"nameplate-{PORT}={TOKEN}"}
    scope = {
        "type": "http", "method": "POST", "path": address, "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
    }  # fmt: skip
    messages = [{"type": "http.request", "body": b"a=", "more_body": True}, {"type": "http.disconnect"}]
    sent = []

    async def receive():
        return messages.pop(0)

    async def send(message):
        sent.append(message)

    asyncio.run(browser.app(scope, receive, send))
    assert sent[0]["status"] == 413


def test_close_ends_the_server(browser, closed):
    assert "Closed" in browser.post("/close").text
    assert closed == [True]
