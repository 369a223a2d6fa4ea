"""The room of the sign-off: who approved which plate whose picture is there to be seen, given and taken back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from starlette.requests import Request
from starlette.responses import Response

from nameplate.errors import NameplateError, RecordError
from nameplate.job.approving import approve_plates, withdraw_plates
from nameplate.page.answers import STALE, Form, page, part
from nameplate.page.opened import JobView
from nameplate.page.studio import PlateCard, Studio, without_plate
from nameplate.record.plate_lists import in_ranges

#: What the record says besides what was done, which the page shows by itself.
ASIDE = "note: "


def sign_off(studio: Studio, request: Request, form: Form) -> Response:
    """Show who approved what; keep who approves a plate, or all of them, and who takes that back."""
    view = studio.view()
    studio.room.ask_all(view)
    said: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    if request.method == "POST":
        studio.signer = form.one("by").strip() or studio.signer
        try:
            said = _written(studio, view, form)
        except NameplateError as error:
            problems = error.problems
        view = studio.view()
    cards = studio.cards(view)
    # what waits comes first
    settled = sorted(cards, key=lambda card: bool(card.as_cut or (card.sign and card.sign.by)))
    values = {
        "cards": [card for card in settled if not card.order.hold],
        "held": [card for card in cards if card.order.hold],
        "version": view.version,
        "by": studio.signer,
        "said": said,
        "problems": problems,
        "proof": studio.runner.last("proof"),
        "is_proof": (studio.job.proof / "proof.pdf").is_file(),
        "is_part": (studio.job.proof_part / "proof.pdf").is_file(),
        "outdated": in_ranges(view.unproofed),
        "without_plate": without_plate(view, cards),
        **_counts(cards),
    }
    return page(studio, "sign-off.html", values, at="/sign-off", status=STALE if problems else 200)


def waiting(studio: Studio, request: Request, form: Form) -> Response:
    """Say how many plates wait for an approval, with the button for all once they are drawn; asked every 2 s."""
    return part("sign-all.html", **_counts(studio.cards(studio.view())))


def _counts(cards: Sequence[PlateCard]) -> Mapping[str, int]:
    """Count the plates that could be approved, those that are not, and those of them that nobody can have seen yet."""
    made, unsigned = _can_be_made(cards), _unsigned(cards)
    return {"total": len(made), "unsigned": len(unsigned), "undrawn": sum(card.drawn is None for card in unsigned)}


def _can_be_made(cards: Sequence[PlateCard]) -> list[PlateCard]:
    """Give the plates that are not on hold, and that nothing known by now keeps from being made."""
    return [card for card in cards if card.sign is not None and not (card.order.hold or card.problems)]


def _unsigned(cards: Sequence[PlateCard]) -> list[PlateCard]:
    """Give those of them that nobody has approved as they are ordered, but for what stays as it was cut otherwise."""
    return [card for card in _can_be_made(cards) if card.sign and not (card.sign.by or card.as_cut)]


def _written(studio: Studio, view: JobView, form: Form) -> tuple[str, ...]:
    """Write down what a button says, and give it in words; raises RecordError with the reasons where it cannot be."""
    by, remarks = form.one("by"), list[str]()
    if form.one("version") != view.version:
        changed = "the list or the ticket was changed since this page was drawn"
        raise RecordError(f"{changed}; nothing was written: look again")
    if not by.strip():
        raise RecordError("nothing was written: who approves it, or takes it back? Write a name into “Approved by”")
    if back := form.one("back"):
        told = withdraw_plates(view.ticket, studio.job.record, [back], by=by, say=remarks.append)
    else:
        given = _to_approve(studio.cards(view), form.one("plate"))
        told = approve_plates(view.ticket, studio.job.record, given, by=by, say=remarks.append)
    return (*remarks, *(text for text in told if not text.startswith(ASIDE)))


def _to_approve(cards: Sequence[PlateCard], plate: str) -> list[str]:
    """Give a plate, or all that lack an approval; raises RecordError for what nobody can have seen as it is ordered."""
    asked = [card for card in cards if card.order.id == plate] if plate else _unsigned(cards)
    if unseen := [card.order.id for card in asked if card.drawn is None]:
        raise RecordError(
            f"not drawn yet, so nobody can have looked at it: plate {', '.join(unseen)}; nothing was approved"
        )
    if lost := [card.order.id for card in asked if not card.can_be_approved]:
        raise RecordError(f"there is no picture of plate {', '.join(lost)} as now ordered; nothing was approved")
    if not asked:
        raise RecordError("there is no plate that can be approved now")
    return [card.order.id for card in asked]
