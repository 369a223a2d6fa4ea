"""The judge of regular expressions, tried on expressions whose cost is known."""

import pytest

from .linear import slow_parts

#: Known to be slow: the first five are the textbook cases of CWE-1333 (from memory), the others from lists and sizes.
SLOW = [
    r"(a+)+b",
    r"([a-z]+)*c",
    r"(a|aa)*b",
    r"(.*)*x",
    r"\d+\d+$",
    r"\s*[\d., -]*?\s*(?:mm)?\s*x",
    r"<c\b[^<>]*?\br=.*[^<>]*>",
    r"(?:\s*,\s*)*",
    r"(a{1,3})*b",
    r"(\w+)\1",
]
LINEAR = [
    r"",
    r"#[0-9a-f]{6}",
    r"\d+(?:[.,]\d+)?",
    r"\s*+\d*+\s*+",
    r"(?>a+)+b",
    r"(?:[\s.]+[a-z])+",
    r"a*b*c*",
    r"(?:ab)*c",
    r"x*yx*",
]


@pytest.mark.parametrize("pattern", SLOW)
def test_slow_expressions_are_found(pattern):
    assert slow_parts(pattern)


@pytest.mark.parametrize("pattern", LINEAR)
def test_linear_expressions_pass(pattern):
    assert not slow_parts(pattern)


def test_a_search_that_starts_with_a_repeat_is_slow_only_where_it_can_fail():
    assert slow_parts(r"\s+$", search=True)
    assert slow_parts(r"a[a-z]*1", search=True)
    assert not slow_parts(r"\s+", search=True)
    assert not slow_parts(r"mm\s*$", search=True)
    assert not slow_parts(r"[a-z]+|\d+(?:[.,]\d+)?", search=True)
