"""The opening in which a name is located, whichever form the ticket asks for, and what it lets the name do."""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.geometry.region import Region
from nameplate.jig.contacts import Nubs, contact_window
from nameplate.jig.locating import name_motions
from nameplate.jig.play import Motions
from nameplate.jig.window import contour_window
from nameplate.model import Feature
from nameplate.ticket.schema import JigKeys


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A window's region and what it is called in a jig file; `nubs` are those of each loose piece, if it has any."""

    region: Region
    feature: Feature
    nubs: tuple[Nubs, ...] = ()


def make_opening(lettering: Region, keys: JigKeys) -> Opening:
    """Make the window for a lettering in plate coordinates."""
    if keys.window == "contacts":
        return Opening(*_swapped(contact_window(lettering, keys)))
    return Opening(contour_window(lettering, keys.clearance), "window")


def _swapped(made: tuple[Region, tuple[Nubs, ...]]) -> tuple[Region, Feature, tuple[Nubs, ...]]:
    return made[0], "contact-window", made[1]


def motions_in(opening: Opening, lettering: Region, keys: JigKeys) -> tuple[Motions, ...]:
    """Give what each loose piece of a lettering can do in its opening."""
    return tuple(n.motions for n in opening.nubs) or name_motions(lettering, keys)
