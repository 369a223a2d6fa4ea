"""What is told of a stored file whose fields are wrong."""

import pytest

from nameplate.errors import LayoutError
from nameplate.nest.fields import Fields


@pytest.mark.parametrize(("count", "more"), [(20, []), (21, ["and 1 more faults"]), (45, ["and 25 more faults"])])
def test_twenty_faults_of_a_file_are_told_and_how_many_more_there_are(count, more):
    fields = Fields()
    for number in range(count):
        fields.wrong(f"sheets[{number}].width", "a number", None)
    with pytest.raises(LayoutError) as refused:
        fields.refuse()
    told = [f"sheets[{number}].width: expected a number, not nothing" for number in range(20)]
    assert list(refused.value.problems) == told + more


def test_outlines_may_have_as_many_corners_as_the_limit_and_no_more(monkeypatch):
    tile = {"outer": [[0, 0], [9, 0], [9, 9], [0, 9]]}
    for most, faults in ((4, 0), (3, 1)):
        monkeypatch.setattr("nameplate.nest.fields.MOST_CORNERS", most)
        fields = Fields()
        read = fields.region({"outline": [tile]}, "outline", "sheets[1]")
        assert len(fields.problems) == faults and (read is None) == (faults > 0)


def test_a_file_without_faults_is_not_refused():
    Fields().refuse()
