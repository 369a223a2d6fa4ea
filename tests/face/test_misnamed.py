import pytest

from nameplate.errors import FaceError
from nameplate.face.misnamed import misnamed_roles

from .conftest import SVG

DRAWN = f'<svg {SVG} width="100mm" height="80mm"><g id="rims"><rect id="board" width="90" height="60"/></g></svg>'


@pytest.fixture
def misnamed(write, tmp_path):
    """Give what is said of a ticket beside a drawing."""

    def of_ticket(text):
        write(DRAWN)
        (tmp_path / "job.toml").write_text(text, encoding="utf-8")
        return misnamed_roles(tmp_path / "job.toml")

    return of_ticket


def test_names_that_nothing_drawn_has_are_told_whatever_else_is_wrong_with_the_ticket(misnamed):
    roles = 'roles = { rmis = "engrave", board = "outline", x = 5 }'
    assert misnamed(f'[face]\nfile = "face.svg"\n{roles}\n[jigs]\nstyle = 5\n') == [
        "face.svg: face.roles: no path, layer or group drawn in it is named 'rmis'; did you mean rims?",
        "face.svg: face.roles: no path, layer or group drawn in it is named 'x'; its names: board, rims",
    ]


def test_the_faces_of_designs_are_looked_at_and_each_name_is_told_once(misnamed):
    face = 'file = "face.svg"\nroles = { logo = "hatch" }\n'
    (problem,) = misnamed(f"[face]\n{face}[design.gold.face]\n{face}[design.leaf]\ncut = true\n")
    assert "'logo'" in problem
    assert len(misnamed(f"[design.gold.face]\n{face}")) == 1


@pytest.mark.parametrize(
    "text",
    [
        "[face\n",
        "face = 5\ndesign = 3\n",
        '[face]\nfile = "face.svg"\nroles = 5\n',
        '[face]\nfile = "none.svg"\nroles = { x = "hole" }\n',
        '[face]\nfile = 5\nroles = { x = "hole" }\n',
        '[face]\nfile = "job.toml"\nroles = { x = "hole" }\n',
        '[face]\nshape = "ellipse"\nroles = { x = "hole" }\n',
        '[face]\nfile = "face.svg"\nroles = { " BOARD" = "hole" }\n',
    ],
)
def test_what_cannot_be_read_is_told_elsewhere(misnamed, text):
    assert misnamed(text) == []


def test_a_ticket_that_is_not_there_has_none(tmp_path):
    assert misnamed_roles(tmp_path / "none.toml") == []


def test_it_says_what_reading_the_drawing_says(misnamed, read):
    with pytest.raises(FaceError) as caught:
        read('<g id="rims"><rect id="board" width="90" height="60"/></g>', roles={"rmis": "score"})
    assert misnamed('[face]\nfile = "face.svg"\nroles = { rmis = "scroe" }') == list(caught.value.problems)
