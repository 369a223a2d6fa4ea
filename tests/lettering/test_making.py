import pytest

from nameplate.geometry import region as rg
from nameplate.lettering.fonts import load_font
from nameplate.lettering.making import LetteringRules, _plugs, make_lettering
from nameplate.lettering.setting import settings
from nameplate.lettering.webs import webs_hold

ZONE = rg.moved(rg.disc((0, 0), 2), scale=40)
RULES = LetteringRules(web=1.5, thickness=3, bay=0.3)


def made(name, zone=ZONE, rules=RULES, *, words="auto", size=None, font="Pacifico"):
    return make_lettering(settings(name, "", load_font(font), words=words), zone, rules, size=size)


@pytest.mark.parametrize("font", ["Pacifico", "Great Vibes"])
def test_a_name_is_one_piece_in_its_zone_with_its_webs(font):
    lettering, findings = made("Ada Müller", font=font)
    assert not [f for f in findings if f.severity == "error"]
    assert len(rg.solids(lettering.region)) == lettering.pieces == 1
    assert rg.covers(ZONE, lettering.region)
    assert webs_hold(lettering.region, 1.5)
    assert (
        lettering.neck is not None
        and rg.distance(rg.disc((lettering.neck.x, lettering.neck.y), 1), lettering.region) == 0
    )


def test_auto_takes_the_larger_letters():
    one, two = made("Ada Müller", words="tie")[0], made("Ada Müller", words="stack")[0]
    assert made("Ada Müller")[0].size >= max(one.size, two.size) * 0.98


def test_the_lettering_is_never_taller_than_asked():
    lettering, _ = made("Ada", rules=LetteringRules(web=1.5, max_height=20))
    assert 19 < rg.bounds(lettering.region).height <= 20 + 1e-6


def test_a_given_size_is_kept_or_refused_with_the_numbers():
    assert made("Ada", size=12)[0].size == 12
    lettering, (finding,) = made("Ada", size=200)
    assert lettering is None and finding.code == "zone-too-small"
    assert finding.measured == 200 and 0 < finding.allowed < 200


def test_a_name_too_small_to_read_is_refused_with_the_numbers():
    lettering, (finding,) = made("Maximiliane Oberwieser", zone=rg.rectangle(-12, -3, 12, 3))
    assert lettering is None and finding.severity == "error"
    assert finding.code == "letters-too-small"


def test_loose_words_stay_apart():
    lettering, _ = made("Ada Pell", words="loose")
    assert len(rg.solids(lettering.region)) == lettering.pieces == 2


def test_letters_that_stay_in_a_plate_are_not_tied():
    lettering, _ = made("Müller", rules=LetteringRules(web=1.5, tied=False))
    # welded in Pacifico the name is its body and two dots
    assert lettering.pieces == len(rg.solids(lettering.region)) == 3


def test_a_bay_whose_mouth_nearly_closes_gets_a_web_across_it():
    ring = rg.difference(rg.disc((0, 0), 20), rg.disc((0, 0), 14))
    with_mouth = rg.difference(ring, rg.rectangle(0, -0.2, 12, 0.2))
    (plug,) = _plugs(with_mouth, RULES)
    closed = rg.union(with_mouth, plug)
    assert rg.hole_count(closed) == 1
    assert rg.covers(rg.offset(ring, 0.01), rg.difference(plug, rg.disc((0, 0), 14)))  # it does not bulge
    wide = rg.difference(ring, rg.rectangle(0, -1, 12, 1))
    assert _plugs(wide, RULES) == _plugs(ring, RULES) == []
