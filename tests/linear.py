"""Judges from its syntax tree whether a regular expression takes steps in proportion to the length of a text.

A backtracking matcher is slow where one stretch of text can be divided among several unlimited repeats in many ways:
a repeat inside a repeat, two repeats of overlapping characters in a row, or, in a search, a repeat that every start
within one stretch runs through again before it fails. Possessive repeats and atomic groups never give back what they
took, so they only count in a search. The judgement is on the safe side: some of what it refuses would be linear.

Use: ``assert not slow_parts(PATTERN)``; with ``search=True`` for patterns that are searched for, not matched from one
place (search, findall, finditer, sub, split).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from re import _constants as op  # type: ignore[attr-defined]
from re import _parser as parser  # type: ignore[attr-defined]
from typing import Any

#: Characters that stand for all: what two sets of characters share is looked for among these.
ALPHABET = [chr(n) for n in range(0x250)] + list("ЯЖΩω·″×\u2003\u3000é")

#: A repeat of at most so many is no loop: it costs a constant factor.
FEW = 64

_CATEGORIES = {
    op.CATEGORY_DIGIT: r"\d",
    op.CATEGORY_NOT_DIGIT: r"\D",
    op.CATEGORY_SPACE: r"\s",
    op.CATEGORY_NOT_SPACE: r"\S",
    op.CATEGORY_WORD: r"\w",
    op.CATEGORY_NOT_WORD: r"\W",
}

Characters = frozenset[str]


@dataclass(frozen=True, slots=True)
class _State:
    """Where a walk stands: repeats that may still give text back; what must come before this place, in a search."""

    open: tuple[Characters, ...] = ()
    before: tuple[Characters, ...] = ()
    restarted: tuple[Characters, ...] = ()


def slow_parts(pattern: re.Pattern[Any] | str, *, search: bool = False) -> list[str]:
    """Return what may take more than linear time in a pattern, one sentence each; nothing when it is linear."""
    compiled = re.compile(pattern)
    text = compiled.pattern if isinstance(compiled.pattern, str) else compiled.pattern.decode("latin-1")
    walk = _Walk(bool(compiled.flags & re.IGNORECASE), bool(compiled.flags & re.DOTALL), search)
    # the flags that the pattern itself cannot carry (bytes have no re.UNICODE)
    walk.sequence(parser.parse(text, compiled.flags & ~re.UNICODE), _State())
    return list(dict.fromkeys(walk.faults))


class _Walk:
    def __init__(self, fold: bool, dotall: bool, search: bool) -> None:
        self.fold, self.dotall, self.search = fold, dotall, search
        self.loops = 0  # unlimited repeats around this place
        self.faults: list[str] = []

    def sequence(self, nodes: Iterable[Any], state: _State) -> _State:
        for code, value in nodes:
            state = self.node(code, value, state)
        return state

    def node(self, code: Any, value: Any, state: _State) -> _State:
        if code in (op.MAX_REPEAT, op.MIN_REPEAT, op.POSSESSIVE_REPEAT):
            return self.repeat(code, *value, state)
        if code is op.SUBPATTERN:
            return self.sequence(value[3], state)
        if code is op.ATOMIC_GROUP:
            inside = self.sequence(value, state)
            return replace(inside, open=state.open)
        if code is op.BRANCH:
            return self.branch(value[1], state)
        if code in (op.ASSERT, op.ASSERT_NOT):
            self.sequence(value[1], state)
            return self.may_fail(state)
        if code is op.AT:
            return self.may_fail(state)
        if code in (op.GROUPREF, op.GROUPREF_EXISTS):
            self.faults.append("a reference back to a group")
            return state
        return self.character(self.one(code, value), state)

    def may_fail(self, state: _State) -> _State:
        """Something that must hold after a repeat that many starts run through: they all run and then fail."""
        for characters in state.restarted:
            self.faults.append(f"a search runs through the same {_some(characters)} from many starts")
        return replace(state, restarted=())

    def character(self, characters: Characters, state: _State) -> _State:
        state = self.may_fail(state)
        still = tuple(c for c in state.open if c & characters)
        return replace(state, open=still, before=(*state.before, characters))

    def branch(self, branches: list[Any], state: _State) -> _State:
        if self.loops:
            self.must_differ(branches)
        ends = [self.sequence(b, state) for b in branches]
        common = max((e.before for e in ends), key=lambda b: -len(b))
        return _State(
            tuple(dict.fromkeys(c for e in ends for c in e.open)),
            (*state.before, *self.needed(branches, state, common)),
            tuple(dict.fromkeys(c for e in ends for c in e.restarted)),
        )

    def must_differ(self, branches: list[Any]) -> None:
        """In a loop, alternatives that begin alike, or one that is empty, divide a text in many ways."""
        firsts = [_Walk(self.fold, self.dotall, False).sequence(b, _State()).before for b in branches]
        seen: set[str] = set()
        for first in firsts:
            if not first or first[0] & seen:
                self.faults.append("alternatives in a repeat begin alike, or one is empty")
            seen |= first[0] if first else set()

    def needed(self, branches: list[Any], state: _State, common: tuple[Characters, ...]) -> tuple[Characters, ...]:
        """What every branch must take: their first needed characters together."""
        firsts = [_Walk(self.fold, self.dotall, False).sequence(b, _State()).before for b in branches]
        return (frozenset().union(*(f[0] for f in firsts)),) if all(firsts) and common else ()

    def repeat(self, code: Any, least: int, most: Any, body: Any, state: _State) -> _State:
        few = most is not op.MAXREPEAT and most <= FEW
        if few and (least == most or not self.loops):
            inside = self.sequence(body, state if least else replace(state, restarted=()))
            if least:
                return inside
            both = tuple(dict.fromkeys((*state.open, *inside.open)))
            return _State(both, state.before, tuple(dict.fromkeys((*state.restarted, *inside.restarted))))
        characters = self.all_of(body)
        if any(c & characters for c in state.open):
            self.faults.append(f"repeats in a row share {_some(characters)}")
        self.loops += 1
        once = self.sequence(body, _State())
        self.sequence(body, _State(once.open))
        self.loops -= 1
        restarted = state.restarted
        if self.search and all(b & characters for b in state.before):
            restarted = (*restarted, characters)
        takes = () if code is op.POSSESSIVE_REPEAT else (characters,)
        before = (*state.before, *once.before) if least else state.before
        return _State((*state.open, *takes), before, restarted)

    def all_of(self, body: Any) -> Characters:
        """Every character that a part of a pattern can take."""
        found: set[str] = set()
        for code, value in body:
            if code in (op.MAX_REPEAT, op.MIN_REPEAT, op.POSSESSIVE_REPEAT):
                found |= self.all_of(value[2])
            elif code is op.SUBPATTERN:
                found |= self.all_of(value[3])
            elif code is op.ATOMIC_GROUP:
                found |= self.all_of(value)
            elif code is op.BRANCH:
                found |= {c for b in value[1] for c in self.all_of(b)}
            elif code not in (op.ASSERT, op.ASSERT_NOT, op.AT, op.GROUPREF, op.GROUPREF_EXISTS):
                found |= self.one(code, value)
        return frozenset(found)

    def one(self, code: Any, value: Any) -> Characters:
        """The characters that one node of one character takes."""
        if code is op.ANY:
            return frozenset(c for c in ALPHABET if self.dotall or c != "\n")
        if code is op.IN:
            return self.members(value)
        if code is op.NOT_LITERAL:
            return frozenset(ALPHABET) - self.folded({chr(value)})
        if code is op.LITERAL:
            return self.folded({chr(value)})
        raise AssertionError(f"this judge does not know {code}")

    def members(self, items: Any) -> Characters:
        found: set[str] = set()
        negated = False
        for code, value in items:
            if code is op.NEGATE:
                negated = True
            elif code is op.RANGE:
                found |= {c for c in ALPHABET if value[0] <= ord(c) <= value[1]}
            elif code is op.CATEGORY:
                found |= {c for c in ALPHABET if re.fullmatch(_CATEGORIES[value], c)}
            else:
                found |= self.one(code, value)
        found = set(self.folded(found))
        return frozenset(set(ALPHABET) - found if negated else found)

    def folded(self, characters: set[str]) -> Characters:
        if not self.fold:
            return frozenset(characters)
        return frozenset(characters | {f(c) for c in characters for f in (str.lower, str.upper)})


def _some(characters: Characters) -> str:
    return "".join(sorted(characters))[:12].__repr__()
