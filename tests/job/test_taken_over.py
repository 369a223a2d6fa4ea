"""Plates made anew of which the plaque is good still: what is cut again, as what, and what every paper says."""

import csv

import pytest

from tests.job.kept_jobs import TICKET, LastingJob
from tests.job.test_kept import sound
from tests.jobs import good
from tests.record.independent import look, states

NAMES = {"001": "Wren", "002": "Odo"}

STOCK = """
[[stock]]
material = "blank"
width = 200
height = 100
[[stock]]
material = "backing"
width = 200
height = 100
"""

pytestmark = pytest.mark.usefixtures("once_in_this_process")


def with_plaques(ticket=TICKET):
    return ticket.replace("[lettering]", "cut = true\n[lettering]", 1)


class PlaqueJob(LastingJob):
    """A job whose plaques are cut here."""

    def listed(self, names=NAMES, mount="applied", ticket=TICKET, approval="none"):
        ticket = with_plaques(ticket).replace("[job]", f'[job]\napproval = "{approval}"', 1)
        return self.write(names, more=f'mount = "{mount}"\n[jig]\nstyle = "none"', extra=STOCK, ticket=ticket)

    def planned(self):
        """Which pieces are to be cut."""
        return {(plate, kind) for (plate, kind, *_), state in states(self.record).items() if state == "planned"}

    def spelt(self, plate):
        return self.plates()[plate]["lettering"]["lines"]


@pytest.fixture
def job(tmp_path):
    return PlaqueJob(tmp_path).listed()


@pytest.mark.parametrize("mount", ["applied", "backed"])
def test_a_name_corrected_and_spoiled_is_made_as_it_is_spelt_now_on_the_plaque_that_is_there(job, mount):
    job.listed(mount=mount)
    good(job.make())
    good(job.mark("cut", "--all"))
    corrected = {**NAMES, "001": "Wrenna"}
    job.listed(corrected, mount=mount)
    good(job.mark("spoiled", "001"))
    done = good(job.make())
    sound(job)
    assert "plate 001: the text was changed" in done.stderr and "plate 001: made anew but for its plaque" in done.stderr
    assert job.spelt("001") == ["Wrenna"]
    assert job.planned() == {
        ("001", kind) for kind in (["lettering", "backing"] if mount == "backed" else ["lettering"])
    }
    assert ("001", "1", "cut", "blank-01") in job.worklist()
    with (job.out / "worklist.csv").open(encoding="utf-8-sig", newline="") as file:
        pieces = {(r["piece"], r["copy"]): r["name"] for r in csv.DictReader(file) if r["plate"] == "001"}
    assert pieces == {("lettering", "1"): "Wren", ("lettering", "2"): "Wrenna", ("blank", "1"): "Wrenna"}
    good(job.make())  # and it stays so
    sound(job)
    assert job.spelt("001") == ["Wrenna"] and ("001", "blank") not in job.planned()
    good(job.mark("cut", "--all"))
    good(job.mark("fitted", "001"))
    good(job.make())
    sound(job)
    assert job.plates()["001"]["state"] == "fitted"


def test_a_name_corrected_before_it_is_cut_is_made_as_it_is_spelt_now_though_its_plaque_is_cut(job):
    good(job.make())
    good(job.mark("cut", "blank-01"))
    for name in ("Wrenna", "Wrenn"):  # the second time its version is not new any more
        job.listed({**NAMES, "001": name})
        good(job.make())
        sound(job)
        assert job.spelt("001") == [name]
        assert job.planned() == {("001", "lettering"), ("002", "lettering")}
        good(job.make())
    assert job.status()["due"]["again"] == []


def test_a_sheet_is_stale_whose_name_was_corrected_when_only_its_plaque_was_cut(job):
    good(job.make())
    good(job.mark("cut", "blank-01"))
    good(job.make())
    assert job.status()["due"]["stale"] == {}
    job.listed({**NAMES, "001": "Wrenna"})
    assert job.status()["due"]["stale"] == {"lettering-01": ["001"]}


def test_the_approved_spelling_is_the_one_that_is_laid(job):
    job.listed(approval="required")
    good(job.call("approve", job.ticket, "--by", "Ann Ode", "--all"))
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "001"))
    job.listed({**NAMES, "001": "Wrenna"}, approval="required")
    refused = job.make()
    assert refused.exit_code == 1 and "changed since Ann Ode approved it" in refused.stderr
    assert job.planned() == set()
    good(job.call("approve", job.ticket, "--by", "Ann Ode", "001"))
    good(job.make())
    assert job.spelt("001") == ["Wrenna"] and job.planned() == {("001", "lettering")}


def test_again_cuts_no_plaque_that_has_no_name_on_it(job):
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.make("--again", "001"))
    sound(job)
    assert job.planned() == {("001", "lettering")}
    with look(job.record) as db:
        rows = db.execute("SELECT kind, superseded FROM pieces JOIN versions ON versions.id = version WHERE copy = 1")
        assert {tuple(row) for row in rows} >= {("lettering", 1), ("blank", 0)}


@pytest.mark.parametrize(
    ("state", "words", "anew"),
    [
        ("fitted", ["001"], {"lettering", "blank"}),  # the old name is glued on it
        ("spoiled", ["001", "--part", "blank"], {"lettering", "blank"}),
        ("spoiled", ["001", "--part", "lettering"], {"lettering"}),
    ],
)
def test_again_cuts_a_plaque_that_cannot_be_used_again(job, state, words, anew):
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark(state, *words))
    good(job.make("--again", "001"))
    sound(job)
    assert job.planned() == {("001", kind) for kind in anew}


def test_plaques_and_their_sheets_are_marked_by_what_they_are_called_on_paper(job):
    good(job.make())
    assert "plaque sheet 1" in (job.out / "worklist.html").read_text(encoding="utf-8")
    assert "marked: cut: blank-01 (2 pieces)" in good(job.mark("cut", "plaque-1")).stdout
    good(job.mark("cut", "lettering-01"))
    assert "marked: spoiled: 001 (blank)" in good(job.mark("spoiled", "001", "--part", "plaque")).stdout
    assert states(job.record)["001", "blank", 1, 1] == "spoiled"
    told = good(job.call("mark", "spoiled", "--help")).stdout
    assert "backing, blank (plaque), lettering (name), template" in " ".join(told.split())


@pytest.mark.parametrize(
    ("old", "new"),
    [("height = 40", "height = 42"), ("[nest]", "[material]\nblank = {{ thickness = 5 }}\n[nest]")],
)
def test_a_plaque_of_another_form_or_material_is_cut_again(job, old, new):
    good(job.make())
    good(job.mark("cut", "--all"))
    job.listed(ticket=TICKET.replace(old, new, 1))
    good(job.make("--again", "001"))
    sound(job)
    assert job.planned() == {("001", "lettering"), ("001", "blank")}


def test_again_cuts_what_the_name_is_cut_through_or_scored_on(job):
    job.listed(mount="pierced")
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.make("--again", "001"))
    sound(job)
    assert job.planned() == {("001", "blank")}


def test_an_estimate_asks_for_no_plaque_that_is_there(job):
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "001"))
    job.listed({**NAMES, "001": "Wrenna"})
    told = good(job.call("estimate", job.ticket, "--workers", 1)).stdout
    assert "1 piece of lettering" in told and "blank" not in told


def test_one_sheet_of_names_and_plaques_keeps_both_apart(job):
    design = '[design.plain]\nmaterials = {{ blank = "lettering" }}\n[nest]'
    both = TICKET.replace("[nest]", design).replace("width = 150\nheight = 60", "width = 300\nheight = 120")

    def listed(name):
        job.listed(ticket=both)
        job.roster.write_text(f"id,name,design\n001,{name},plain\n002,Odo,plain\n", encoding="utf-8")

    listed("Wren")
    good(job.make())
    assert {kind for _, kind, _ in job.laid()["lettering-01"]} == {"lettering", "blank"}
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "001"))
    listed("Wrenna")
    good(job.make())
    sound(job)
    assert job.planned() == {("001", "lettering")}
    good(job.mark("cut", "--all"))
    good(job.make())
    sound(job)
    job.record.unlink()
    good(job.call("record", "rebuild", job.ticket, job.out))
    good(job.make())
    sound(job)
    assert job.planned() == set() and job.spelt("001") == ["Wrenna"]


@pytest.mark.parametrize("again", [False, True])
def test_a_correction_that_cannot_be_made_costs_no_plaque(job, again):
    good(job.make())
    good(job.mark("cut", "--all"))
    if not again:
        good(job.mark("spoiled", "001"))
    job.listed({**NAMES, "001": "Wren" * 14})
    words = ["--again", "001"] if again else []
    assert job.make(*words).exit_code == 1
    sound(job)
    assert job.plates()["001"]["status"] == "refused"
    job.listed({**NAMES, "001": "Wrenna"})
    good(job.make(*words))
    sound(job)
    assert job.spelt("001") == ["Wrenna"] and job.planned() == {("001", "lettering")}
