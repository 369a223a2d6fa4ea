"""Estimates from drafts against the finished job."""

import json
import re

import pytest
from click.testing import CliRunner

from nameplate.cli.commands import main
from nameplate.job.estimate import OFF, answer_record, work_out
from nameplate.job.run import make_job
from nameplate.nest.buying.spares import spares_needed
from nameplate.ticket.reader import read_ticket
from tests.job.kept_jobs import LastingJob
from tests.jobs import json_of, sheets_of, write_job

NAMES = ["Wren Abara", "Jo", "Ada & Tomás", "Lê"]

#: Pieces of lettering: one of the names is there twice.
PIECES = len(NAMES) + 1

TICKET = """
[job]
title = "Orchard sponsors"
roster = "names.csv"
[face]
shape = "ellipse"
width = 110
height = 80
[lettering]
max_height = 30
legibility = "off"
[[stock]]
material = "lettering"
width = 300
height = 200
price = 5
[[stock]]
material = "lettering"
width = 400
height = 300
price = 9
[[stock]]
material = "template"
width = 400
height = 300
price = 2
"""


@pytest.fixture
def job(tmp_path):
    rows = [f"{name},{1 + (n == 3)}" for n, name in enumerate(NAMES)]
    return write_job(tmp_path, TICKET, "name,copies\n" + "\n".join(rows) + "\n")


def run(*arguments):
    return CliRunner().invoke(main, ["estimate", *map(str, arguments)])


def test_a_draft_says_what_the_finished_job_says(job):
    ticket = read_ticket(job)
    draft, exact = work_out(ticket, workers=1), work_out(ticket, exact=True, workers=1)
    assert exact.off == 0 and all(n.least == n.sheets == n.most for n in exact.needs)
    for own, other in zip(draft.needs, exact.needs, strict=True):
        assert (own.material, own.parts) == (other.material, other.parts)
        assert own.least <= other.sheets <= own.most
    for (_, used), (_, truth) in zip(draft.figures.sheets_used, exact.figures.sheets_used, strict=True):
        # on a sheet or two, the last part alone moves the end of the used stretch by more than the share stated
        assert used == pytest.approx(truth, abs=0.1)
    assert [m.alone for m in draft.quote.materials if m.material == "template"] == [
        m.alone for m in exact.quote.materials if m.material == "template"
    ]


def test_copies_and_spares_are_counted(job):
    job.write_text(TICKET + "[spares]\nloss = 0.1\n", encoding="utf-8")
    answer = work_out(read_ticket(job), workers=1)
    counts = {need.material: dict(need.parts) for need in answer.needs}
    assert counts["lettering"] == {"lettering": PIECES + spares_needed(PIECES, 0.1, 0.95)}
    assert counts["template"] == {"template": len(NAMES)}


def test_spares_cost_what_the_job_costs_more_with_them(job):
    # the same job without [spares] is the check
    small = TICKET.replace("width = 300\nheight = 200", "width = 200\nheight = 120")
    small = small.replace("width = 400\nheight = 300\nprice = 9", "width = 210\nheight = 120\nprice = 9")
    job.write_text(small, encoding="utf-8")
    plain = work_out(read_ticket(job), workers=1)
    job.write_text(small + "[spares]\nloss = 0.5\nconfidence = 0.99\n", encoding="utf-8")
    answer = work_out(read_ticket(job), workers=1)
    assert plain.spares is None and answer.spares.exact
    assert sum(n for _, n in answer.spares.pieces) == spares_needed(PIECES, 0.5, 0.99)
    assert answer.spares.cost == pytest.approx(answer.figures.cost - plain.figures.cost)
    assert answer.spares.cost > 0
    assert answer.spares.sheets == len(answer.figures.sheets) - len(plain.figures.sheets)
    assert answer_record(answer)["spares"]["pieces"] == dict(answer.spares.pieces)


def test_what_is_on_hand_is_said_to_be_used_first(job):
    stock = '[[stock]]\nmaterial = "lettering"\nwidth = {}\nheight = 45\noffcut = true\n'
    job.write_text(TICKET + stock.format(110) + stock.format(150), encoding="utf-8")
    answer = work_out(read_ticket(job), workers=1)
    said = answer_record(answer)["on_hand"]["lettering"]
    assert said.startswith("lettering: what is on hand is used before anything is bought")
    assert "used: offcut 150 x 45, then offcut 110 x 45" in said
    assert [s.offcut for s in answer.batch.layout.sheets][:2] == ["offcut 150 x 45", "offcut 110 x 45"]


def test_the_table_fits_80_columns_and_says_that_it_is_a_draft(job):
    done = run(job, "--workers", 1)
    assert done.exit_code == 0, done.output
    assert max(len(line.rstrip()) for line in done.stdout.splitlines()) <= 80
    assert f"draft of the lettering, {OFF:.0%} more or less" in done.stdout
    assert f"{PIECES} pieces of lettering" in done.stdout and f"{len(NAMES)} templates" in done.stdout
    first, *_ = done.stdout.splitlines()
    assert re.fullmatch(r"Order \d sheets? cast acrylic 3 mm, (300 x 200|400 x 300): [\d.]+( \([\d.]+ each\))?", first)


def test_json_has_what_the_readme_describes(job):
    done = run(job, "--json", "--workers", 1)
    record = json.loads(done.stdout)
    assert record["names"] == {"made": len(NAMES), "refused": 0, "held": 0}
    assert record["draft"] is True and record["off"] == OFF
    assert set(record["needs"]) == {"lettering", "template"}
    assert set(record["needs"]["template"]) == {"parts", "sheets", "least", "most"}
    assert {"stock", "cost", "density", "bound", "sheets_used", "quote", "findings"} <= set(record)
    assert set(record["quote"]) == {"materials", "cost", "more"}
    assert [set(own) for own in record["quote"]["more"]] == [{"design", "names", "more", "full_first", "one", "ten"}]
    assert {"alone", "least_sheets", "least_cost", "needed_density"} <= set(record["quote"]["materials"][0])


def test_a_row_that_cannot_be_set_is_refused_in_the_estimate_too(job):
    with (job.parent / "names.csv").open("a", encoding="utf-8") as file:
        file.write("שרה,1\n")
    done = run(job, "--workers", 1)
    assert done.exit_code == 1 and f"row {len(NAMES) + 2}" in done.stderr


def test_two_estimates_are_the_same(job, made_anew):
    one, two = (answer_record(work_out(read_ticket(job), workers=1)) for _ in range(2))
    assert one == two


def test_burning_times_and_room_are_told_and_about_the_same_when_cut(job, tmp_path):
    speeds = "[machine]\nrate = 60\n[material.lettering]\ncut_speed = 10\n[material.template]\ncut_speed = 20\n"
    job.write_text(TICKET + speeds, encoding="utf-8")
    draft = work_out(read_ticket(job), workers=1)
    done, _ = make_job(read_ticket(job), tmp_path / "out", workers=1)
    for key in ("lettering", "template"):
        foreseen, cut = (sum(s for f, s in b.burning.items() if key in f) for b in (draft.batch, done))
        # thickening and ties change outlines; the way between parts is not in the draft's
        assert foreseen == pytest.approx(cut, rel=0.15)
    summary = json_of(tmp_path / "out" / "summary.json")
    # by hand: an hour costs 60, so a minute costs 1
    assert summary["plate_cost"]["machine"] == pytest.approx(sum(s["minutes"] for s in summary["sheets"]), abs=0.2)
    assert summary["plate_cost"]["plates"] == PIECES and done.room
    said = run(job).stdout
    assert (
        "Burning takes about" in said and "with the machine at 60 an hour" in said and "sheets are full first" in said
    )


#: A name above a line that is scored.
LINES = """
[[line]]
text = "{name}"
[[line]]
text = "apple, 2019"
scale = 0.6
gap = 1.2
operation = "score"
"""


@pytest.mark.parametrize(
    "keys",
    [
        f'mount = "pierced"\nmark = "hatch"{LINES}[jig]\nstyle = "none"',
        'mount = "marked"\n[jig]\nstyle = "none"',
        'mount = "backed"\nregister = "template"\n[jig]\nstyle = "template"',
        '[jig]\nstyle = "skeleton"',
        '[jig]\nstyle = "template"\nwindow = "contacts"',
    ],
    ids=["pierced", "marked", "backed", "skeleton", "contacts"],
)
def test_a_draft_of_every_mount_burns_about_as_long_as_what_is_cut(tmp_path, keys):
    materials = ("lettering", "template", "blank", "backing")
    speeds = "".join(f"[material.{name}]\ncut_speed = 10\n" for name in materials)
    text = TICKET.partition("[[stock]]")[0] + f"{keys}\n" + sheets_of(*materials, width=400, height=300) + speeds
    ticket = read_ticket(write_job(tmp_path, text, "name\nAda & Tomás\n"))
    done, _ = make_job(ticket, tmp_path / "out", workers=1)
    assert done.burning
    for exact in (False, True):
        told = work_out(ticket, exact=exact, workers=1).batch.burning
        # the way between parts is not counted
        assert told == pytest.approx(done.burning, rel=0.1)


def test_a_draft_burns_its_scored_lines_and_the_way_from_one_to_the_next(tmp_path):
    text = TICKET.partition("[[stock]]")[0].replace("height = 80", "height = 80\ncut = true")
    text += f'mark = "hatch"{LINES}[jig]\nstyle = "none"\n[machine]\nacceleration = 2000\n'
    text += "[material.blank]\ncut_speed = 20\nscore_speed = 60\n"
    text += sheets_of("lettering", "blank", width=400, height=300)
    ticket = read_ticket(write_job(tmp_path, text, "name\nJo\n"))
    done, _ = make_job(ticket, tmp_path / "out", workers=1)
    for exact in (False, True):
        told = work_out(ticket, exact=exact, workers=1).batch.burning
        # most of it is hatched, and without the ways between its lines it is a tenth quicker
        assert set(told) == {"cut/blank-01.svg"} and told == pytest.approx(done.burning, rel=0.05)


def test_a_running_job_counts_what_was_cut_and_no_window_twice(tmp_path):
    speeds = "[machine]\nrate = 60\n[material.lettering]\ncut_speed = 10\n[material.template]\ncut_speed = 10\n"
    lasting = LastingJob(tmp_path).write(more='[jig]\nstyle = "template"', extra=speeds)
    assert lasting.make().exit_code == 0
    first = lasting.summary()
    lasting.mark("cut", "--all")
    lasting.mark("spoiled", "001")
    lasting.mark("spoiled", "001", "--part", "template")

    def foreseen(*words):
        return json.loads(lasting.call("estimate", lasting.ticket, "--json", "--workers", 1, *words).stdout)

    draft, exact = foreseen(), foreseen("--exact")
    done = lasting.make()
    summary = lasting.summary()
    # the one plate that is cut anew is known: only the beam's way between two parts is not
    assert draft["plate_cost"] == exact["plate_cost"]
    # the second run cuts from what is left of the sheets of the first, so these are all that was bought
    assert len(summary["sheets"]) == 4 and summary["plate_cost"]["plates"] == 3
    assert summary["plate_cost"]["material"] == 3.5 + 2 == first["plate_cost"]["material"]
    assert "A plate costs 1.83 of material" in done.stdout
    assert summary["plate_cost"]["machine"] == pytest.approx(sum(s["minutes"] for s in summary["sheets"]), abs=0.2)
