"""How much the search for places may try: one record, from the ticket's wish down to the filling of a sheet."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SearchBudget:
    """What may be tried on each sheet.

    The ways in which a sheet is filled look together at about `looks` of the pieces that wait, each turn counted; one
    way is always tried. With `choose` the next part is chosen among several, without it parts are laid largest first,
    which takes a sixth of the time. With `first_whole` the first filling that takes every piece does, however long.
    """

    looks: int = 0
    choose: bool = True
    first_whole: bool = False


#: Parts laid largest first, once: for comparing sizes.
LARGEST_FIRST = SearchBudget(choose=False)

#: One way, the next part chosen among several: for very many parts.
ONE_WAY = SearchBudget()

#: What a nest gets: three ways for 50 parts with four turns. The time grows with it.
NEST = SearchBudget(looks=600)

#: For estimates, which count sheets: in other ways only where these may save a sheet.
ESTIMATE = SearchBudget(looks=600, first_whole=True)

#: For estimates of templates, whose places do not count.
ROUGH_ESTIMATE = SearchBudget(choose=False, first_whole=True)

#: What a sheet gets where a few parts keep a nest from doing with one sheet.
NEAR_MISS = SearchBudget(looks=1800)
