"""`nameplate mark`: shown and asked about where it is much, refused in sentences, never a traceback."""

import pytest

from tests.job.kept_jobs import LastingJob
from tests.jobs import call
from tests.record.independent import look, states


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    job = LastingJob(tmp_path_factory.mktemp("job")).write({"001": "Wren", "002": "Odo"}, '[jig]\nstyle = "template"')
    assert job.make().exit_code == 0
    return job


@pytest.fixture
def job(made):
    """The same job, with every mark undone at the end."""
    yield made
    while not made.call("mark", "undo", made.ticket, "--yes").exit_code:
        pass


def test_one_sheet_is_marked_without_asking(job):
    done = call("mark", "cut", job.ticket, "lettering-01", "--by", "Wren Abara")
    assert (done.exit_code, done.stdout) == (0, "marked: cut: lettering-01 (2 pieces)\n")
    with look(job.record) as db:
        assert db.execute("SELECT who FROM marks ORDER BY id DESC").fetchone()[0] == "Wren Abara"


@pytest.mark.parametrize(("answer", "after", "said"), [("y\n", "cut", "marked: "), ("n\n", "planned", "nothing was")])
def test_more_than_a_sheet_is_shown_and_asked_about(job, answer, after, said):
    done = call("mark", "cut", job.ticket, "--all", answer=answer)
    assert done.exit_code == 0
    assert "  lettering-01\n  template-01\ncut: lettering-01, template-01 (4 pieces)? [y/N]" in done.stderr
    assert said in done.output
    assert set(states(job.record).values()) == {after}


def test_where_nobody_answers_nothing_is_marked(job):
    done = call("mark", "cut", job.ticket, "--all", answer="")
    assert done.exit_code == 2
    assert "nobody answered, so nothing was marked; say --yes" in done.stderr


def test_plates_are_marked_in_ranges(job):
    call("mark", "cut", job.ticket, "--all", "--yes")
    done = call("mark", "fitted", job.ticket, "001-002")
    assert done.stdout == "marked: fitted: 001, 002 (lettering)\n"
    assert call("mark", "fitted", job.ticket, "001-002").stdout.startswith("nothing changes")


def test_what_is_wrong_is_told_in_sentences(job):
    done = call("mark", "spoiled", job.ticket, "001", "009")
    assert done.exit_code == 2
    assert done.stderr.splitlines() == [
        "error: plate 001 cannot be spoiled: not marked as cut yet: lettering on lettering-01",
        "error: 009: there is no plate of that id, and no such sheet",
    ]
    assert call("mark", "cut", job.ticket).exit_code == 2
    assert call("mark", "cut", job.ticket, "lettering-01", "--all").exit_code == 2


def test_undo_says_what_it_takes_back(job):
    call("mark", "cut", job.ticket, "lettering-01", "--by", "Wren")
    done = call("mark", "undo", job.ticket, answer="y\n")
    assert "Undo cut: lettering-01 (2 pieces) (marked by Wren, " in done.stderr
    assert "undone: cut: lettering-01" in done.stdout
    assert "there is no mark that could be undone" in call("mark", "undo", job.ticket).stderr


def test_a_job_that_was_not_made_is_told(tmp_path):
    ticket = LastingJob(tmp_path).write().ticket
    done = call("mark", "cut", ticket, "lettering-01")
    assert (done.exit_code, list(tmp_path.glob("*.record"))) == (2, [])
    assert "was not made yet: there is no trees.record beside it; run nameplate make first" in done.stderr
