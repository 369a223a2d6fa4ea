"""What a plate is made by, of a face and a few keys."""

from functools import lru_cache
from pathlib import Path

from nameplate.face.making import make_face
from nameplate.plates.draft import draft_work
from nameplate.plates.make import PlateContext, make_plate, make_work
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS
from tests.once import once

FACE = FaceKeys(shape="ellipse", width=110, height=80)
NO_JIG = JigKeys(style="none")

#: Plates and drafts of them, each made once.
make_once, plate_once, draft_once = once(make_work), once(make_plate), once(draft_work)


@lru_cache(maxsize=8)
def face_of(keys):
    """A face as it is made; the same for the same keys."""
    return make_face(keys)[0]


def context_for(face=FACE, *, drawn=None, jig=NO_JIG, materials=DEFAULT_MATERIALS, cuts=True, **keys):
    """The context of a ticket with such lettering; `drawn` stands in for the face that is made by its keys."""
    ticket = Ticket(face=face, lettering=LetteringKeys(**keys), material=materials, jig=jig, folder=Path())
    return PlateContext.of(ticket, drawn or face_of(face), cuts)
