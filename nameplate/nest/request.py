"""What is to be nested, on what, and how: one record for the nest and the quote that belongs to it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from nameplate.nest.layout import Piece
from nameplate.nest.search.budget import NEST, SearchBudget
from nameplate.nest.sheets import Offcut, Rules, rules_of
from nameplate.ticket.schema import NestKeys
from nameplate.ticket.workshop_schema import StockKeys


@dataclass(frozen=True, slots=True)
class NestRequest:
    """The pieces, the stock they may go on, and the ticket's keys for nesting.

    `kerf` is the width of the cut (mm) by material; parts are never nearer than that. `grain` names the materials on
    which all parts lie the same way. `offcuts` are used before anything else. `budgets` say by material how much the
    search may try, where that is not `NEST`. Sheets are numbered after those that were cut before (`numbered_after`, by
    material). Those of the materials `face_down` lie with their show side below.
    """

    pieces: Sequence[Piece]
    stock: Sequence[StockKeys]
    keys: NestKeys
    kerf: Mapping[str, float] = field(default_factory=dict)
    grain: Collection[str] = ()
    offcuts: Sequence[Offcut] = ()
    budgets: Mapping[str, SearchBudget] = field(default_factory=dict)
    numbered_after: Mapping[str, int] = field(default_factory=dict)
    face_down: Collection[str] = ()

    def rules(self, material: str) -> Rules:
        """Give what every placement of a material keeps to."""
        return rules_of(self.keys, self.kerf.get(material, 0.0), grain=material in self.grain)

    def budget(self, material: str) -> SearchBudget:
        """Give how much the search may try for a material."""
        return self.budgets.get(material, NEST)
