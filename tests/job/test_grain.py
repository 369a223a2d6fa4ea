"""Which way the grain of what is seen runs, read from the layout of whole runs."""

from tests.job.kept_jobs import TICKET, LastingJob
from tests.jobs import json_of

#: Ellipses of 60 x 40 mm on strips that are too narrow for them but turned.
PIERCED = TICKET.replace('material = "lettering"\nwidth = 150', 'material = "blank"\nwidth = 52').replace(
    "height = 60\nprice", "height = 150\nprice"
)


def made(folder, material):
    """Give the turns of all plaques of a run, and what was noted about the grain."""
    folder.mkdir()
    job = LastingJob(folder).write(
        {"001": "Wren", "002": "Odo"}, ticket=PIERCED, more='mount = "pierced"', extra=f"[material.blank]\n{material}\n"
    )
    job.make()
    layout = json_of(job.out / "layout.json")
    turns = [at["turn"] for sheet in layout["sheets"] for at in sheet["placements"]]
    told = json_of(job.out / "summary.json")["findings"]
    return turns, [f["message"] for f in told if f["code"] == "grain-turned"]


def test_plaques_of_wood_that_lie_across_are_noted_until_the_ticket_says_whether_they_may(tmp_path):
    turns, told = made(tmp_path / "a", 'name = "oak veneer"')
    assert {turn % 180 for turn in turns} == {90}
    assert told == [
        "pieces lie turned on wood, so that their grain runs another way: blank (oak veneer): 2; write grain = true "
        "below [material.blank] and all lie alike, or grain = false where it may run as it comes"
    ]
    assert made(tmp_path / "b", 'name = "oak veneer"\ngrain = false')[1] == []
    assert made(tmp_path / "c", 'name = "cast acrylic"')[1] == []
