"""Where a title stays with its name: not where that leaves letters too small."""

import pytest

from nameplate.geometry.region import rectangle
from nameplate.lettering.candidates import choices
from nameplate.lettering.draft import draft_lettering
from nameplate.lettering.rules import LetteringRules
from nameplate.placement.objective import Standing
from nameplate.typesetting.fonts import load_font
from nameplate.typesetting.setting import settings, ways_to_set

CENTRED = Standing(place="centre")
RULES = LetteringRules(web=1.5)


@pytest.mark.parametrize(("width", "height", "lines"), [(54, 19, 2), (160, 40, 1)])
def test_a_title_is_parted_from_its_name_only_where_the_letters_are_small(width, height, lines):
    zone = rectangle(-width / 2, -height / 2, width / 2, height / 2)
    font = load_font("Lobster")
    name = "Mr & Mrs Holloway"
    (chosen,) = choices(settings(name, "", font, words="auto"), zone, RULES, None, CENTRED)
    drafted, _ = draft_lettering(ways_to_set(name, "", font, words="auto"), zone, RULES, standing=CENTRED)
    assert len(chosen.setting.lines) == len(drafted.lines) == lines
