"""Orders and walls that the tests of the room share."""

from nameplate.geometry.region import rectangle
from nameplate.model import Face, Order
from nameplate.ticket.wall_schema import WallKeys
from nameplate.wall.plan import plan_wall

#: A face of 110 x 80 mm about the origin.
PLAIN = Face(rectangle(-55, -40, 55, 40), rectangle(-50, -35, 50, 35), rectangle(0, 0, 1, 1), "rectangle")


def face(width, height):
    x, y = width / 2, height / 2
    return Face(rectangle(-x, -y, x, y), rectangle(-x, -y, x, y), rectangle(0, 0, 1, 1), "rectangle")


def orders(count, **more):
    return [Order(id=f"{k:03d}", row=k + 1, name=f"Name {k}", **more) for k in range(1, count + 1)]


def wall(**keys):
    """A wall of 10 x 10 places, every other row aside by half a pitch, as a ticket would have it."""
    base = {"width": 3600.0, "height": 1800.0, "columns": 10, "rows": 10, "pitch": (300.0, 150.0), "stagger": 0.5}
    return WallKeys(**base | keys)


def planned(keys, rows, faces=None, lettering=None):
    return plan_wall(keys, rows, faces or {"": PLAIN}, lettering or {})


def codes(plan):
    return [finding.code for finding in plan.findings]
