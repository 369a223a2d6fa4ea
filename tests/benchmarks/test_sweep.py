"""The sweep counts what happens, and tells the user's reasons from the program's own."""

from dataclasses import replace

import pytest

from nameplate.errors import GeometryError
from nameplate.plates import trial
from tests.benchmarks import sweep

EASY = sweep.Case("Otto", "Pacifico", "applied", "none", ("ellipse", 110.0, 80.0))


def test_a_good_name_has_nothing_to_tell():
    assert sweep.sweep_one((90.0,), EASY) == sweep.Swept()


def test_reasons_of_the_user():
    lacking = sweep.sweep_one((), replace(EASY, name="梅"))
    small = sweep.sweep_one((), replace(EASY, name="Wolfeschlegelsteinhausenbergerdorff-Maximilian"))
    assert lacking.codes == ("missing-letter",) and small.codes == ("letters-too-small",)
    assert not sweep.is_own(lacking) and not sweep.is_own(small)


def test_reasons_of_the_programs_own_are_printed_and_counted(monkeypatch, capsys, in_this_process):
    def toolpath(part, kerf, **how):
        raise GeometryError("it crosses itself")

    monkeypatch.setattr(trial, "toolpath", toolpath)
    monkeypatch.setattr(sweep, "cases", lambda count, seed: [EASY])
    with pytest.raises(SystemExit) as end:
        sweep.main(["--names", "1", "--workers", "1"])
    told = capsys.readouterr().out
    assert end.value.code == 1
    assert "'Otto'" in told and "cannot-be-cut: it crosses itself" in told
    assert "refused for the program's own reasons: 1 of 1" in told


def test_a_crash_is_a_refusal_too(monkeypatch, in_this_process):
    def make_work(context, order):
        raise ZeroDivisionError

    monkeypatch.setattr(sweep, "make_work", make_work)
    ((_, result),) = sweep.swept([EASY], 1)
    assert result.codes == ("not-made",) and sweep.is_own(result)


def test_a_clean_sweep_ends_well(monkeypatch, capsys, in_this_process):
    monkeypatch.setattr(sweep, "cases", lambda count, seed: [EASY])
    with pytest.raises(SystemExit) as end:
        sweep.main(["--names", "1", "--workers", "1"])
    assert not end.value.code and "1 names, 1 made" in capsys.readouterr().out


@pytest.mark.parametrize(
    "case",
    [
        # a counter's third part far from its first; outlines smaller than a file's last digit; needles in a stencil
        replace(
            EASY, name="Zogygola Zoshagyz & Fjoshas", font="Lobster", mount="pierced", face=("shield", 90.0, 100.0)
        ),
        replace(EASY, name="Érittaý, Ługyriij", mount="pierced", face=("shield", 90.0, 100.0)),
        replace(EASY, name="Kavink Açushaý", font="Great Vibes", mount="marked", face=("circle", 100.0, 100.0)),
        replace(EASY, name="Quilaěk", mount="pierced", face=("rounded", 140.0, 60.0)),
        replace(EASY, name="Xaåtnéggio", font="Satisfy", mount="pierced", face=("rounded", 140.0, 60.0)),
    ],
    ids=lambda case: case.name,
)
def test_names_that_a_sweep_found_to_be_refused_are_made(case):
    assert sweep.sweep_one((90.0, 33.0), case).codes in ((), ("letters-lost",), ("plate-web-too-thin",), ("misread",))


def test_a_name_that_fits_only_a_hair_under_the_least_height_has_no_room():
    case = sweep.Case("Yvejéåtth, Quiçuåtğ", "Sacramento", "applied", "none", ("shield", 90.0, 100.0))
    assert sweep.sweep_one((), case).codes == ("letters-too-small",)
