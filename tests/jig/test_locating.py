import pytest

from nameplate.geometry import region as rg
from nameplate.jig.locating import (
    EXPANSION,
    judge_face,
    judge_gap,
    judge_kerf,
    judge_play,
    judge_warmth,
    name_motions,
    play_figures,
    pocket_gap,
    same_turned,
    worst_play,
)
from nameplate.jig.play import FREE_TURN, Play
from nameplate.ticket.schema import JigKeys

KEYS = JigKeys(clearance=0.2)


def play_of(lettering):
    return worst_play(lettering, name_motions(lettering, KEYS))


def codes(findings):
    return [f.code for f in findings]


def test_a_circle_does_not_locate_and_is_told_what_to_do(face_of, ellipse_of):
    # Reuleaux 1875: no set of contacts holds a disc
    (finding,) = judge_face(face_of(ellipse_of(90, 90), "circle"), KEYS)
    assert finding.code == "face-does-not-locate" and finding.severity == "warning"
    for word in ("circle", "flat", "notch", "mark", "arrow"):
        assert word in finding.message


def test_nearly_a_circle_is_named_too(face_of, ellipse_of):
    assert codes(judge_face(face_of(ellipse_of(90, 89.5)), KEYS)) == ["face-does-not-locate"]
    assert "face-locates-poorly" in codes(judge_face(face_of(ellipse_of(90, 86)), KEYS))


def test_faces_that_locate_get_no_warning(faces):
    for name, face in faces.items():
        assert all(f.severity == "note" for f in judge_face(face, KEYS)), name


@pytest.mark.parametrize(
    ("name", "ways"), [("ellipse", (180.0,)), ("rectangle", (180.0,)), ("shield", ()), ("apple", ())]
)
def test_faces_that_look_the_same_turned(faces, name, ways):
    assert same_turned(faces[name].outline, 0.4) == ways
    assert codes(judge_face(faces[name], KEYS)) == (["face-fits-turned"] if ways else [])


def test_square_and_hexagon_turn_by_quarters_and_sixths(ellipse_of):
    assert same_turned(rg.rectangle(10, 10, 50, 50), 0.1) == (90.0, 180.0, 270.0)
    assert same_turned(ellipse_of(80, 80, 6), 0.1) == (60.0, 120.0, 180.0, 240.0, 300.0)


def test_a_nearly_symmetric_face_fits_turned_only_within_the_slack(face_of):
    nearly = rg.union(rg.rectangle(-50, -20, 50, 20), rg.rectangle(49, -5, 50.3, 5))
    assert same_turned(nearly, 0.4) == (180.0,)
    assert same_turned(nearly, 0.1) == ()


def test_play_of_a_name_lies_between_its_clearance_and_twice_that(handwriting):
    play = play_of(handwriting.region)
    assert 0.2 < play.shift < 0.4 and play.shift <= play.far < 0.5 and 0 < play.turn < 1
    assert set(play_figures(play)) == {"shift", "turn", "far"}


def test_a_window_that_is_too_tight_is_an_error(handwriting, order, faces):
    tight = rg.difference(faces["ellipse"].outline, rg.filled(rg.offset(rg.filled(handwriting.region), 0.15)))
    (finding,) = judge_gap(tight, handwriting.region, order, KEYS)
    assert finding.severity == "error" and finding.measured == pytest.approx(0.15, abs=0.005)
    fits = rg.difference(faces["ellipse"].outline, rg.filled(rg.offset(rg.filled(handwriting.region), 0.2)))
    assert judge_gap(fits, handwriting.region, order, KEYS) == ()


def test_each_loose_piece_is_judged_and_the_worst_is_stated(ellipse_of):
    bar = rg.rectangle(-40, -4, -10, 4)
    dot = rg.moved(ellipse_of(10, 10), 20, 0)
    alone = play_of(bar)
    both = play_of(rg.union(bar, dot))
    assert alone.turn < 2 < both.turn  # a round dot turns as it likes


def test_play_beyond_the_tolerance_is_said_with_numbers(order):
    (finding,) = judge_play(Play(0.4, 0.6, 0.81), order, KEYS)
    assert finding.code == "jig-play" and finding.plate == "007" and finding.row == 8
    assert (finding.measured, finding.allowed) == (0.81, 0.5) and "0.81 mm" in finding.message
    # 0.81 mm at a gap of 0.2 + 0.02 mm: 0.5 mm is kept at a gap of 0.1358 mm
    assert "jig.clearance = 0.11 (now 0.2)" in finding.message
    assert judge_play(Play(0.2, 0.3, 0.45), order, KEYS) == ()
    for turn in (FREE_TURN, 90.0):
        (loose,) = judge_play(Play(0.4, turn, 0.81), order, KEYS)
        assert "cannot turn" in loose.message and "clearance" not in loose.message
    (hopeless,) = judge_play(Play(0.4, 2.0, 4.0), order, KEYS)
    assert "no clearance that can be cut" in hopeless.message


def test_acrylic_grows_with_warmth_where_it_matters(face_of):
    # cast PMMA, data sheets: 7.2e-5 per K; 600 mm and 30 K make 1.3 mm
    assert pytest.approx(1.3, abs=0.01) == EXPANSION * 600 * 30
    wide = face_of(rg.rectangle(-305.7, -50, 305.7, 50), "board")
    (finding,) = judge_warmth(wide, KEYS, "cast acrylic")
    assert finding.measured == round(299.7 * 7.2e-5 * 15, 3)  # to the micrometre
    assert finding.allowed == round(KEYS.clearance / 3, 3)
    assert judge_warmth(wide, KEYS, "birch plywood") == ()
    assert judge_warmth(face_of(rg.rectangle(-50, -20, 50, 20)), KEYS, "cast acrylic") == ()


def test_the_pocket_takes_the_largest_plaque():
    assert pocket_gap(JigKeys(clearance=0.2, plaque_tolerance=0.3)) == pytest.approx(0.35)


def test_a_clearance_that_the_beam_cannot_cut_is_said_with_one_that_it_can():
    (finding,) = judge_kerf(JigKeys(clearance=0.05), 0.15)
    assert finding.severity == "warning" and "jig.clearance = 0.08 it cannot" in finding.message
    assert judge_kerf(JigKeys(clearance=0.08), 0.15) == ()
    (finding,) = judge_kerf(JigKeys(clearance=0.2), 0.15, 0.9)
    assert "kerf of the names (0.9 mm)" in finding.message and "jig.clearance = 0.45 it cannot" in finding.message
    # one cut parts a skeleton from its name, and nobody cuts a print
    assert all(judge_kerf(JigKeys(style=style, clearance=0.05), 0.15) == () for style in ("skeleton", "print", "none"))
