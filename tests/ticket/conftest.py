"""What the tests of tickets share: files beside a list of names, and what is wrong with a ticket."""

import pytest

from nameplate.errors import TicketError
from nameplate.ticket.reader import read_ticket


@pytest.fixture
def write(tmp_path):
    """Write a file, or the ticket, beside a list of names; gives its path."""
    (tmp_path / "names.csv").write_text("name,id\nAda,1\n", encoding="utf-8")

    def _write(text, name="job.toml", *, encoding="utf-8"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(text.encode(encoding))
        return path

    return _write


@pytest.fixture
def problems(write):
    """Read a ticket of some text and give every reason why it is refused."""

    def _problems(text, **options):
        with pytest.raises(TicketError) as caught:
            read_ticket(write(text), **options)
        return caught.value.problems

    return _problems
