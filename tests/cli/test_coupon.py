"""The commands of coupons: what they leave, what they keep, and what a later run says of it."""

import tomllib
from datetime import date, timedelta

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.geometry.beam import Strip
from nameplate.ticket.checks import stale_kerfs
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.workshop import CONFIG_VARIABLE, read_workshop

SHOP = '# ours\n[material.lettering]\nname = "cast acrylic"\nkerf = 0.3\n'
JOB = '[job]\nroster = "names.csv"\nshop = "workshop.toml"\n[face]\nshape = "circle"\nwidth = 80\n'
STOCK = "[[stock]]\nwidth = 400\nheight = 300\n[[stock]]\nmaterial = 'template'\nwidth = 400\nheight = 300\n"


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.setenv(CONFIG_VARIABLE, str(tmp_path / "own"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "names.csv").write_text("name\nAda\n", encoding="utf-8")
    path = tmp_path / "workshop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return path


def call(*arguments):
    return CliRunner().invoke(main, ["coupon", *map(str, arguments)])


def kept(path):
    return tomllib.loads(path.read_text(encoding="utf-8"))["material"]["lettering"]


@pytest.mark.parametrize(
    ("kind", "files"),
    [
        ("kerf", {"kerf-lettering.svg"}),
        ("web", {"web-lettering.svg"}),
        ("fit", {"fit-template.svg", "fit-lettering.svg"}),
    ],
)
def test_a_coupon_and_its_page(shop, tmp_path, kind, files):
    done = call(kind, "--shop", shop, "-o", tmp_path / "c")
    assert done.exit_code == 0, done.output
    there = {path.name for path in (tmp_path / "c").iterdir()}
    assert files | {"coupon.html"} <= there
    page = (tmp_path / "c" / "coupon.html").read_text(encoding="utf-8")
    assert "Never leave a running laser alone" in page and all(name in page for name in files)
    assert ("no kerf is allowed for" in page) == (kind == "kerf")
    assert ("a kerf of 0.3 mm" in page) == (kind != "kerf")
    before = {path.name: path.read_bytes() for path in (tmp_path / "c").iterdir()}
    assert call(kind, "--shop", shop, "-o", tmp_path / "c").exit_code == 0
    assert {path.name: path.read_bytes() for path in (tmp_path / "c").iterdir()} == before


def test_a_measured_kerf_is_kept_with_date_and_batch(shop):
    done = call("kerf", "--shop", shop, "--measured", "138.2", "--gap", "1.98 mm", "--batch", "March")
    assert done.exit_code == 0, done.output
    assert "kerf 0.180 mm" in done.output
    assert kept(shop) | {"kerf_date": 0} == {
        "name": "cast acrylic",
        "kerf": 0.18,
        "kerf_off": pytest.approx(0.0023, abs=1e-9),
        "kerf_date": 0,
        "kerf_batch": "March",
    }
    assert abs(kept(shop)["kerf_date"] - date.today()) <= timedelta(days=1)
    assert shop.read_text(encoding="utf-8").startswith("# ours\n")


def test_a_kerf_that_differs_by_axis_is_kept_as_such(shop):
    done = call("kerf", "--shop", shop, "--measured", "137.9", "--measured-y", "138.3", "--measured-y", "138.31")
    assert done.exit_code == 0, done.output
    assert "kerf 0.210 mm along x, 0.169 mm along y" in done.output
    assert kept(shop)["kerf"] == {"x": 0.21, "y": 0.169}
    assert read_workshop(shop).material["lettering"].kerf.outside == Strip(0.21, 0.169)
    assert "kerf = {x = 0.21, y = 0.169}" in shop.read_text(encoding="utf-8")


def test_axes_that_differ_by_less_than_a_caliper_tells_have_one_kerf(shop):
    done = call("kerf", "--shop", shop, "--measured", "138.2", "--measured-y", "138.21")
    assert done.exit_code == 0, done.output
    assert kept(shop)["kerf"] == pytest.approx(0.1795, abs=0.0006)


@pytest.mark.parametrize(
    ("kerf", "readings", "said"),
    [
        ("{ x = 0.21, y = 0.17 }", (), "was 0.21 mm along x and 0.17 along y, which these readings do not tell apart"),
        ("{ x = 0.21, y = 0.17 }", ("--measured-y", "138.2"), None),
        ("{ inside = 0.16, outside = 0.2 }", (), "was 0.16 mm inside, 0.2 mm outside, which"),
        ("{ inside = 0.16, outside = 0.2 }", ("--measured-y", "138.4"), "write it by hand"),
        ("{ inside = 0.2, outside = 0.2 }", (), None),
    ],
)
def test_what_a_kerf_told_apart_and_its_successor_does_not_is_told(shop, kerf, readings, said):
    shop.write_text(SHOP.replace("0.3", kerf), encoding="utf-8")
    done = call("kerf", "--shop", shop, "--measured", "138.2", *readings)
    assert done.exit_code == 0, done.output
    assert ("note: the kerf there was" in done.output) == (said is not None)
    assert (said or "") in done.output
    fresh = shop.with_name("plain.toml")
    fresh.write_text(SHOP, encoding="utf-8")
    assert "note" not in call("kerf", "--shop", fresh, "--measured", "138.2", *readings).output
    assert kept(shop)["kerf"] == kept(fresh)["kerf"]


def test_the_workshop_file_of_the_ticket_is_the_one_and_a_kerf_of_its_own_is_told(shop, tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(JOB + STOCK, encoding="utf-8")
    done = call("kerf", job, "--measured", "138.2")
    assert done.exit_code == 0 and "note" not in done.output
    assert kept(shop)["kerf"] == 0.18
    job.write_text(f"{JOB}{STOCK}[material.lettering]\nkerf = 0.2\n", encoding="utf-8")
    assert "has its own kerf below [material.lettering]" in call("kerf", job, "--measured", "138.2").output
    assert read_ticket(job).material["lettering"].kerf_date is None  # 0.2 was never measured


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (("--measured", "abc", "--gap", "50"), ('--measured "abc"', "--gap: the room in the window")),
        (("--measured", "13.82"), ("comes to a kerf of 12.618 mm",)),
        (("--measured", "138.2", "--gap", "1.2"), ("the two ways give 0.109 and 0.180 mm",)),
        (("--measured", "138.2", "--material", "letering"), ("did you mean lettering?",)),
        (("--measured", "138.2", "--material", "blank"), ("has no [material.blank]",)),
        (("--batch", "March"), ("--batch goes with",)),
        (("--measured-y", "138.2"), ("--measured-y goes with",)),
        (("--measured", "137", "--measured-y", "139.5"), ("--measured-y: 0.3 mm along x and 0.05 along y differ",)),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_kept(shop, arguments, reason):
    done = call("kerf", "--shop", shop, *arguments)
    assert done.exit_code == 2
    assert all(text in done.output for text in reason), done.output
    assert shop.read_text(encoding="utf-8") == SHOP


def test_without_a_workshop_file_there_is_nowhere_to_keep_it(shop):
    done = call("kerf", "--measured", "138.2")
    assert done.exit_code == 2 and "nameplate new --shop" in done.output


def test_a_run_is_not_replaced_by_a_coupon(shop, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "summary.json").write_text("{}", encoding="utf-8")
    done = call("web", "-o", tmp_path / "out")
    assert done.exit_code == 2 and "holds a finished run, which is not replaced by coupon.html" in done.output


def test_the_first_run_says_once_that_a_kerf_is_nobodys_own(shop, tmp_path):
    shopped = 'shop = "workshop.toml"\n'

    def noted(name, kerf, *more):
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        (folder / "names.csv").write_bytes((tmp_path / "names.csv").read_bytes())
        (folder / "job.toml").write_text(JOB.replace(shopped, "") + STOCK + kerf, encoding="utf-8")
        done = CliRunner().invoke(main, ["make", str(folder / "job.toml"), "-o", str(folder / "out"), *more])
        assert done.exit_code == 0, done.output
        return [line for line in done.stderr.splitlines() if "nothing says that it was measured" in line]

    given = "[material.lettering]\nkerf = {}\n[material.template]\nkerf = 0.11\n"
    shop.unlink()
    (said,) = noted("new", given.format(0.18))
    assert "(lettering 0.18 mm): " in said and "nameplate coupon kerf --material lettering" in said
    assert noted("new", given.format(0.18)) == []  # it was said
    assert noted("own", given.format(0.19)) == []
    (both,) = noted("none", "")
    assert "(lettering 0.18 mm, template 0.15 mm): " in both
    measured = tmp_path / "measured.toml"
    measured.write_text("[material.lettering]\nkerf = 0.18\nkerf_date = 2026-03-01\n", encoding="utf-8")
    assert noted("measured", "[material.template]\nkerf = 0.11\n", "--shop", str(measured)) == []


def test_the_first_run_names_the_materials_that_it_cuts(shop, tmp_path):
    # one kerf of a new ticket is as little measured as another, and carriers are not cut
    kerfs = "[material]\nblank = { kerf = 0.18 }\ntemplate = { kerf = 0.11 }\ncarrier = { kerf = 0.2 }\n"
    pierced = '[lettering]\nmount = "pierced"\n[[stock]]\nmaterial = "blank"\nwidth = 400\nheight = 300\n'
    (tmp_path / "job.toml").write_text(JOB + STOCK + kerfs + pierced, encoding="utf-8")
    done = CliRunner().invoke(main, ["make", str(tmp_path / "job.toml"), "-o", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    (said,) = (line for line in done.stderr.splitlines() if "nothing says that it was measured" in line)
    assert "(blank 0.18 mm): " in said and "nameplate coupon kerf --material blank" in said


SHEET = '[[stock]]\nmaterial = "{}"\nwidth = 400\nheight = 300\n'
WOOD = '[material.blank]\nname = "birch plywood"\nthickness = 4\n' + SHEET.format("blank")
MIRROR = '[material.mirror]\nname = "mirror acrylic"\n' + SHEET.format("mirror")
PIERCED = f'{WOOD}[lettering]\nmount = "pierced"\n[jig]\nstyle = "none"\n'
GOLD = f'{STOCK}{MIRROR}[design.gold]\nmaterials = {{ lettering = "mirror" }}\n'
LEAF = f'{GOLD}{WOOD}[design.leaf.lettering]\nmount = "pierced"\n'


@pytest.mark.parametrize(
    ("kind", "more", "key", "told"),
    [
        ("kerf", STOCK, "lettering", ""),
        ("fit", STOCK, "lettering", ""),
        ("kerf", PIERCED, "blank", ""),
        ("web", PIERCED, "blank", ""),
        (
            "web",
            GOLD,
            "lettering",
            "lettering and mirror, and this is for lettering; --material mirror is for the other",
        ),
        (
            "kerf",
            LEAF,
            "lettering",
            "lettering, mirror and blank, and this is for lettering; --material mirror or blank",
        ),
        (
            "fit",
            LEAF,
            "lettering",
            "lettering and mirror, and this is for lettering; --material mirror is for the other",
        ),
    ],
)
def test_a_coupon_is_of_what_the_names_of_its_job_are_cut_from(shop, tmp_path, kind, more, key, told):
    job = tmp_path / "job.toml"
    job.write_text(JOB + more, encoding="utf-8")
    done = call(kind, job, "-o", tmp_path / "c")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "c" / f"{kind}-{key}.svg").is_file()
    said = [line for line in done.stderr.splitlines() if "are cut from" in line]
    assert [told in line for line in said] == [True] * bool(told)


@pytest.mark.parametrize("kind", ["kerf", "web", "fit"])
def test_a_coupon_of_another_material_is_had_by_saying_it(shop, tmp_path, kind):
    job = tmp_path / "job.toml"
    job.write_text(JOB + GOLD, encoding="utf-8")
    done = call(kind, job, "--material", "mirror", "-o", tmp_path / "c")
    assert done.exit_code == 0 and "are cut from" not in done.stderr, done.output
    assert (tmp_path / "c" / f"{kind}-mirror.svg").is_file()
    assert "mirror acrylic, 3 mm" in (tmp_path / "c" / "coupon.html").read_text(encoding="utf-8")


def test_names_that_no_jig_locates_have_no_fit_unless_a_material_is_said(shop, tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(JOB + PIERCED, encoding="utf-8")
    done = call("fit", job, "-o", tmp_path / "c")
    assert done.exit_code == 2 and "are not glued on by a jig that is cut" in done.output
    assert not (tmp_path / "c").exists()
    assert call("fit", job, "--material", "lettering", "-o", tmp_path / "c").exit_code == 0


def test_a_measured_kerf_is_kept_of_what_the_names_of_the_ticket_are_cut_from(shop, tmp_path):
    shop.write_text(f"{SHOP}{WOOD}", encoding="utf-8")
    job = tmp_path / "job.toml"
    job.write_text(f'{JOB}[lettering]\nmount = "marked"\n', encoding="utf-8")
    done = call("kerf", job, "--measured", "138.2")
    assert done.exit_code == 0 and "kept below [material.blank]" in done.output
    materials = tomllib.loads(shop.read_text(encoding="utf-8"))["material"]
    assert (materials["blank"]["kerf"], materials["lettering"]["kerf"]) == (0.18, 0.3)


def test_a_kerf_measured_long_ago_is_said_in_one_note(shop, tmp_path):
    shop.write_text(
        f"{SHOP}kerf_date = 2026-01-01\n[material.template]\nkerf_date = 2026-06-01\nkerf_days = 30\n", encoding="utf-8"
    )
    (tmp_path / "job.toml").write_text(JOB + STOCK, encoding="utf-8")
    ticket = read_ticket(tmp_path / "job.toml")
    assert stale_kerfs(ticket, date(2026, 6, 30)) == ""  # 180 and 29 days
    both = stale_kerfs(ticket, date(2026, 7, 2))
    assert "lettering 182 days ago, template 31 days ago" in both
    done = CliRunner().invoke(main, ["make", str(tmp_path / "job.toml"), "-o", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    assert done.stderr.count("kerf measured long ago") == 1
    told = [p.name for p in (tmp_path / "out").rglob("*.*") if b"measured long ago" in p.read_bytes()]
    assert told == []  # a file of the run says nothing that depends on the day
