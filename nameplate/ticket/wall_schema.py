"""What a ticket says of the wall that the plates hang on: `[wall]`, a field a key."""

from __future__ import annotations

from dataclasses import dataclass

from nameplate.ticket.keys import key

#: Ways to say who hangs where.
ORDERS: tuple[str, ...] = ("list", "surname", "design", "position")

#: Most rows and columns of a wall: 40,000 places, twice as many as a list may have rows.
MOST_ROWS = 200


@dataclass(frozen=True, slots=True)
class WallKeys:
    """`[wall]`: the hanging plan: places for all plates, and every hole from a centre line and a level line."""

    width: float | None = key.length(None, "width of the wall", above=0, unset="it must be there", example=3600)
    height: float | None = key.length(None, "height of the wall", above=0, unset="it must be there", example=1800)
    columns: int | None = key.count(
        None, "places in a row", least=1, most=MOST_ROWS, unset="it must be there", example=10
    )
    rows: int | None = key.count(
        None, "rows of places, from the top down", least=1, most=MOST_ROWS, unset="it must be there", example=10
    )
    pitch: tuple[float, float] | None = key.pair(
        None,
        "distance from one place to the next and from one row to the next; the grid's middle is where the lines cross",
        above=0,
        unset="fit = true spreads the places",
        example=(300, 150),
    )
    fit: bool = key.flag(False, "spread the places evenly, with the same space between plates and to the wall's edge")
    stagger: float = key.number(
        0.0, "share of a pitch by which every other row stands aside", least=0, most=0.99, example=0.5
    )
    centre: float | None = key.length(
        None, "where the centre line stands, from the wall's left edge", unset="the wall's middle", example=1800
    )
    level: float = key.length(
        1500.0, "height of the level line above the floor; common practice is eye level, 1450 to 1550 mm", least=0
    )
    above_floor: float | None = key.length(
        None,
        "how far the wall's lower edge is above the floor",
        least=0,
        unset="the wall's middle is on the level line, or the wall stands on the floor where it is too high for that",
        example=600,
    )
    hanger: tuple[tuple[float, float], ...] | None = key.points(
        None,
        "where the fixing sits, from the middle of the face, for all designs; several where a plate has several holes; "
        "names that stand free hang by their rings",
        unset="the round holes of the face, else its middle",
        example=((0, 25),),
    )
    hole: float = key.length(6.0, "diameter of the drill", above=0, most=50)
    strip: tuple[float, float] | None = key.pair(
        None,
        "width and height of the sheets of card that drilling strips are cut and scored from by the laser",
        above=0,
        unset="there are none; drilling.pdf has the holes at true size on paper",
        example=(600, 300),
    )
    keep_out: tuple[tuple[float, float, float, float], ...] = key.boxes(
        (),
        "where nothing may hang, like switches and pipes, measured from the wall's lower left corner",
        example=((1700, 0, 200, 400),),
    )
    order: str = key.choice(
        "list",
        "who hangs where; names added to the end of the list move no plate with list, but many with surname and design",
        choices=ORDERS,
    )
    reserve: int = key.count(0, "places kept free for later names", least=0, most=MOST_ROWS**2)
    moved: tuple[tuple[str, tuple[tuple[float, float], ...]], ...] = key.moved(
        (),
        "holes that are drilled, by plate, and how far each is right of and above where the grid has it; of several "
        "holes one [x, y] each, [0, 0] where it is right; none that is not drilled yet",
        example={"017": (9.5, 0)},
    )
    play: float = key.length(
        2.0, "how far a plate can hang aside of its hole (common practice: 1 to 3 mm)", least=0, most=50
    )
    unseen: float = key.number(
        0.03,
        "two spaces between plates may differ by this share of one and are not seen to (from memory: 2 to 5 %)",
        least=0,
        most=0.5,
    )
