"""Plates drawn for the page: made as the proof makes them, in worker processes, the newest wish first, kept by digest.

One thread hands a few orders at a time to the pool, so that what was asked for last waits for little. A plate that
cannot be made, or whose worker dies, costs itself. What an older list asked for is dropped when a newer one is shown.
"""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import CancelledError, Future
from dataclasses import dataclass, field
from typing import TypeAlias

from nameplate.findings import Finding
from nameplate.job.plate_stage import ByDesign, PlateMaker, make_plates
from nameplate.job.progress import SILENCE
from nameplate.model import Order, Plate
from nameplate.page.opened import JobView, told_in_inches
from nameplate.page.picture_keys import as_pictured, pictured
from nameplate.paperwork.looks import looks_of
from nameplate.paperwork.pictures import backing_of, plate_pictures
from nameplate.paperwork.proof import proof_of, unclear_of
from nameplate.plates.make import PlateContext, PlateWork, make_work
from nameplate.pool.processes import ProcessPool, get_ready

#: What makes one plate of an order, in a worker.
Make: TypeAlias = Callable[[PlateContext, Order], PlateWork]

_log = logging.getLogger("nameplate.page")

#: The box of a picture (mm on paper): what it is drawn fine enough for.
PICTURE = (120.0, 90.0)

#: Seconds that what is being drawn has to be finished when the page is closed.
GRACE_S = 2.0

#: Pictures that are kept; a list of 2,000 names takes about 20 MB.
MOST_KEPT = 4000


@dataclass(frozen=True, slots=True)
class PlateDrawing:
    """A plate as it will be: its picture, None where it cannot be made; its size, font and material in words; how high
    its capitals are (mm); the size and the baseline that it was ordered in, which a batch of one size has found; where
    that is `unclear` its weakest letter, by its row."""

    svg: str | None
    facts: tuple[str, ...]
    findings: tuple[Finding, ...]
    capitals: float = 0.0
    size: float | None = None
    baseline: float | None = None
    unclear: Mapping[int, str] = field(default_factory=dict)

    @property
    def looks(self) -> tuple[str, ...]:
        """What is to be looked at, as the proof says it, besides what the list alone says of its row."""
        return tuple(text for own in looks_of([], self.findings, self.unclear).values() for text in own)


@dataclass(slots=True)
class _Wish:
    """A plate that is to be drawn."""

    view: JobView
    order: Order
    key: str
    future: Future[PlateDrawing]


class DrawingRoom:
    """Draws plates, as `make` makes them where it is given. `stop` it at the end: its workers stop at once."""

    def __init__(self, workers: int | None = None, *, make: Make | None = None) -> None:
        self._workers, self._make = workers, make
        self._kept: dict[str, PlateDrawing] = {}
        self._wishes: OrderedDict[str, _Wish] = OrderedDict()
        self._change = threading.Condition()
        self._stopped = False
        self._thread = threading.Thread(target=self._work, name="drawing", daemon=True)
        self._thread.start()

    def known(self, key: str) -> PlateDrawing | None:
        """Give what is drawn already, by the key of its picture."""
        return self._kept.get(key)

    def ask(self, view: JobView, plate: str, *, now: bool = True) -> Future[PlateDrawing]:
        """Ask for a plate; where it is wanted `now`, before all that wait. Raises CancelledError at the end."""
        key = view.keys[plate]
        with self._change:
            if (done := _done(self._kept.get(key))) is not None:
                return done
            if self._stopped:
                raise CancelledError
            if is_new := key not in self._wishes:
                order = view.on[plate].plate.order if plate in view.on else view.anew[plate]
                self._wishes[key] = _Wish(view, order, key, Future())
            if is_new or now:
                self._wishes.move_to_end(key, last=now)
            self._change.notify()
            return self._wishes[key].future

    def ask_all(self, view: JobView) -> None:
        """Let all plates of a job be drawn in time, and drop what waits of an older list."""
        with self._change:
            lost = [key for key, own in self._kept.items() if any(f.code == "not-made" for f in own.findings)]
            for key in lost:  # whose worker died or took too long: it is tried again
                del self._kept[key]
            self.drop_all_but(view.keys.values())
        for plate in view.keys:
            self.ask(view, plate, now=False)

    def drop(self, keys: Iterable[str]) -> None:
        """Drop these pictures where they wait to be drawn; whoever waits for one is told."""
        with self._change:
            for key in keys:
                if wish := self._wishes.pop(key, None):
                    wish.future.cancel()

    def drop_all_but(self, keys: Iterable[str]) -> None:
        """Drop what waits, but for these pictures; whoever waits for another is told."""
        with self._change:
            self.drop(self._wishes.keys() - set(keys))

    def waiting(self, key: str) -> Future[PlateDrawing] | None:
        """Give what is drawn of a picture, or will be; None where nobody asked for it, or it was dropped."""
        with self._change:
            return self._wishes[key].future if key in self._wishes else _done(self._kept.get(key))

    def let_go(self) -> None:
        """Draw nothing more; whoever waits is told."""
        with self._change:
            self._stopped = True
            self.drop(list(self._wishes))
            self._change.notify()

    def stop(self) -> None:
        """Stop drawing. Workers in the middle of something end with this process."""
        self.let_go()
        self._thread.join(GRACE_S)

    def _work(self) -> None:
        with ProcessPool(self._workers, ready=get_ready) as pool:
            while wishes := self._next(pool):
                done: dict[str, PlateDrawing] = {}
                try:
                    done = dict(_draw(wishes[0].view, wishes, pool, self._make or make_work))
                except Exception:  # whatever it is, the next plate may be drawn
                    _log.exception("plates could not be drawn")
                self._keep(wishes, done)

    def _next(self, pool: ProcessPool) -> list[_Wish]:
        """Wait for wishes and give the newest of them, all of one view, one a worker: what is asked for next waits for
        no more than these. None at the end."""
        with self._change:
            while not (self._wishes or self._stopped):
                self._change.wait()
            if self._stopped:
                return []
            newest = list(self._wishes.values())[::-1]
            pool.hire(len(newest))
            return [wish for wish in newest if wish.view is newest[0].view][: pool.count]

    def _keep(self, wishes: Sequence[_Wish], done: dict[str, PlateDrawing]) -> None:
        with self._change:
            self._kept.update(done)
            for key in list(self._kept)[: max(0, len(self._kept) - MOST_KEPT)]:
                del self._kept[key]
            for key in (*done, *(wish.key for wish in wishes)):
                wish = self._wishes.pop(key, None)
                if wish is not None and not wish.future.cancelled():
                    if key in done:
                        wish.future.set_result(done[key])
                    else:
                        wish.future.cancel()


def _done(drawn: PlateDrawing | None) -> Future[PlateDrawing] | None:
    if drawn is None:
        return None
    done: Future[PlateDrawing] = Future()
    done.set_result(drawn)
    return done


def _draw(view: JobView, wishes: Sequence[_Wish], pool: ProcessPool, make: Make) -> Iterable[tuple[str, PlateDrawing]]:
    """Make the plates of some wishes, those of one size with all that have it, and draw them."""
    on = [view.on[wish.order.id].plate for wish in wishes if wish.order.id in view.on]
    orders = {o.id: o for w in wishes if w.order.id not in view.on for o in view.together(w.order)}
    contexts = {design: pictured(context) for design, context in view.contexts.items()}
    works, _ = make_plates(PlateMaker(ByDesign(make), SILENCE, pool), contexts, tuple(orders.values()))
    for plate in (*on, *(work.plate for work in works)):
        context = contexts[plate.order.design]
        yield view.keys[plate.order.id], drawn(context, as_pictured(plate), inches=told_in_inches(view.ticket))


def drawn(context: PlateContext, plate: Plate, *, inches: bool) -> PlateDrawing:
    """Draw a plate as the proof shows it, of nothing but what its key stands for; with `inches` sizes are told in
    these, too."""
    if plate.lettering is None:
        return PlateDrawing(None, (), plate.findings)
    order, (width, height) = plate.order, PICTURE
    faces, materials = {order.design: context.face}, {order.design: context.materials}
    proof = proof_of([plate], faces, (), title="", materials=materials, inches=inches)
    pictures = plate_pictures(context.face, width=width, height=height, colours=proof.colours(order))
    svg = pictures.of(plate.lettering, f"plate with the name {order.name}", backing=backing_of(plate))
    facts = proof.card(plate, small=False).facts
    capitals, unclear = plate.lettering.letter_height, unclear_of([plate])
    return PlateDrawing(svg, facts, plate.findings, capitals, order.size, order.baseline, unclear)
