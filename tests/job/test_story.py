"""A job of twelve names over some weeks, by the command line alone: proof, corrections, two who approve, sheets cut,
pieces spoiled, a list sorted and grown, a font changed by accident. Record and files are looked at independently."""

import csv
import random
import re

import pytest

from tests.job.kept_jobs import LastingJob
from tests.jobs import good
from tests.record.independent import faults, look, states

TICKET = """
[job]
title = "The long row"
roster = "trees.csv"
approval = "required"
[face]
shape = "ellipse"
width = 60
height = 40
[lettering]
font = "Pacifico"
strengthen = false
legibility = "off"
[jig]
style = "none"
[[stock]]
material = "lettering"
width = 90
height = 75
price = 11.5
[nest]
engine = "rectangle"
"""

_BEGIN = ("Al", "Bo", "Di", "Ed", "Ivo", "Jo", "Lu", "Mo", "Ty", "Una")
_END = ("Ash", "Elm", "Fir", "Oak", "Yew")


def people(count, seed):
    """Invented names, no two alike, and short: a letter more of each takes a second."""
    chance, found = random.Random(seed), {}
    while len(found) < count:
        name = f"{chance.choice(_BEGIN)} {chance.choice(_END)}"
        found[name] = None
    return list(found)


class Story(LastingJob):
    def listed(self, names, font="Pacifico"):
        self.ticket.write_text(TICKET.replace("Pacifico", font), encoding="utf-8")
        rows = [f"{name},{len(name)}" for name in names]
        self.roster.write_text("\r\n".join(["name,tree", *rows, ""]), encoding="utf-8-sig", newline="")

    def names(self):
        with self.roster.open(encoding="utf-8-sig", newline="") as file:
            return [row["name"] for row in csv.DictReader(file)]

    def told(self):
        """Where the batch stands in short: plates by state, and how many are due for what."""
        status = self.status()
        due = {what: len(things) for what, things in status["due"].items() if things}
        return status["states"], due

    def ids(self):
        return {plate["name"]: plate["id"] for plate in self.status()["plates"]}

    def cut_once(self):
        """No plate's name was cut again but for those that are spoiled."""
        with look(self.record) as db:
            rows = db.execute(
                "SELECT plate, sum(state IN ('cut', 'fitted', 'hung')) AS cut, sum(state = 'planned') AS planned "
                "FROM pieces WHERE kind = 'lettering' GROUP BY plate"
            )
            return all(row["cut"] + row["planned"] == 1 for row in rows)


@pytest.mark.usefixtures("once_in_this_process")
def test_twelve_names_from_the_proof_to_the_next_three(tmp_path):
    job, first = Story(tmp_path), people(12, seed=4)
    job.listed(first)
    assert job.told() == ({"new": 12}, {"approve": 12})
    good(job.call("proof", job.ticket, "-o", tmp_path / "proof", "--workers", 1))
    ids = job.ids()
    assert list(ids.values()) == [f"{n:03d}" for n in range(1, 13)]

    # three corrections come back with the proof; two people approve
    fixes = {first[4]: "Philippa Oak", first[8]: first[8] + "e", first[11]: first[11].replace(" ", " van ")}
    rows = "\n".join(f"{ids[name]},{text}" for name, text in fixes.items())
    (tmp_path / "fixes.csv").write_text(f"id,text\n{rows}\n", encoding="utf-8")
    good(job.call("approve", job.ticket, "--corrections", tmp_path / "fixes.csv", "--apply"))
    ids = {fixes.get(name, name): plate for name, plate in ids.items()}
    assert job.ids() == ids and job.names() == list(ids)
    good(job.call("approve", job.ticket, "--by", "Ann Ode", "1-7"))
    assert job.told() == ({"new": 12}, {"approve": 5, "make": 7})
    good(job.call("approve", job.ticket, "--by", "Bo Lark", "5-12"))
    assert job.told() == ({"new": 12}, {"make": 12})
    good(job.make())
    sheets = list(job.laid())
    assert len(sheets) >= 3
    assert job.told() == ({"planned": 12}, {"cut": len(sheets)})
    assert {p["approved"] for p in job.status()["plates"]} == {"Ann Ode", "Ann Ode, Bo Lark", "Bo Lark"}

    # the first and the last sheet are cut, and two of their names break
    done = good(job.mark("cut", sheets[0], sheets[-1]))
    assert "not marked as cut" in done.stderr
    cut = {f"{sheet}.svg": job.cut_files()[f"{sheet}.svg"] for sheet in (sheets[0], sheets[-1])}
    there = {plate for sheet in (sheets[0], sheets[-1]) for plate, *_ in job.laid()[sheet]}
    broken = sorted(there)[:2]
    good(job.mark("spoiled", *(str(int(plate)) for plate in broken)))
    counts = {"planned": 12 - len(there), "spoiled": 2, "cut": len(there) - 2}
    assert job.told()[0] == counts
    status = job.status()["due"]
    assert status["recut"] == status["make"] == broken
    assert set(status["fit"]) == there - set(broken)
    shelf = [rest["name"] for rest in job.status()["shelf"]]
    assert shelf

    # the list is sorted by surname and grows; the ticket gets another font by accident
    new = [f"{name} II" for name in people(3, seed=8)]
    job.listed(sorted([*ids, *new], key=lambda name: name.split()[1:]), font="Lobster")
    done = good(job.make(), 1)
    assert {name: plate for name, plate in job.ids().items() if name in ids} == ids
    assert sorted(set(job.ids().values()) - set(ids.values())) == [f"{n:03d}" for n in range(13, 16)]
    assert len(re.findall(r"changed since .* \(font: Pacifico -> Lobster\)|more like this", done.stderr)) >= 1
    assert "the ticket now says otherwise (font)" in done.stderr
    assert {name: data for name, data in job.cut_files().items() if name in cut} == cut
    again = set().union(*(own for sheet, own in job.laid().items() if f"{sheet}.svg" not in cut))
    assert again == {(plate, "lettering", 2) for plate in broken}, "only what was approved so, and broke, is laid"
    assert faults(job.record, job.out) == [] and job.cut_once()

    # the font is put right, the new names are approved
    job.listed(job.names())
    assert job.told()[1]["approve"] == 3
    good(job.call("proof", job.ticket, "-o", tmp_path / "proof", "--workers", 1))
    page = (tmp_path / "proof" / "proof.html").read_text(encoding="utf-8")
    assert page.count(">New on the list<") == 3 and "Changed" not in page  # whatever the run by accident has shown
    good(job.call("approve", job.ticket, "--all", "--by", "Ann Ode"))
    good(job.make())
    assert {name: data for name, data in job.cut_files().items() if name in cut} == cut
    summary = job.summary()
    planned = [sheet for sheet in summary["sheets"] if sheet["state"] == "planned"]
    assert {sheet["offcut"] for sheet in planned if "offcut" in sheet} == set(shelf)
    bought = [sheet for sheet in planned if "offcut" not in sheet]
    assert sum(line["to_buy"] for line in summary["stock"]) == len(bought)
    assert summary["cost"] == len(bought) * 11.5
    assert len(bought) <= len(sheets) - 1
    assert sum(state != "spoiled" for state in states(job.record).values()) == 15
    assert faults(job.record, job.out) == [] and job.cut_once()
    assert job.told() == (
        {"planned": 15 - len(there) + 2, "cut": len(there) - 2},
        {"cut": len(planned), "recut": 2, "fit": len(there) - 2},
    )

    # and to the end
    good(job.mark("cut", "--all"))
    good(job.mark("fitted", "--all"))
    good(job.mark("hung", "--all"))
    assert job.told() == ({"hung": 15}, {})
    assert "Nothing to order" in good(job.make()).stdout
    good(job.call("inspect", job.out))
    assert faults(job.record, job.out) == []
