"""Sign-off as a story: a list without ids, a proof, corrections, approvals by two people, what changes take away."""

import json
import re
from contextlib import contextmanager

import pytest

from nameplate.errors import RecordError
from nameplate.job import proofs
from nameplate.job.sign_off import ListedJob
from nameplate.system.digests import digest
from nameplate.system.writing import write_bytes_atomic
from tests.job.kept_jobs import TICKET, LastingJob
from tests.jobs import good
from tests.record.independent import faults, look

#: Invented names, two of them the same.
NAMES = ["Wren", "Odo", "Isla", "Mia", "Tam", "Fern", "Jude", "Mia", "Bo", "Pia"]

pytestmark = pytest.mark.usefixtures("once_in_this_process")


class SignedJob(LastingJob):
    def listed(self, *rows, approval="required", font="Pacifico"):
        """Write a list without ids (name,tree) and a ticket that requires approvals."""
        self.write(more='[jig]\nstyle = "none"')
        text = self.ticket.read_text(encoding="utf-8").replace("Pacifico", font)
        self.ticket.write_text(text.replace("[job]", f'[job]\napproval = "{approval}"'), encoding="utf-8")
        (self.folder / "trees.csv").write_text("\r\n".join(["name,tree", *rows, ""]), encoding="utf-8-sig", newline="")
        return self

    def rows(self):
        text = (self.folder / "trees.csv").read_text(encoding="utf-8-sig")
        return text.splitlines()[1:]

    def proof(self, *options, out=None):
        return self.call("proof", self.ticket, "-o", out or self.folder / "proof", "--workers", 1, *options)

    def approve(self, *words):
        return self.call("approve", self.ticket, *words)

    def said(self):
        """What the proof says of each plate about its approval, by id."""
        html = (self.folder / "proof" / "proof.html").read_text(encoding="utf-8")
        cards = re.findall(r"<article.*?</article>", html, re.DOTALL)
        ids = [re.search(r"No\. ([^,<]+)", card)[1] for card in cards]
        signs = [re.search(r'aria-hidden="true">.</span>((?!Please)[^<]+)', card) for card in cards]
        return {plate: sign[1] if sign else "" for plate, sign in zip(ids, signs, strict=True)}


@pytest.fixture
def job(tmp_path):
    trees = ["oak", "elm", "ash", "fir", "yew", "oak", "elm", "ash", "fir", "yew"]
    return SignedJob(tmp_path).listed(*(f"{name},{tree}" for name, tree in zip(NAMES, trees, strict=True)))


def test_who_approves_may_have_a_comma_in_what_they_are_called(job):
    for who in ("Ann Ode, board", "Bo Lark, board"):
        good(job.approve("--by", who, "1"))
    assert "approved: 1 of 10, by Ann Ode, board, Bo Lark, board\n" in job.call("status", job.ticket).stdout
    assert job.status()["plates"][0]["approved"] == "Ann Ode, board, Bo Lark, board"


def test_ten_names_from_the_proof_to_the_next_two(job):
    good(job.proof())
    assert sorted(p.name for p in (job.folder / "proof").iterdir()) == ["files.json", "proof.html", "proof.pdf"]
    assert set(job.said()) == {f"{n:03d}" for n in range(1, 11)} and set(job.said().values()) == {""}

    # two corrections came back, one of them another name altogether
    fixes = job.folder / "fixes.csv"
    fixes.write_text("id,text\n1,Wrenn\n9,Bohumil\n", encoding="utf-8")
    before = (job.folder / "trees.csv").read_bytes()
    shown = good(job.approve("--corrections", fixes))
    assert "plate 001, row 2: “Wren” -> “Wrenn”" in shown.stdout and "nothing was written" in shown.stdout
    assert (job.folder / "trees.csv").read_bytes() == before
    good(job.approve("--corrections", fixes, "--apply"))
    after = before.replace(b"\nWren,", b"\nWrenn,").replace(b"\nBo,", b"\nBohumil,")
    assert (job.folder / "trees.csv").read_bytes() == after
    good(job.proof())
    assert {i: re.sub(r" \d{4}-\d\d-\d\d:", " SOME DAY:", s) for i, s in job.said().items() if s} == {
        "001": "Changed since the proof of SOME DAY: the text was “Wren”",
        "009": "Changed since the proof of SOME DAY: the text was “Bo”",
    }

    # two people approve; one plate is left
    good(job.approve("--by", "Ann Ode", "001-006"))
    done = good(job.approve("--by", "Bo Lark", "6-9"))
    assert "Bo Lark approved 4 plates (006-009)" in done.stdout and "1 of 10 plates wait" in done.stdout
    assert job.status()["due"]["approve"] == ["010"]
    assert "approved: 9 of 10, by Ann Ode, Bo Lark\n" in job.call("status", job.ticket).stdout
    done = job.make()
    assert done.exit_code == 1
    assert "row 11, plate 010: “Pia”: nobody has approved it" in done.stderr
    assert "9 of 10 names made" in done.stdout
    plates = job.plates()
    assert plates["006"]["approved"] == "Ann Ode, Bo Lark" and plates["010"]["approved"] is None
    assert {i for i, p in plates.items() if p["status"] == "made"} == {f"{n:03d}" for n in range(1, 10)}
    proof = (job.out / "proof.html").read_text(encoding="utf-8")
    # the plate that waits is drawn, too, so that it can be approved: as `nameplate proof` has it, in one version
    assert proof.count("<svg") == 10 and "Not made yet" not in proof and "Waits for an approval" in proof
    good(job.proof())
    files = [(folder / "proof.html").read_text(encoding="utf-8") for folder in (job.out, job.folder / "proof")]
    versions = [set(re.findall(r", version ([0-9a-f]+)<", html)) for html in files]
    assert versions[0] == versions[1] and len(versions[0]) == 1
    assert faults(job.record, job.out) == []

    # all is cut, the list is sorted, two names are new, and the font slips
    good(job.mark("cut", "--all"))
    cut = job.cut_files()
    rows = sorted([*job.rows(), "Zed,oak", "Una,elm"], reverse=True)
    job.listed(*rows, font="Lobster")
    done = job.make()
    assert done.exit_code == 1
    assert {i: p["name"] for i, p in job.plates().items()} == {
        **{f"{n:03d}": name for n, name in enumerate(NAMES, 1)},
        "001": "Wrenn",
        "009": "Bohumil",
        "011": "Zed",
        "012": "Una",
    }
    assert [p["extra"]["tree"] for i, p in sorted(job.plates().items()) if p["name"] == "Mia"] == ["fir", "ash"]
    assert job.cut_files() == cut  # nothing was cut twice, and nothing is made that nobody approved
    assert "cut, and the ticket now says otherwise (font)" in done.stderr

    # the font is put right: the new names and the one that was left are approved, and only they are laid
    job.listed(*rows)
    good(job.proof())
    # nobody was asked to sign what the run has shown in the other font
    assert [job.said()[i] for i in ("010", "011", "012")] == ["", "New on the list", "New on the list"]
    assert job.said()["001"].startswith("Approved by Ann Ode, 20")
    good(job.approve("--by", "Ann Ode", "--all"))
    good(job.make())
    new = set().union(*(pieces for sheet, pieces in job.laid().items() if f"{sheet}.svg" not in cut))
    assert new == {("010", "lettering", 1), ("011", "lettering", 1), ("012", "lettering", 1)}
    assert {name: data for name, data in job.cut_files().items() if name in cut} == cut
    assert faults(job.record, job.out) == []
    status = job.status()
    assert status["states"] == {"planned": 3, "cut": 9} and status["due"]["approve"] == []
    assert status["due"]["fit"] == [i for i, p in job.plates().items() if p["state"] == "cut"]


def test_a_change_after_approval_takes_it_away_says_what_and_taken_back_gives_it_back(job):
    job.listed("Wren,oak", "Odo,elm")
    good(job.approve("--by", "Ann Ode", "--all"))
    job.listed("Wren,oak", "Odoh,elm")
    done = job.make()
    assert done.exit_code == 1
    assert re.search(r"plate 002: “Odoh”: changed since Ann Ode approved it on \S+ \(text: Odo -> Odoh\)", done.stderr)
    job.listed("Wren,oak", "Odo,elm", font="Lobster")
    done = job.make()
    assert done.exit_code == 1 and done.stderr.count("font: Pacifico -> Lobster") == 2
    job.listed("Wren,oak", "Odo,elm")
    good(job.make())


def test_a_warning_names_what_nobody_approved_and_a_job_without_approvals_hears_one_note(job):
    job.listed("Wren,oak", "Odo,elm", approval="warn")
    done = good(job.make())
    assert done.stderr.count("approved") == 1 and "note: nobody has approved these names" in done.stderr
    good(job.approve("--by", "Ann Ode", "1"))
    done = good(job.make())
    assert "warning: 1 plate is made though not approved as now ordered: 002 “Odo”: nobody has" in done.stderr
    job.listed("Wren,oak", "Odo,elm", approval="none")
    assert "approved" not in good(job.make()).stderr


def test_who_waits_for_an_approval_is_worked_out_once_and_not_for_every_row(job, monkeypatch):
    asked = []
    waiting = ListedJob.waiting.fget
    monkeypatch.setattr(ListedJob, "waiting", property(lambda listed: asked.append(1) or waiting(listed)))
    assert job.make().exit_code == 1
    assert 0 < len(asked) < len(NAMES)


def test_a_row_that_may_be_two_plates_is_asked_about_and_answered_by_a_column_of_ids(job):
    job.listed("Mia,oak", "Wren,elm", "Odo,ash", "Mia,fir", approval="none")
    good(job.make())
    job.listed("Wren,elm", "Mia,yew", "Odo,ash", approval="none")
    done = job.make()
    assert done.exit_code == 1
    assert "“Mia”: is it plate 001 “Mia” or plate 004 “Mia”, or a new plate?" in done.stderr
    assert {p["id"]: p["status"] for p in job.summary()["plates"]} == {
        "002": "made",
        "? (row 3)": "refused",
        "003": "made",
    }
    rows = ["id,name,tree", ",Wren,elm", "4,Mia,yew", ",Odo,ash", ""]
    (job.folder / "trees.csv").write_text("\n".join(rows), encoding="utf-8")
    good(job.make())
    assert list(job.plates()) == ["002", "004", "003"]


def test_what_cannot_be_approved_is_named_and_nothing_is_kept(job):
    done = job.approve("--by", "Ann Ode", "1", "77", "20-30")
    assert done.exit_code == 2
    assert done.stderr == "".join(f"error: there is no plate {one}; there are 001-010\n" for one in ("77", "20-30"))
    assert job.status()["due"]["approve"] == [f"{n:03d}" for n in range(1, 11)]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "which plates"),
        (["--all"], "Write --by WHO"),
        (["--by", " ", "1"], "Write --by WHO"),
        (["--by", "Ann", "--all", "1"], "--all means every plate"),
        (["--by", "Ann", "--all", "--apply"], "say which with --corrections FILE"),
    ],
)
def test_wishes_that_say_too_little_are_answered(job, words, said):
    done = job.approve(*words)
    assert done.exit_code == 2 and said in done.stderr


def test_a_proof_replaces_no_finished_run(job):
    job.listed("Wren,oak", approval="none")
    good(job.make())
    before = {p: p.read_bytes() for p in job.out.rglob("*") if p.is_file()}
    done = job.proof(out=job.out)
    assert done.exit_code == 2 and "holds a finished run" in done.stderr
    assert {p: p.read_bytes() for p in job.out.rglob("*") if p.is_file()} == before


def test_the_proof_alone_is_the_proof_of_the_run(job):
    job.listed("Wren,oak", "Odo,elm", approval="none")
    good(job.proof())
    good(job.make())
    for name in ("proof.html", "proof.pdf"):
        assert (job.folder / "proof" / name).read_bytes() == (job.out / name).read_bytes()


def test_a_spreadsheet_is_not_written_but_its_changes_are_told(job):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.append(["name"])
    book.active.append(["Wren"])
    book.save(job.folder / "trees.xlsx")
    text = job.ticket.read_text(encoding="utf-8").replace("trees.csv", "trees.xlsx")
    job.ticket.write_text(text, encoding="utf-8")
    (job.folder / "fixes.csv").write_text("id,text\n001,Wrenn\n", encoding="utf-8")
    before = (job.folder / "trees.xlsx").read_bytes()
    done = job.approve("--corrections", job.folder / "fixes.csv", "--apply", "--by", "Ann Ode", "--all")
    assert done.exit_code == 2
    assert "plate 001, row 2: “Wren” -> “Wrenn”" in done.stdout and "is a spreadsheet and is not written" in done.stderr
    assert (job.folder / "trees.xlsx").read_bytes() == before
    assert job.status()["due"]["approve"] == ["001"]


def test_a_status_without_a_record_says_what_to_do(job):
    done = good(job.call("status", job.ticket))
    assert "Pear row: 10 plates" in done.stdout and "there is no record of this job yet" in done.stdout
    assert job.status()["record"] is False and job.status()["states"] == {"new": 10}
    assert not job.record.exists()


def test_a_status_tells_what_was_spoiled_fitted_and_hung_and_what_it_cost(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", approval="none")
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("fitted", "001", "002"))
    good(job.mark("hung", "001"))
    good(job.mark("spoiled", "003"))
    status = job.status()
    assert status["states"] == {"spoiled": 1, "fitted": 1, "hung": 1}
    assert (status["due"]["make"], status["due"]["recut"], status["due"]["hang"]) == (["003"], ["003"], ["002"])
    assert status["cost"] == {"cut": 3.5, "planned": 0.0}
    assert [(rest["name"], rest["material"]) for rest in status["shelf"]] == [("rest of lettering 01", "lettering")]
    good(job.make())
    status = job.status()
    assert status["states"] == {"planned": 1, "fitted": 1, "hung": 1}
    assert (status["due"]["make"], status["due"]["recut"]) == ([], ["003"])
    assert status["due"]["cut"] == [{"sheet": "lettering-02", "pieces": 1}]
    said = good(job.call("status", job.ticket)).stdout
    assert "cut      1 sheet: lettering-02 (1 piece)" in said and "cost so far 3.50" in said


def test_pierced_plates_are_due_to_be_hung_until_they_are_whatever_was_fitted(job):
    job.listed("Wren,oak", "Odo,elm", approval="none")
    text = job.ticket.read_text(encoding="utf-8")
    blank = '\n[[stock]]\nmaterial = "blank"\nwidth = 200\nheight = 100\n'
    job.ticket.write_text(text.replace("[jig]", 'mount = "pierced"\n[jig]') + blank, encoding="utf-8")
    good(job.make())
    good(job.mark("cut", "--all"))
    assert (job.status()["due"]["fit"], job.status()["due"]["hang"]) == ([], ["001", "002"])
    good(job.mark("fitted", "001"))
    assert job.status()["states"] == {"cut": 1, "fitted": 1}
    assert job.status()["due"]["hang"] == ["001", "002"]
    good(job.mark("hung", "001"))
    assert job.status()["due"]["hang"] == ["002"]


def test_a_name_that_is_to_be_made_again_is_neither_to_be_fitted_nor_hung(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", approval="none")
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("fitted", "002"))
    due = job.status()["due"]
    assert (due["again"], due["fit"], due["hang"]) == ([], ["001", "003"], ["002"])
    job.listed("Wrenn,oak", "Oddo,elm", "Isla,ash", approval="none")
    due = job.status()["due"]
    assert (due["again"], due["fit"], due["hang"]) == (["001", "002"], ["003"], [])
    job.listed("Wrenn,oak", "Oddo,elm", "Isla,ash", approval="required")
    done = job.make("--again", "001")
    assert done.exit_code == 1
    assert "3 of 3 names made; refused as now ordered, so left as cut before: 001, 002; 2 errors, " in done.stdout


def test_what_waits_for_approval_is_not_due_to_be_made_and_an_estimate_says_so(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", approval="required")
    estimate = ("estimate", job.ticket, "--workers", 1)
    sentence = "Of these plates 3 wait for approval (001-003): make refuses them before that"
    assert sentence in good(job.call(*estimate)).stdout
    good(job.approve("--by", "Ann Ode", "1"))
    assert json.loads(good(job.call(*estimate, "--json")).stdout)["waiting"] == ["002", "003"]
    due = job.status()["due"]
    assert (due["approve"], due["make"]) == (["002", "003"], ["001"])
    good(job.approve("--by", "Ann Ode", "--all"))
    assert "approval" not in good(job.call(*estimate)).stdout
    assert job.status()["due"]["make"] == ["001", "002", "003"]
    job.listed("Wrenn,oak", "Odo,elm", "Isla,ash", approval="warn")  # there it is made all the same
    assert "approval" not in good(job.call(*estimate)).stdout
    assert (job.status()["due"]["approve"], job.status()["due"]["make"]) == (["001"], ["001", "002", "003"])


def test_a_list_by_itself_has_no_record(job):
    done = job.call("status", job.folder / "trees.csv")
    assert done.exit_code == 2 and "only a job with a ticket has a record" in done.stderr


@pytest.mark.parametrize("end", ["before the list", "after the list"])
def test_however_corrections_end_the_list_as_it_lies_there_has_its_plates(job, monkeypatch, end):
    """A new name that is like no other: only the record can tell whose it is."""
    good(job.approve("--by", "Ann Ode", "--all"))
    (job.folder / "fixes.csv").write_text("id,text\n005,Bohumil\n", encoding="utf-8")
    before = job.rows()

    def killed(*given):
        if end == "after the list":
            write_bytes_atomic(*given)
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr("nameplate.job.approving.write_bytes_atomic", killed)
        done = job.approve("--corrections", job.folder / "fixes.csv", "--apply")
        assert done.exit_code == 130 and "interrupted; nameplate status tells what was kept" in done.stderr
    assert (job.rows() == before) is (end == "before the list")
    assert [p["id"] for p in job.status()["plates"]] == [f"{n:03d}" for n in range(1, 11)]
    good(job.approve("--corrections", job.folder / "fixes.csv", "--apply"))
    assert job.rows()[4] == "Bohumil,yew"
    assert {p["id"]: p["name"] for p in job.status()["plates"]}["005"] == "Bohumil"
    assert job.status()["due"]["approve"] == ["005"]


def test_an_approval_is_all_or_nothing_and_waits_for_no_other_command(job, monkeypatch):
    from nameplate.record import store

    good(job.approve("--by", "Ann Ode", "001"))
    monkeypatch.setattr(store, "WAIT_S", 0.05)
    with store.writing(job.record) as other, other.transaction():
        done = job.approve("--by", "Ann Ode", "--all")
    assert done.exit_code == 2 and "is being written by another command" in done.stderr
    assert len(job.status()["due"]["approve"]) == 9


def test_a_record_made_anew_from_a_folder_knows_the_numbers_of_a_list_without_ids(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", approval="none")
    good(job.make())
    job.record.unlink()
    good(job.call("record", "rebuild", job.ticket, job.out))
    job.listed("Isla,ash", "Odo,elm", "Wren,oak", approval="none")
    assert {p["name"]: p["id"] for p in job.status()["plates"]} == {"Wren": "001", "Odo": "002", "Isla": "003"}


def test_a_run_of_some_plates_asks_for_no_approval_of_the_others(job):
    job.listed("Wren,oak", "Odo,elm")
    good(job.approve("--by", "Ann Ode", "1"))
    done = good(job.make("--only", "001"))
    assert "approved" not in done.stderr
    assert {i: p["status"] for i, p in job.plates().items()} == {"001": "made", "002": "held"}


def test_a_proof_of_a_list_by_itself_keeps_nothing(job):
    names = job.folder / "trees.csv"
    done = good(job.call("proof", names, "--face", "ellipse:60x40", "--sheet", "300x200", "-o", job.folder / "p"))
    assert "10 of 10 names" in done.stdout
    assert not list(job.folder.glob("*.record"))


def test_a_proof_is_made_where_no_record_can_be_kept(job, monkeypatch):
    job.listed("Wren,oak")

    @contextmanager
    def refuse(path, **_):
        raise RecordError("nothing may be written there")
        yield

    monkeypatch.setattr(proofs, "settled_writing", refuse)
    said = good(job.proof()).stderr
    assert "warning: no record of this job is kept, so nobody can approve its names here" in said
    assert "what changed: nothing may be written there" in said
    assert (job.folder / "proof" / "proof.html").is_file() and not job.record.exists()
    monkeypatch.undo()
    good(job.proof())
    assert job.record.exists()
    monkeypatch.setattr(proofs, "settled_writing", refuse)
    done = job.proof()
    assert done.exit_code == 2 and "error: nothing may be written there" in done.stderr


def test_a_withdrawal_takes_back_only_ones_own_approval_and_says_who_else_has_one(job):
    job.listed("Wren,oak", "Odo,elm")
    good(job.approve("--by", "Ann Ode", "--all"))
    good(job.approve("--by", "Bo Lark", "1"))
    refused = job.approve("--withdraw", "1", "2", "--by", "Pia Fern")
    assert refused.exit_code == 2
    assert refused.stderr == (
        "error: plate 001: Pia Fern has no approval there to withdraw; it is approved by Ann Ode, Bo Lark, who can "
        "withdraw that (--by)\n"
        "error: plate 002: Pia Fern has no approval there to withdraw; it is approved by Ann Ode, who can withdraw "
        "that (--by)\n"
    )
    good(job.approve("--withdraw", "1", "--by", "Bo Lark"))
    assert {p["id"]: p["approved"] for p in job.status()["plates"]} == {"001": "Ann Ode", "002": "Ann Ode"}
    assert good(job.approve("--withdraw", "--all", "--by", "Bo Lark")).stdout == "Bo Lark has approved no plate\n"


def test_an_approval_that_is_withdrawn_is_gone_and_who_withdrew_it_is_kept(job):
    job.listed("Wren,oak", "Odo,elm")
    good(job.approve("--by", "Ann Ode", "--all"))
    good(job.approve("--by", "Bo Lark", "--all"))
    done = good(job.approve("--withdraw", "2", "--by", "Ann Ode"))
    assert done.stdout == "Ann Ode withdrew the approval of plate 002\n"
    assert job.status()["plates"][1]["approved"] == "Bo Lark"
    good(job.approve("--withdraw", "2", "--by", "Bo Lark"))
    assert {p["id"]: p["approved"] for p in job.status()["plates"]} == {"001": "Ann Ode, Bo Lark", "002": None}
    done = job.make()
    assert done.exit_code == 1
    assert re.search(
        r"plate 002: “Odo”: Bo Lark withdrew its approval on \d{4}-\d\d-\d\d; nameplate proof", done.stderr
    )
    good(job.proof())
    assert job.said()["002"].startswith("Approval withdrawn by Bo Lark, 20")
    with look(job.record) as db:
        rows = db.execute("SELECT who, withdrawn_by, withdrawn IS NULL AS stands FROM approvals ORDER BY id").fetchall()
    assert [tuple(row) for row in rows] == [
        ("Ann Ode", "", 1),
        ("Ann Ode", "Ann Ode", 0),
        ("Bo Lark", "", 1),
        ("Bo Lark", "Bo Lark", 0),
    ]
    refused = job.approve("--withdraw", "1", "2", "9", "--by", "Ann Ode")
    assert refused.exit_code == 2
    assert refused.stderr == (
        "error: there is no plate 9; there are 001, 002\n"
        "error: plate 002: Ann Ode has no approval there to withdraw; nobody has\n"
    )
    assert job.status()["plates"][0]["approved"] == "Ann Ode, Bo Lark"
    good(job.approve("--by", "Bo Lark", "2"))
    assert job.status()["plates"][1]["approved"] == "Bo Lark"


def test_a_plate_that_was_approved_or_cut_does_not_lose_its_number_without_a_question(job):
    job.listed("Odo,oak", "Ida,elm", "Una,fir")
    good(job.approve("--by", "Ann Ode", "--all"))
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.make())
    # two rows change places and one is spelt otherwise: so short that it could be anybody
    job.listed("Idda,elm", "Odo,oak", "Una,fir")
    for command in (job.make, job.make, job.proof):
        done = command()
        assert done.exit_code == 1
        assert "row 2: “Idda”: is it plate 002 “Ida” (cut), or a new plate?" in done.stderr
        assert "(002, or 004 for a new plate)" in done.stderr
    (job.folder / "trees.csv").write_text("id,name,tree\n2,Idda,elm\n,Odo,oak\n,Una,fir\n", encoding="utf-8")
    done = job.make()
    assert "is it plate" not in done.stderr and job.plates()["002"]["state"] == "cut"
    # strangers in the place of one that is gone: said once, with what to do, and made as new plates
    job.listed("Odo,oak", "Una,fir", "Pia Holloway,ash", "Kit Vane,yew")
    done = job.make()
    assert (
        "plate 002 “Idda” (cut): no row of the list is this plate any more, and rows 4-5 are new plates" in done.stderr
    )
    assert "write 002 into a column id of its row" in done.stderr
    assert set(job.plates()) == {"001", "002", "003", "004", "005"}
    # an approval that nobody will use: its row may have gone by accident
    good(job.approve("--by", "Ann Ode", "4"))
    job.listed("Odo,oak", "Una,fir", "Kit Vane,yew")
    done = job.make()
    assert "plate 004 “Pia Holloway” (approved): no row of the list is this plate any more; if it is" in done.stderr


def test_a_plate_on_hold_keeps_its_approval(job):
    def held(hold, name="Odo", font="Pacifico"):
        job.write({"001": "Wren", "002": f"{name},1,{hold}"}, ticket=TICKET.replace("Pacifico", font))

    held("")
    good(job.approve("--by", "Ann Ode", "2"))
    held("yes")
    good(job.make())
    assert job.plates()["002"]["status"] == "held" and job.plates()["002"]["approved"] == "Ann Ode"
    assert job.status()["plates"][1]["approved"] == "Ann Ode"
    held("yes", font="Lobster")
    assert job.status()["plates"][1]["approved"] is None
    held("yes", font="nowhere.ttf")
    assert job.call("status", job.ticket).exit_code == 2  # the ticket's own font
    held("yes", name="Otto")
    good(job.proof())
    assert job.said()["002"].startswith("Changed since Ann Ode approved it")
    assert job.said()["001"] == ""


def test_a_sheet_planned_before_an_approval_was_withdrawn_is_not_offered_to_be_cut(job):
    job.listed("Wren,oak", "Odo,elm")
    good(job.approve("--by", "Ann Ode", "--all"))
    good(job.make())
    assert [sheet["sheet"] for sheet in job.status()["due"]["cut"]] == ["lettering-01"]
    assert job.status()["due"]["stale"] == {}
    good(job.approve("--withdraw", "2", "--by", "Ann Ode"))
    due = job.status()["due"]
    assert (due["cut"], due["stale"]) == ([], {"lettering-01": ["002"]})
    said = (
        "lettering-01 was planned before plate 002 changed (its row, its approval or a mark); run nameplate make first"
    )
    assert f"make     {said}" in job.call("status", job.ticket).stdout
    asked = job.call("mark", "cut", job.ticket, "lettering-01")
    assert asked.exit_code == 2 and f"warning: {said}" in asked.stderr and "nobody answered" in asked.stderr
    good(job.approve("--by", "Bo Lark", "2"))
    assert job.status()["due"]["stale"] == {}
    job.listed("Wren,oak", "Odoh,elm", approval="none")
    assert job.status()["due"]["stale"] == {"lettering-01": ["002"]}
    good(job.proof())
    assert job.status()["due"]["stale"] == {"lettering-01": ["002"]}
    good(job.make())
    assert job.status()["due"]["stale"] == {}
    done = good(job.call("mark", "cut", job.ticket, "lettering-01"))
    assert "warning" not in done.stderr


def test_a_sheet_with_a_piece_in_place_of_one_that_is_no_longer_spoiled_is_not_offered_to_be_cut(job):
    job.listed("Wren,oak", "Odo,elm", approval="none")
    good(job.make())
    good(job.mark("cut", "--all"))
    good(job.mark("spoiled", "001"))
    good(job.make())
    assert job.status()["due"]["stale"] == {}
    good(job.call("mark", "undo", job.ticket, "--yes"))
    assert job.status()["due"]["stale"] == {"lettering-02": ["001"]}
    done = good(job.mark("cut", "lettering-02"))
    assert "warning: lettering-02 was planned before plate 001 changed" in done.stderr


def test_an_approval_of_what_no_proof_has_shown_is_noted_after_corrections_as_after_changes_by_hand(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash")
    good(job.proof())
    fixes = job.folder / "fixes.csv"
    fixes.write_text("id,text\n1,Wrenn\n", encoding="utf-8")
    good(job.approve("--corrections", fixes, "--apply"))
    job.listed("Wrenn,oak", "Odoh,elm", "Isla,ash")
    said = good(job.approve("--by", "Ann Ode", "--all")).stdout
    assert "note: nobody has seen 2 plates (001, 002) on a proof as approved now; nameplate proof makes one" in said


def test_what_was_shown_under_a_short_name_of_its_font_was_seen(job):
    job.listed("Wren,oak", font="Playpen Sans")
    good(job.proof())
    with look(job.record) as db, db:  # as an older record has it
        short = db.execute("SELECT look FROM looks").fetchone()[0].replace("Playpen Sans ExtraBold", "Playpen Sans")
        db.execute("UPDATE looks SET look = ?, digest = ?", (short, digest(short.encode())))
    assert "nobody has seen" not in good(job.approve("--by", "Ann Ode", "--all")).stdout


def test_a_run_asks_for_the_signatures_that_are_missing(job):
    job.listed("Wren,oak", "Odo,elm", approval="warn")
    assert "Next: have proof.html signed; worklist.html" in good(job.make()).stdout
    good(job.approve("--by", "Ann Ode", "1"))
    assert "Next: have 1 name more of proof.html signed; worklist.html" in good(job.make()).stdout
    good(job.approve("--by", "Ann Ode", "2"))
    assert "Next: worklist.html and cards.html go to the laser and the bench" in good(job.make()).stdout


def test_a_run_asks_for_no_signature_where_nobody_approves(job):
    job.listed("Wren,oak", approval="none")
    assert "Next: worklist.html and cards.html go to the laser and the bench" in good(job.make()).stdout


def test_a_proof_shows_only_what_is_to_be_signed(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", approval="warn")
    good(job.approve("--by", "Ann Ode", "2"))
    assert "proof.html: 2 of 2 names; the list has 3\n" in good(job.proof("--unsigned")).stdout
    assert set(job.said()) == {"001", "003"}
    good(job.approve("--by", "Ann Ode", "--all"))
    nothing = job.proof("--unsigned")
    assert nothing.exit_code == 2 and "every plate that can be made is approved" in nothing.stderr
    assert set(job.said()) == {"001", "003"}  # what was there stays


def test_what_a_proof_does_not_show_nobody_has_seen(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", approval="warn")
    good(job.proof("--only", "2-3"))
    assert set(job.said()) == {"002", "003"}
    said = good(job.approve("--by", "Ann Ode", "--all")).stdout
    assert "note: nobody has seen plate 001 on a proof as approved now" in said
    unknown = job.proof("--only", "7")
    assert unknown.exit_code == 2 and "there is no plate 7" in unknown.stderr


def test_plates_that_a_proof_does_not_show_keep_their_numbers(job):
    job.listed("Wren,oak", "Odo,elm", approval="warn")
    good(job.proof("--only", "2"))
    job.listed("Odo,elm", "Wren,oak", approval="warn")
    assert [plate["id"] for plate in job.status()["plates"]] == ["002", "001"]


def test_a_proof_takes_no_other_commands_folder_and_one_of_some_plates_not_the_place_of_the_whole(job, monkeypatch):
    job.listed("Wren,oak", "Odo,elm", approval="warn")
    monkeypatch.chdir(job.folder)
    good(job.call("proof", job.ticket, "--workers", 1))
    good(job.call("proof", job.ticket, "--workers", 1, "--only", "2"))
    assert set(job.said()) == {"001", "002"} and (job.folder / "proof-part" / "proof.html").exists()
    good(job.call("coupon", "kerf", "-o", "kerf"))
    refused = job.proof(out=job.folder / "kerf")
    assert (
        refused.exit_code == 2 and "holds files of another command, which proof.html does not replace" in refused.stderr
    )
    assert (job.folder / "kerf" / "coupon.html").exists()


def test_all_plates_but_some_are_approved(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash")
    said = good(job.approve("--by", "Ann Ode", "--all", "--except", "2")).stdout
    assert said.startswith("Ann Ode approved 2 plates (001, 003)\n")
    for words, why in (
        (("--all", "--except", "7"), "there is no plate 7"),
        (
            ("--all", "--except", "1-3"),
            "--except leaves out all that can be made, 3 plates (001-003); name fewer there",
        ),
        (("1", "--except", "2"), "--except leaves plates out of --all"),
    ):
        refused = job.approve("--by", "Ann Ode", *words)
        assert refused.exit_code == 2 and why in refused.stderr


def test_several_plates_left_out_of_all_are_parted_by_commas_and_who_parts_them_by_spaces_is_told_so(job):
    job.listed("Wren,oak", "Odo,elm", "Isla,ash", "Ida,yew")
    refused = job.approve("--by", "Ann Ode", "--all", "--except", "1", "3")
    assert refused.exit_code == 2 and not refused.stdout
    told = " ".join(refused.stderr.replace("│", " ").split())
    assert "leave out the others or --all, or write --except with commas (006,011)" in told
    assert not [plate for plate in job.status()["plates"] if plate["approved"]]
    said = good(job.approve("--by", "Ann Ode", "--all", "--except", "1,3")).stdout
    assert said.startswith("Ann Ode approved 2 plates (002, 004)\n")


def test_except_is_the_reason_only_where_something_can_be_made(job):
    job.listed("Wren,oak", "\u6f22,elm")  # no font has that letter
    refused = job.approve("--by", "Ann Ode", "--all", "--except", "1")
    assert refused.exit_code == 2 and "leaves out all that can be made, plate 001;" in refused.stderr
    job.listed("\u6f22,elm")
    for words in ((), ("--except", "1")):
        refused = job.approve("--by", "Ann Ode", "--all", *words)
        assert refused.exit_code == 2 and "there is no plate to approve: none can be made" in refused.stderr


def test_a_key_that_changed_is_told_by_what_is_seen_of_it(job):
    """The highest lettering there may be is told of a name that is lower by it, and of none that never was so high."""
    job.listed("Wren,oak", "Bo,elm")
    good(job.proof())
    ticket = job.ticket.read_text(encoding="utf-8")
    job.ticket.write_text(ticket.replace("[lettering]", "[lettering]\nmax_height = 500"), encoding="utf-8")
    good(job.proof())
    assert set(job.said().values()) == {""}
    job.ticket.write_text(ticket.replace("[lettering]", "[lettering]\nmax_height = 9"), encoding="utf-8")
    good(job.proof())
    assert {s.partition(": ")[2] for s in job.said().values()} == {"it is set smaller"}
    before = job.said()
    good(job.proof())
    assert len(before) == 2 and set(job.said().values()) == {""}


def test_that_two_rows_say_the_same_is_told_until_the_later_one_is_approved(job):
    said = "“Mia” is also in row 5"
    assert said in job.proof().stderr
    good(job.approve("--by", "Ann Ode", "4"))
    assert said in job.proof().stderr
    good(job.approve("--by", "Ann Ode", "8"))
    assert said not in job.proof().stderr
    text = (job.folder / "trees.csv").read_text(encoding="utf-8-sig")
    (job.folder / "trees.csv").write_text(text.replace("Bo,", "Mia,"), encoding="utf-8-sig")
    told = job.proof().stderr
    assert told.count("is also in row") == 1 and "row 10: " + said in told
