"""What the program says where something goes wrong, all of it as it stands in messages.txt, to be read through.

A message that is changed on purpose is written there anew by `python -m tests.messages.made`, and read once more.
"""

from __future__ import annotations

import re

import pytest

from tests.messages.made import MESSAGES, SITUATIONS, said_in

TOLD = dict(
    re.findall(r"^# (.+)\n((?:.+\n)+)", MESSAGES.read_text(encoding="utf-8") + "\n", re.MULTILINE),
)


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda situation: situation.title)
def test_a_situation_is_told_as_it_stands_in_the_list(situation, tmp_path, in_this_process):
    assert said_in(situation, tmp_path.resolve()) == f"# {situation.title}\n{TOLD[situation.title]}"


def test_the_list_has_every_situation_once_and_no_other():
    assert list(TOLD) == [situation.title for situation in SITUATIONS] and len(TOLD) >= 40


def test_every_message_is_one_line_with_its_severity_and_without_the_makers_words():
    lines = [line for told in TOLD.values() for line in told.splitlines()[1:]]
    assert [line for line in lines if not re.match(r"(error|warning|note): \S", line)] == []
    words = (
        r"an em|webs?(?! pages)|necks?|limbs?|MPa|Hausdorff|nominal(?!\.json)|solids?|counters?|glyphs?|None|Traceback"
    )
    assert [line for line in lines if re.search(rf"\b(?:{words})\b", line)] == []


def test_whatever_is_refused_ends_with_its_exit_code():
    for told in TOLD.values():
        code = int(re.search(r"\(ends with (\d)\)", told)[1])
        assert code in (0, 1, 2, 3)
        assert (code != 0) == ("error: " in told), told
