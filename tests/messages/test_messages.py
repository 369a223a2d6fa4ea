"""What the program says where something goes wrong, all of it as it stands in messages.txt, to be read through.

A message that is changed on purpose is written there anew by `python -m tests.messages.made`, and read once more.
"""

from __future__ import annotations

import re

import pytest

from tests.messages.codes import codes_of, codes_of_package
from tests.messages.made import CODES, MESSAGES, SITUATIONS, begin, noted, said_in, worded
from tests.messages.worded import WORDED

TOLD = dict(
    re.findall(r"^# (.+)\n((?:.+\n)+)", MESSAGES.read_text(encoding="utf-8") + "\n", re.MULTILINE),
)


#: Where the code of each finding is told.
WHERE = dict(line.split(": ", 1) for line in CODES.read_text(encoding="utf-8").splitlines())


def codes_told_in(title):
    return {code for code, where in WHERE.items() if where == title}


@pytest.fixture(scope="module")
def begun(tmp_path_factory):
    """Where the folders of situations lie that others begin like."""
    return tmp_path_factory.mktemp("begun")


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda situation: situation.title)
def test_a_situation_is_told_as_it_stands_in_the_list(situation, tmp_path, begun, once_in_this_process):
    begin(situation, tmp_path.resolve(), begun)
    with noted() as codes:
        assert said_in(situation, tmp_path.resolve()) == f"# {situation.title}\n{TOLD[situation.title]}"
    assert codes_told_in(situation.title) <= set(codes)


@pytest.mark.parametrize("message", WORDED, ids=lambda message: message.title)
def test_a_message_without_a_job_is_worded_as_it_stands_in_the_list(message):
    with noted() as codes:
        assert worded(message) == f"# {message.title}\n{TOLD[message.title]}"
    assert codes_told_in(message.title) <= set(codes)


def test_the_list_has_every_situation_once_and_no_other():
    assert list(TOLD) == [told.title for told in (*SITUATIONS, *WORDED)] and len(TOLD) >= 40


def test_every_code_of_the_package_is_told_once_in_the_list_and_no_other():
    # a new message needs a situation, or its own function among those that are asked: see made.py
    assert set(WHERE) == codes_of_package() and set(WHERE.values()) <= set(TOLD)


def test_a_code_that_cannot_be_read_from_the_source_is_refused():
    assert codes_of({"a.py": 'say("x")\ndef say(code): return Finding(code, "note", "")'}) == {"x"}
    with pytest.raises(ValueError, match=r"a\.py, line 1: the code f\(\) cannot be read from the source"):
        codes_of({"a.py": 'Finding(f(), "note", "")'})
    with pytest.raises(ValueError, match="the code code cannot be read"):
        codes_of({"a.py": 'code = "x"\nFinding(code, "note", "")'})


def test_every_message_is_one_line_with_its_severity_and_without_the_makers_words():
    lines = [line for told in TOLD.values() for line in told.splitlines()[1:]]
    assert [line for line in lines if not re.match(r"(error|warning|note): \S", line)] == []
    words = (
        r"an em|webs?(?! pages)|necks?|limbs?|MPa|Hausdorff|nominal(?!\.json)|solids?|counters?|glyphs?|None|Traceback"
    )
    assert [line for line in lines if re.search(rf"\b(?:{words})\b", line)] == []


def test_whatever_is_refused_ends_with_its_exit_code():
    for told in (TOLD[situation.title] for situation in SITUATIONS):
        code = int(re.search(r"\(ends with (\d)\)", told)[1])
        assert code in (0, 1, 2, 3)
        assert (code != 0) == ("error: " in told), told
