import pytest

from nameplate.lettering.least_pierced import LEAST, MOST, least_pierced_cap_height
from nameplate.typesetting.fonts import load_font


def test_an_open_sturdy_font_can_be_pierced_smaller_than_one_with_narrow_loops():
    open_font, narrow = (least_pierced_cap_height(load_font(f), 1.5) for f in ("Playpen Sans ExtraBold", "Sacramento"))
    assert LEAST * 1.5 < open_font < 0.5 * narrow <= 0.5 * MOST * 1.5


def test_the_size_grows_with_the_web(monkeypatch):
    monkeypatch.setattr("nameplate.lettering.least_pierced._reads", lambda setting, height: height > 9.0)
    small, large = (least_pierced_cap_height(load_font("Lobster"), web) for web in (1.0, 3.0))
    assert large == pytest.approx(3 * small)
    assert 9.0 < small < 9.0 * 1.15  # four steps part what is tried into sixteenths


def test_a_font_that_nothing_can_be_read_in_has_no_size(monkeypatch):
    monkeypatch.setattr("nameplate.lettering.least_pierced._reads", lambda setting, height: False)
    assert least_pierced_cap_height(load_font("Lobster"), 1.5) is None
