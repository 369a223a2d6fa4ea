"""The command of burning times: what it tells of a sheet, what it keeps, and that later times go by it."""

import tomllib

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.cut.coupons import coupon_sheet, kerf_parts
from nameplate.cut.laid_sheet import laid_svg
from nameplate.ticket.workshop import CONFIG_VARIABLE

JOB = """[job]
roster = "names.csv"
shop = "workshop.toml"
[face]
shape = "circle"
width = 80
[jig]
style = "none"
"""
SHOP = """# ours
[material.lettering]
cut_speed = 10
score_speed = 1000
[[stock]]
width = 400
height = 300
"""


@pytest.fixture
def job(tmp_path, monkeypatch):
    """A job whose one sheet is a coupon: ten squares and a frame, some 1,250 mm."""
    monkeypatch.setenv(CONFIG_VARIABLE, str(tmp_path / "own"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "names.csv").write_text("name\nAda\n", encoding="utf-8")
    (tmp_path / "workshop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "out" / "cut").mkdir(parents=True)
    drawn = laid_svg(coupon_sheet(kerf_parts("lettering"), kerf=0.0))
    (tmp_path / "out" / "cut" / "lettering-01.svg").write_text(drawn, encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def call(job, *arguments):
    return CliRunner().invoke(main, ["time", str(job), *arguments])


def test_a_measured_run_is_kept_and_the_same_sheet_is_then_foreseen_to_take_it(job, tmp_path):
    # 10 x 56 + 2 x (140 + 15) + 2 x (154 + 29) = 1236 mm at 10 mm/s, some seconds of way and starting, and a
    # scored line on each square
    first = call(job, "--sheet", "lettering-01")
    assert first.exit_code == 0 and first.output in {f"lettering-01: 2:0{s} foreseen\n" for s in range(5, 10)}
    kept = call(job, "--sheet", "lettering-01", "--measured", "3:10")
    assert kept.exit_code == 0, kept.output
    text = (tmp_path / "workshop.toml").read_text(encoding="utf-8")
    assert text.startswith(SHOP)
    machine = tomllib.loads(text)["machine"]
    assert set(machine) == {"time_factor", "time_date"} and 1.45 < machine["time_factor"] < 1.55
    assert call(job, "--sheet", "lettering-01").output == "lettering-01: 3:10 foreseen\n"
    # measured again: not on top of the first
    assert call(job, "--sheet", "lettering-01", "--measured", "3:10").exit_code == 0
    assert (tmp_path / "workshop.toml").read_text(encoding="utf-8") == text


def test_an_acceleration_makes_it_longer(job, tmp_path):
    with (tmp_path / "workshop.toml").open("a", encoding="utf-8") as file:
        file.write("[machine]\nacceleration = 20  # slow\n")
    slow = call(job, "--sheet", "lettering-01").output
    assert "2:0" not in slow and "foreseen" in slow
    assert call(job, "--sheet", "lettering-01", "--measured", "4:00").exit_code == 0
    assert "acceleration = 20  # slow\n" in (tmp_path / "workshop.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (("--sheet", "lettering-01", "--measured", "12"), "expected minutes and seconds, like 12:40"),
        (("--sheet", "lettering-01", "--measured", "0:00"), "expected minutes and seconds, like 12:40"),
        (("--sheet", "lettering-01", "--measured", "0:12"), "too far from it"),
        (("--sheet", "template-01"), "has no such cut file; it has lettering-01"),
        (("--sheet", "../job"), "has no such cut file"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_kept(job, tmp_path, arguments, reason):
    done = call(job, *arguments)
    assert done.exit_code == 2 and reason in done.output
    assert (tmp_path / "workshop.toml").read_text(encoding="utf-8") == SHOP


def test_without_a_speed_there_is_no_time(job, tmp_path):
    (tmp_path / "workshop.toml").write_text(SHOP.replace("cut_speed = 10\n", ""), encoding="utf-8")
    done = call(job, "--sheet", "lettering-01")
    assert done.exit_code == 2 and "[material.lettering] has no cut_speed" in done.output


def test_a_sheet_goes_by_what_people_call_it_too(job, tmp_path):
    (tmp_path / "workshop.toml").write_text(SHOP + "[material.blank]\ncut_speed = 10\n", encoding="utf-8")
    cut = tmp_path / "out" / "cut"
    (cut / "blank-01.svg").write_bytes((cut / "lettering-01.svg").read_bytes())
    for called in ("blank-01", "plaque-01", "plaque-1", "out/cut/blank-01.svg"):
        assert call(job, "--sheet", called).output.startswith("blank-01: 2:"), called
    assert call(job, "--sheet", "name-01").output.startswith("lettering-01: 2:")


def test_the_run_is_found_where_make_left_it_else_beside_the_ticket_else_here(job, tmp_path, monkeypatch):
    for place in ("kept", "elsewhere"):
        (tmp_path / place).mkdir()
    made = tmp_path / "kept" / "first"
    sheets = ("--sheet", "lettering-01")
    done = CliRunner().invoke(main, ["make", str(job), "-o", str(made)])
    assert done.exit_code == 0, done.output
    of_names = call(job, *sheets).output
    assert of_names.startswith("lettering-01: 0:")  # one name, not the coupon in the folder out
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert call(job, *sheets).output == of_names
    made.rename(tmp_path / "kept" / "moved")
    assert call(job, *sheets).output.startswith("lettering-01: 2:")  # beside the ticket
    (tmp_path / "out").rename(tmp_path / "elsewhere" / "out")
    assert call(job, *sheets).output.startswith("lettering-01: 2:")  # where it was called
    monkeypatch.chdir(tmp_path)
    lost = call(job, *sheets)
    assert lost.exit_code == 2 and "say with -o where it is" in lost.output and str(made) in lost.output
    assert call(job, *sheets, "-o", str(tmp_path / "kept" / "moved")).output == of_names
