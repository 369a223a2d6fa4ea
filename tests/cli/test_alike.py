import pytest

from nameplate.cli.alike import in_one, part_alike
from nameplate.findings import Finding


def errors(*messages, code="small", plates=True):
    return [
        Finding(code, "error", text, f"{row:03d}" if plates else None, row + 1) for row, text in enumerate(messages, 1)
    ]


def said(*messages, **how):
    """Give what errors with these messages are put into, and how many are left by themselves."""
    alike, single = part_alike(errors(*messages, **how))
    return [in_one(kind, most=12) for kind in alike], len(single)


@pytest.mark.parametrize(
    ("messages", "sentence"),
    [
        # what finds a name's errors speaks of the name in these ways
        (("“A”: it is odd", "“B”: it is odd", "“C”: it is odd"), "it is odd"),
        (("“A” is backed", "“B” is backed", "“C” is backed"), "each is backed"),
        (("letters of “A” close",) * 2 + ("letters of “B” close",), "letters of each close"),
        (("plate 001 blank is out", "plate 002 blank is out", "plate 003 blank is out"), "blank is out"),
        (("70.5 x 20 mm", "30 x 40 mm", "71 x 9.5 mm"), "71 x 9.5 to 70.5 x 20 mm"),
        (("takes 24% at -2.5", "takes 8% at -3.5", "takes 9% at 1.0"), "takes 8 to 24% at -3.5 to 1.0"),
        (("line “1931”, 3.1 mm", "line “1931”, 3.0 mm", "line “1931”, 3.2 mm"), "line “1931”, 3.0 to 3.2 mm"),
    ],
)
def test_the_same_words_are_told_once_without_names_and_with_the_range_of_figures(messages, sentence):
    assert said(*messages) == ([f"3 names: {sentence}: rows 2-4"], 0)


@pytest.mark.parametrize(
    "messages",
    [
        ("“A”: size “huge”", "“B”: size “tiny”", "“C”: size “odd”"),
        ("“A”: the id is taken by row 2", "“B”: the id is taken by row 3", "“C”: the id is taken by row 4"),
        ("line “1931” is low", "line “1932” is low", "line “1.5” is low"),
        ("“A”: 3 mm", "“B”: 3 x 2 mm", "“C”: 3 mm"),
        ("“A”: at x 3", "“B”: at y 3", "“C”: at y 3"),
        (),
    ],
)
def test_other_words_stay_apart(messages):
    assert said(*messages) == ([], len(messages))


def test_another_code_or_rows_without_a_plate_stay_apart():
    empty = ["the name is empty"] * 3
    assert said(*empty, plates=False) == (["3 rows: the name is empty: rows 2-4"], 0)
    mixed = [*errors(*empty[:2]), *errors(*empty[:2], code="other"), *errors(*empty[:2], plates=False)]
    assert part_alike(mixed) == ([], mixed)


def test_a_row_that_is_told_of_twice_counts_once():
    twice = [Finding("a", "error", "odd", "1", row) for row in (2, 2, 7, 3)]
    assert in_one(part_alike(twice)[0][0], most=1) == "3 names: odd: rows 2-3, ..."
    assert part_alike(twice[:3]) == ([], twice[:3])
