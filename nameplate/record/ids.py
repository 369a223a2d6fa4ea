"""Ids of plates: which row of a list is which plate of the record, however the list was sorted, added to or corrected.

Terms. A *text* is what a plate says; the *cells* of a row are all that stands in it; its *place* is its number in the
list, from 0. Method, each step on what the ones before it left over:

1. the id that the row gives;
2. the same cells: as many rows as plates, in their order;
3. the same text in the same place;
4. the same text, where one row and one plate have it;
5. what stands between two neighbours that are matched and stood next to each other's before: the same text, as many
   rows as plates, in their order; then a text that is nearly the same, where only one fits;
6. the same text as one plate that had left the list.

A row that is left and could be a plate that is left is asked about: one whose text is nearly the same, and of plates
that are *settled* (approved or cut, so that another number would cost something) also one that shares a word with it,
is alike by half, stands where it stood, or is the only one that is left beside it. Every other row is a new plate, and
has the number behind the highest that was ever given, written as those that are there. Known limits: who sorts a list
and corrects a name in one go is asked; where so many rows and plates are left that the list is another one, only equal
texts are found.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from itertools import count
from operator import attrgetter

from nameplate.roster.reader import Row, fold, id_key
from nameplate.system.grouping import grouped

#: How alike two texts are (0 to 1: 1 less the share of letters that are put in, taken out or changed) of which one may
#: be the other's correction. Lower asks about people who share a surname; higher takes a correction for a new name.
ALIKE = 0.7

#: Texts shorter than this are asked about only when they are the same: Jo and Bo are two people.
LEAST_COMPARED = 5

#: How alike a text is to that of a settled plate which may be it; and letters of a word that two texts may share. Lower
#: and shorter asks about strangers.
HALF_ALIKE = 0.5
LEAST_SHARED = 3

#: Pairs of a row and a plate that are compared letter by letter at once, under a second's work: 500 names that are
#: others than before. More are another list.
MOST_PAIRS = 250_000

#: Texts whose spelling for comparison is kept, as each is compared with many.
MOST_COMPARED = 2048

#: How a number is written as an id where no other is there.
_DIGITS = 3


@dataclass(frozen=True, slots=True)
class ListedRow:
    """A row of a list: the id that it gives (empty without one), its text and its cells."""

    id: str
    text: str
    cells: str = ""


@dataclass(frozen=True, slots=True)
class KnownPlate:
    """A plate of the record as it last stood in the list; `place` is None once it has left the list."""

    id: str
    text: str
    cells: str
    place: int | None


@dataclass(frozen=True, slots=True)
class Question:
    """A row (by its place) that may be any of some plates, or a new one."""

    place: int
    plates: tuple[KnownPlate, ...]


@dataclass(frozen=True, slots=True)
class Numbering:
    """The id of each row, "" where it is asked about; the questions; and the id that the next new plate would have.

    `new` are the places of rows that are new plates with a number of their own. `lost` are settled plates that stood in
    the list, and that no row is any more, nor is asked about.
    """

    ids: tuple[str, ...]
    questions: tuple[Question, ...] = ()
    free: str = "001"
    new: tuple[int, ...] = ()
    lost: tuple[KnownPlate, ...] = ()


def number_rows(
    rows: Sequence[ListedRow], known: Sequence[KnownPlate] = (), settled: Collection[str] = ()
) -> Numbering:
    """Give every row of a list its id, by what the record knows; without a record they are 001, 002, ... in order.

    Numbers that rows give themselves are passed over, however they are padded. A plate is called as the record calls
    it, also where a spreadsheet made 7 of its 007. An id that two rows give is left with both.
    About plates that are `settled` it is rather asked.

    >>> number_rows([ListedRow("", "Ada"), ListedRow("001", "Bo"), ListedRow("", "Ida")]).ids
    ('002', '001', '003')
    >>> number_rows([ListedRow("", "Ada"), ListedRow("1", "Bo"), ListedRow("", "Ida")]).ids
    ('2', '1', '3')
    >>> number_rows([ListedRow("", "Bo"), ListedRow("", "Ada")], [KnownPlate("001", "Ada", "", 0)]).ids
    ('002', '001')
    >>> number_rows([])
    Numbering(ids=(), questions=(), free='001', new=(), lost=())
    """
    match = _Match(rows, known, settled)
    match.run()
    asked, found = tuple(match.questions()), match.found
    waiting = {question.place for question in asked}
    given = {id_key(row.id) for row in rows if row.id}
    numbers = (int(key) for plate in known if (key := id_key(plate.id)).isdecimal() and key.isascii())
    digits = _digits([plate.id for plate in known]) or _digits([row.id for row in rows]) or _DIGITS
    free = (f"{n:0{digits}d}" for n in count(max(numbers, default=0) + 1) if str(n) not in given)
    ids = tuple(
        found[place].id if place in found else row.id if row.id or place in waiting else next(free)
        for place, row in enumerate(rows)
    )
    new = tuple(place for place, row in enumerate(rows) if place not in found and place not in waiting and not row.id)
    perhaps = {plate.id for question in asked for plate in question.plates}
    left = (plate for at, plate in enumerate(known) if at not in match.taken and plate.place is not None)
    lost = tuple(plate for plate in left if plate.id in settled and plate.id not in perhaps)
    return Numbering(ids, asked, next(free), new, lost)


def listed_row(row: Row) -> ListedRow:
    """Give a row of a list as it is matched; whether it is on hold is not among its cells.

    >>> listed_row(Row(2, "Ada", line2="oak")).text
    'Ada / oak'
    """
    cells = tuple(getattr(row, spec.name) for spec in fields(row) if spec.name not in ("number", "id", "hold"))
    return ListedRow(row.id, listed_text(row.name, row.line2), json.dumps(cells, ensure_ascii=False))


def listed_text(name: str, line2: str) -> str:
    """Give the text that a plate is known by.

    >>> listed_text("Ada", "oak"), listed_text("Ada", "")
    ('Ada / oak', 'Ada')
    """
    return " / ".join(filter(None, (name, line2)))


def _digits(ids: Sequence[str]) -> int:
    """Give how many digits a number has at least by the ids that are there; 0 where that cannot be told.

    >>> _digits(["9", "10", "A7"]), _digits(["09", "10"]), _digits(["100", "101"]), _digits(["007", "A7"])
    (1, 2, 0, 3)
    """
    numbers = [plate for plate in ids if plate.isdecimal() and plate.isascii()]
    padded = [len(number) for number in numbers if number.startswith("0")]
    return min(padded, default=1 if any(len(number) < _DIGITS for number in numbers) else 0)


class _Match:
    """Which row is which plate, found step by step."""

    def __init__(self, rows: Sequence[ListedRow], known: Sequence[KnownPlate], settled: Collection[str]) -> None:
        self.rows, self.known, self.settled = rows, known, settled
        self.found: dict[int, KnownPlate] = {}
        self.taken: set[int] = set()  # places among `known`

    def run(self) -> None:
        self._by_id()
        self._in_order("cells", self._free_rows(), self._free_plates())
        self._by_text_and_place()
        self._in_order("text", self._free_rows(), self._free_plates(), most=1)
        for rows, plates in list(self._gaps()):
            self._in_order("text", rows, plates)
        for rows, plates in list(self._gaps()):
            self._near_texts(rows, plates)
        self._in_order("text", self._free_rows(), self._free_plates(gone=True), most=1)

    def _take(self, place: int, plate: int) -> None:
        self.found[place] = self.known[plate]
        self.taken.add(plate)

    def _free_rows(self) -> list[int]:
        return [at for at, row in enumerate(self.rows) if at not in self.found and not row.id]

    def _free_plates(self, *, gone: bool = False) -> list[int]:
        every = (at for at in range(len(self.known)) if at not in self.taken)
        left = [at for at in every if (self.known[at].place is None) is gone]
        return sorted(left, key=lambda at: self.known[at].place or 0)

    def _by_id(self) -> None:
        for key in (fold, id_key):
            here = {key(plate.id): at for at, plate in enumerate(self.known)}
            for place, row in enumerate(self.rows):
                at = here.get(key(row.id)) if row.id and place not in self.found else None
                if at is not None and at not in self.taken:
                    self._take(place, at)

    def _in_order(self, what: str, rows: Sequence[int], plates: Sequence[int], *, most: int | None = None) -> None:
        """Match rows and plates of which equally many (and at most so many) have the same text, or cells, in order."""
        key = attrgetter(what)
        there = grouped((key(self.known[at]), at) for at in plates)
        for same, own in grouped((key(self.rows[at]), at) for at in rows).items():
            if same and len(own) == len(there.get(same, ())) and (most is None or len(own) <= most):
                for place, plate in zip(own, there[same], strict=True):
                    self._take(place, plate)

    def _by_text_and_place(self) -> None:
        here = {self.known[at].place: at for at in self._free_plates()}
        for place in self._free_rows():
            at = here.get(place)
            if at is not None and self.known[at].text == self.rows[place].text:
                self._take(place, at)

    def _near_texts(self, rows: Sequence[int], plates: Sequence[int]) -> None:
        """Match rows and plates that are near each other, and near no other one of them."""
        if len(rows) * len(plates) > MOST_PAIRS:
            return
        near = {place: [at for at in plates if alike(self.rows[place].text, self.known[at].text)] for place in rows}
        wanted = [at for own in near.values() for at in own]
        for place, own in near.items():
            if len(own) == 1 and wanted.count(own[0]) == 1:
                self._take(place, own[0])

    def _gaps(self) -> Iterator[tuple[list[int], list[int]]]:
        """Yield the rows that are left between two matched ones, with the plates that stood between those two."""
        order = [at for at in range(len(self.known)) if self.known[at].place is not None]
        order.sort(key=lambda at: self.known[at].place or 0)
        rank = {self.known[at].id: n for n, at in enumerate(order)}
        before, rows = -1, list[int]()
        for place in range(len(self.rows) + 1):
            plate = self.found.get(place)
            if place < len(self.rows) and plate is None:
                rows += [] if self.rows[place].id else [place]
                continue
            after = len(order) if place == len(self.rows) else rank.get(plate.id if plate else "")
            if after is None:
                continue  # it is back in the list, and stood nowhere
            between = order[before + 1 : after]
            if rows and between and not any(at in self.taken for at in between):
                yield rows, between
            before, rows = after, []

    def questions(self) -> Iterator[Question]:
        """Yield the rows that are left and could be plates that are left."""
        rows, plates = self._free_rows(), [*self._free_plates(), *self._free_plates(gone=True)]
        by_letters = len(rows) * len(plates) <= MOST_PAIRS
        settled = {at for at in self._free_plates() if by_letters and self.known[at].id in self.settled}
        gaps = self._gaps() if settled else ()
        beside = {(place, at) for places, ats in gaps for place in places for at in settled.intersection(ats)}
        if len(rows) == len(settled) == 1:
            beside |= {(rows[0], at) for at in settled}

        def fits(place: int, at: int) -> bool:
            text, plate = self.rows[place].text, self.known[at]
            if _may_be(text, plate, by_letters=by_letters):
                return True
            return at in settled and ((place, at) in beside or _may_have_been(text, plate.text))

        for place in rows:
            if own := tuple(self.known[at] for at in plates if fits(place, at)):
                yield Question(place, own)


def _may_be(text: str, plate: KnownPlate, *, by_letters: bool) -> bool:
    if text == plate.text or not by_letters:
        return text == plate.text
    return plate.place is not None and len(text) >= LEAST_COMPARED and alike(text, plate.text)


def _may_have_been(text: str, other: str) -> bool:
    """Tell whether a row may be a settled plate: it shares a word with it, or is alike by half."""
    return bool(_words(text) & _words(other)) or alike(text, other, least=HALF_ALIKE)


@lru_cache(maxsize=MOST_COMPARED)
def _words(text: str) -> frozenset[str]:
    """Give the words of a text that another may share."""
    return frozenset(word for word in _folded(text).split() if len(word) >= LEAST_SHARED)


_folded = lru_cache(maxsize=MOST_COMPARED)(fold)


def alike(one: str, other: str, *, least: float = ALIKE) -> bool:
    """Tell whether a text may be the other's correction (edit distance of Damerau and Levenshtein, without case).

    >>> alike("Wren Abara", "Wrenn Abbara"), alike("Mia Holt", "Ada Pell"), alike("Zoe", "ZOE")
    (True, False, True)
    """
    from rapidfuzz.distance import OSA

    return bool(OSA.normalized_similarity(_folded(one), _folded(other), score_cutoff=least) >= least)
