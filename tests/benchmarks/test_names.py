import re

import pytest

from nameplate.typesetting.fonts import bundled_fonts
from tests.benchmarks import names
from tests.benchmarks.__main__ import invented_names, print_fonts
from tests.benchmarks.names import FontCost


@pytest.fixture(scope="module")
def costs():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(names, "WARM_UP", "I")
        return list(names.font_costs(["I", "Ж"]))


def test_every_bundled_font_is_timed_and_names_it_cannot_make_are_left_out(costs):
    assert [c.font for c in costs] == [info.name for info in bundled_fonts()]
    made = {c.font: len(c.seconds) for c in costs}
    # Pacifico and Lobster have Cyrillic, Sacramento and Satisfy have not, by their cmap tables
    assert (made["Pacifico"], made["Lobster"], made["Sacramento"], made["Satisfy"]) == (2, 2, 1, 1)
    assert all(s > 0 for c in costs for s in c.seconds)
    assert all(len(c.segments) == len(c.seconds) and min(c.segments) > 4 for c in costs)


def test_the_median_of_nothing_is_not_quick():
    assert FontCost("none", (), ()).median == float("inf")


def test_one_line_a_font_and_the_median_of_all(costs, capsys, monkeypatch):
    asked = []
    monkeypatch.setattr(names, "font_costs", lambda these: asked.append(these) or costs)
    print_fonts(1)
    assert asked == [invented_names(1)]
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(bundled_fonts()) + 1
    assert re.fullmatch(r"median over all fonts +\d+\.\d{3} s CPU a name", lines[-1])
