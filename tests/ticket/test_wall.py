"""`[wall]` in a ticket: what is read, and what does not go together, told in one go."""

import pytest

from nameplate.errors import TicketError
from nameplate.ticket.reader import read_ticket
from nameplate.ticket.wall_schema import WallKeys
from tests.jobs import write_job
from tests.ticket.tickets import MINIMAL

WALL = """
[wall]
width = "12yd"
height = 1800
columns = 10
rows = 10
pitch = ["12in", 150]
"""


@pytest.fixture
def read(tmp_path):
    def read_text(text):
        return read_ticket(write_job(tmp_path, text))

    return read_text


def test_a_wall_is_read_in_any_unit(read):
    text = MINIMAL + WALL.replace('"12yd"', "3657.6") + 'hanger = ["1in", 0]\nmoved = { "017" = [9.5, "1/4in"] }\n'
    wall = read(text).wall
    assert (wall.width, wall.pitch) == (3657.6, (304.8, 150))
    assert wall.hanger == ((25.4, 0.0),)
    assert wall.moved == (("017", ((9.5, 6.35),)),)
    several = read(MINIMAL + WALL.replace('"12yd"', "3657.6") + "hanger = [[-40, 25], [40, 25]]\n").wall
    assert several.hanger == ((-40, 25), (40, 25))


def test_a_ticket_without_a_wall_has_none(read):
    assert read(MINIMAL).wall == WallKeys()


def problems_of(read, text):
    with pytest.raises(TicketError) as raised:
        read(text)
    return raised.value.problems


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('width = "12yd"', 'line 14, wall.width = "12yd": '),
        ("width = 2700", "wall.columns = 10 at a pitch of 304.8 mm takes 2743.2 mm, and the wall's width is 2700 mm"),
        ("width = 3600\nstagger = 1.5", "wall.stagger = 1.5: expected at most 0.99"),
        ("width = 2800\nstagger = 0.5", "takes 2895.6 mm"),
        ("width = 3600\nfit = true", "wall.pitch and wall.fit both say where the places are"),
        ("width = 3600\nhanger = 25", "expected two lengths, [x, y], like [300, 150]"),
        ("width = 3600\nhanger = [[1, 2], [3]]", "several stand in brackets"),
        ('width = 3600\nmoved = { "017" = 9.5 }', '"017" = 9.5: expected two lengths'),
        ('width = 3600\norder = "name"', "expected one of list, surname, design, position"),
        ("width = 3600\nreserved = 3", "did you mean reserve?"),
    ],
)
def test_what_does_not_go_together_is_told_with_what_to_write(read, keys, says):
    assert says in "\n".join(problems_of(read, MINIMAL + WALL.replace('width = "12yd"', keys)))


def test_everything_that_is_missing_is_told_at_once(read):
    said = problems_of(read, f"{MINIMAL}[wall]\nstagger = 0.5\n")
    assert [problem.partition(", wall.")[2].partition(" ")[0] for problem in said] == [
        "width",
        "height",
        "columns",
        "rows",
        "pitch",
    ]
    assert all("job.toml" in problem for problem in said)
