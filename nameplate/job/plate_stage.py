"""The stage of the plates: every order made, by the pool, whatever becomes of one of them."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from nameplate.findings import Finding
from nameplate.job.designs import Contexts
from nameplate.job.progress import Progress
from nameplate.model import Order, Plate
from nameplate.nest.buying.spares import choose_spares, spares_message, with_spares
from nameplate.plates.batch_parts import of_design
from nameplate.plates.make import PlateContext, PlateWork, as_it_stands, make_on
from nameplate.plates.one_size import one_size
from nameplate.pool.interface import Failure, Pool, as_it_is
from nameplate.pool.processes import run_all
from nameplate.ticket.schema import SparesKeys

#: Letters up to which a name has the pool's time limit; one of twice as many has twice the time.
LONG_NAME = 60


@dataclass(frozen=True, slots=True)
class ByDesign:
    """Makes an order by the context of its design; of plates (by id) that are only `shown` nothing to cut."""

    make: Callable[[PlateContext, Order], PlateWork]
    shown: frozenset[str] = frozenset()

    def __call__(self, contexts: Contexts, order: Order) -> PlateWork:
        """Make one plate."""
        context = contexts[order.design]
        return self.make(replace(context, cuts=False) if order.id in self.shown else context, order)


@dataclass(frozen=True, slots=True)
class PlateMaker:
    """How the plates of a batch are made: by which function, by whom, what stays of each, and who is told."""

    make: Callable[[Contexts, Order], PlateWork]
    progress: Progress
    pool: Pool
    keep: Callable[[PlateWork], PlateWork] = as_it_is

    def all_of(self, contexts: Contexts, orders: Sequence[Order], stage: str) -> tuple[PlateWork, ...]:
        """Make a plate of every order; one that cannot be made costs itself."""
        self.progress.stage(stage, len(orders))
        outcomes = run_all(
            self.make,
            orders,
            contexts,
            workers=self.pool,
            done=self.progress.step,
            size=_letters,
            limit_s=partial(_limit, self.pool.limit_s),
            keep=self.keep,
        )
        return tuple(
            _lost(order, outcome) if isinstance(outcome, Failure) else outcome
            for order, outcome in zip(orders, outcomes, strict=True)
        )


def make_plates(
    maker: PlateMaker, contexts: Contexts, orders: Sequence[Order]
) -> tuple[tuple[PlateWork, ...], tuple[Finding, ...]]:
    """Make every plate. Where a design has `size = "uniform"`, find the size of each of its names first, then make all
    of them at one; orders that have a size and a baseline are of a design that has its size already."""
    sized = {order.design for order in orders if order.baseline is not None}
    uniform = {n for n, context in contexts.items() if context.lettering.size == "uniform" and n not in sized}
    if not uniform:
        return maker.all_of(contexts, orders, "lettering"), ()
    bare = {n: replace(contexts[n], cuts=False, jig=replace(contexts[n].jig, style="none")) for n in uniform}
    sizing = {**contexts, **bare}  # by these only the size that each name can have is found out
    unmoved = [replace(order, dx=0.0, dy=0.0) if order.design in uniform else order for order in orders]
    first = maker.all_of(sizing, unmoved, "sizes")
    by_hand = {order.id: (order.dx, order.dy) for order in orders}
    chosen = {n: one_size(contexts[n], [w.plate for w in first if w.plate.order.design == n]) for n in sorted(uniform)}
    again = [replace(o, dx=by_hand[o.id][0], dy=by_hand[o.id][1]) for one in chosen.values() for o in one.orders]
    made = {work.plate.order.id: work for work in maker.all_of(contexts, again, "one size for all")}
    about = (found for name, one in chosen.items() for found in of_design(name, one.findings))
    return tuple(made.get(work.plate.order.id, work) for work in first), tuple(about)


def make_going_on(maker: PlateMaker, contexts: Contexts, works: Sequence[PlateWork]) -> tuple[PlateWork, ...]:
    """Make the toolpaths of plates that go on; one that cannot be cut again stays as it is, and says why."""
    if not works:
        return ()
    maker.progress.stage("what was cut before", len(works))
    outcomes = run_all(_make_on, works, contexts, workers=maker.pool, done=maker.progress.step, keep=maker.keep)
    pairs = zip(works, outcomes, strict=True)
    return tuple(_stays(work, outcome) if isinstance(outcome, Failure) else outcome for work, outcome in pairs)


def _stays(work: PlateWork, failure: Failure) -> PlateWork:
    stays = as_it_stands(work)
    return replace(stays, plate=replace(stays.plate, findings=_lost(work.plate.order, failure).plate.findings))


def _make_on(contexts: Contexts, work: PlateWork) -> PlateWork:
    return make_on(contexts[work.plate.order.design], work)


def add_spares(works: Sequence[PlateWork], keys: SparesKeys) -> tuple[tuple[PlateWork, ...], tuple[Finding, ...]]:
    """Add spare pieces of the fragile names, as the loss rate asks, and say how many."""
    if not keys.loss:
        return tuple(works), ()
    spares = choose_spares([w.plate for w in works], loss=keys.loss, confidence=keys.confidence)
    message = spares_message(spares, loss=keys.loss, confidence=keys.confidence)
    extra = dict(spares.pieces)
    spared = tuple(replace(w, plate=with_spares(w.plate, extra.get(w.plate.order.id, 0))) for w in works)
    return spared, (Finding("spares", "note", message),)


def _letters(order: Order) -> int:
    """Tell how long a plate takes to make, roughly."""
    return sum(map(len, order.texts))


def _limit(limit_s: float, order: Order) -> float:
    """Give the seconds that a plate may take, of which a very long name has more."""
    return limit_s * max(1.0, _letters(order) / LONG_NAME)


def _lost(order: Order, failure: Failure) -> PlateWork:
    logging.getLogger("nameplate").debug("%s", failure.detail)
    why = (
        "; give it a plainer font, or more time with --name-limit where the machine is busy"
        if failure.late
        else "; that is a fault of the program, not of the name (--debug tells more)"
    )
    message = f"“{order.name}” {failure.reason}{why}; the other names are not affected"
    return PlateWork(Plate(order, None, findings=(Finding("not-made", "error", message, order.id, order.row),)))
