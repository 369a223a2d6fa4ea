"""From pieces and stock to a checked layout: one material a sheet, sheets on hand first, then the cheapest to buy.

Method, for each material: set aside what fits no sheet (a finding each); fill the sheets on hand, largest first; buy
the cheapest sheets for what is left (`buying/purchase.py`); nest on those once more in several ways. Whatever the
engine, the result is verified exactly. An interrupt before every part has a place packs the rest of the job by boxes,
which takes a moment; a second one ends it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding
from nameplate.geometry.collision_set import turned_box
from nameplate.geometry.region import bounds, points
from nameplate.nest.buying.purchase import MANY, Buyer, Engine, Purchase, total_cost
from nameplate.nest.engines import by_groups, engine_of
from nameplate.nest.layout import Layout, Piece, name_of
from nameplate.nest.request import NestRequest
from nameplate.nest.search.budget import LARGEST_FIRST, NEAR_MISS, SearchBudget
from nameplate.nest.search.by_sheet import pack_shapes
from nameplate.nest.search.part_masks import NestStore
from nameplate.nest.sheets import Blank, Rules, blanks_of, helping_turn, largest_usable, sorted_out
from nameplate.nest.verify import verify
from nameplate.pool.interface import Failure, Pool
from nameplate.pool.processes import run_all

#: Nests whose last sheets are used equally far within this (mm) are told apart by the area on them, which a longer
#: search may empty.
ALMOST = 2.0

#: Other orders shorten a nest by less than this share, so only a last sheet that carries less than that can be saved.
OTHERS_GAIN = 0.08

#: Seconds a material may take in a worker before it is nested in the parent: far more than it takes on a slow machine.
LIMIT_S = 1800.0


def nest(request: NestRequest, *, stores: dict[str, NestStore] | None = None, pool: Pool | None = None) -> Layout:
    """Lay pieces on sheets.

    Pieces that fit no sheet come back as `unplaced`, each with an error finding. `stores`, by material, keep what was
    prepared for a quote. A `pool` nests several materials side by side; the layout is the same.

    >>> from nameplate.ticket.schema import NestKeys
    >>> nest(NestRequest([], [], NestKeys()))
    Layout(sheets=(), findings=(), unplaced=(), not_made=())
    """
    findings: list[Finding] = []
    jobs = [_Job.of(request, material) for material in sorted({piece.material for piece in request.pieces})]
    engine = request.keys.engine
    # what is nested in groups takes all of the pool by itself
    small = [job for job in jobs if len(job.pieces) <= MANY] if engine == "shape" and stores is None else []
    try:
        ahead = _side_by_side(small, pool) if pool is not None and len(small) > 1 else {}
    except KeyboardInterrupt:
        ahead, engine = {}, "rectangle"
        findings.append(_interrupted(jobs[0].material))
    done = []
    for job in jobs:
        store = NestStore() if stores is None else stores.setdefault(job.material, NestStore())
        try:
            done.append(ahead.get(job.material) or nest_material(replace(job, engine=engine), store, pool))
        except KeyboardInterrupt:
            engine = "rectangle"  # for the materials after this one too
            done.append(nest_material(replace(job, engine=engine), store))
            findings.append(_interrupted(job.material))
    before = request.numbered_after
    sheets = (
        blank.sheet(rows, number=n + before.get(blank.material, 0))
        for some in done
        for n, (blank, rows) in enumerate(some.purchase, 1)
    )
    findings += (finding for some in done for finding in some.findings)
    layout = Layout(tuple(sheets), tuple(findings), tuple(piece.key for some in done for piece in some.left))
    faults = verify(layout, request.pieces, {job.material: job.rules for job in jobs})
    return replace(layout, findings=layout.findings + faults)


@dataclass(frozen=True, slots=True)
class _Job:
    """The pieces of one material, the sheets on hand and the sizes to buy, the rules, and how to search."""

    material: str
    pieces: list[Piece]
    on_hand: list[Blank]
    to_buy: list[Blank]
    rules: Rules
    engine: str
    budget: SearchBudget

    @staticmethod
    def of(request: NestRequest, material: str) -> _Job:
        """Take from a request what one material needs."""
        rules, mine = request.rules(material), [piece for piece in request.pieces if piece.material == material]
        on_hand, to_buy = blanks_of(request.stock, material, rules, request.offcuts, most=len(mine))
        return _Job(material, mine, on_hand, to_buy, rules, request.keys.engine, request.budget(material))


def _side_by_side(jobs: Sequence[_Job], pool: Pool) -> dict[str, Nested]:
    """Nest materials in worker processes; those whose worker failed are left out, to be nested here."""
    found = run_all(_nest_job, jobs, None, workers=pool, limit_s=LIMIT_S, size=lambda job: len(job.pieces))
    return {job.material: nested for job, nested in zip(jobs, found, strict=True) if not isinstance(nested, Failure)}


def _nest_job(_: None, job: _Job) -> Nested:
    return nest_material(job, NestStore())


@dataclass(frozen=True, slots=True)
class Nested:
    """The sheets used of one material, the pieces that found no place, and what there is to say."""

    purchase: Purchase
    left: list[Piece]
    findings: list[Finding]


def nest_material(job: _Job, store: NestStore, pool: Pool | None = None) -> Nested:
    """Lay the pieces of one material on the sheets on hand and the sizes to buy.

    Very many pieces are nested in groups, by the `pool` where there is one.
    """
    rules, blanks = job.rules, job.on_hand + job.to_buy
    if not blanks:
        return Nested([], job.pieces, [_no_stock(p) for p in job.pieces])
    engine = engine_of(job.engine, store)
    laid, too_large = sorted_out(job.pieces, blanks, rules)
    packed = engine(laid, job.on_hand, rules, LARGEST_FIRST)
    owned = packed.on(job.on_hand)
    rest, full = sorted_out([laid[i] for i in packed.left], job.to_buy, rules)
    findings = [_too_large(p, blanks, rules) for p in too_large] + [_none_left(p) for p in full]
    if job.engine == "rectangle":
        bought = Buyer(job.to_buy, rules, engine).buy(rest)
    elif len(rest) > MANY:
        bought = Buyer(job.to_buy, rules, by_groups(engine, pool, findings.append)).buy(rest)
    else:
        bought = _bought_by_shape(rest, job, engine, store)
    return Nested(owned + bought, [*too_large, *full], findings)


def _bought_by_shape(pieces: Sequence[Piece], job: _Job, engine: Engine, store: NestStore) -> Purchase:
    """Buy sheets for pieces nested by shape, then nest on these in more ways, in most where few parts take a sheet.

    Where only the number of sheets counts (`first_whole`), more ways are tried only where they may save a sheet.
    """
    budget = job.budget
    thorough = None if budget.first_whole or not budget.looks else budget
    at_once = thorough if len(job.to_buy) == 1 else None  # there are no sizes to compare before all ways are tried
    bought = Buyer(job.to_buy, job.rules, engine, at_once or LARGEST_FIRST, again=thorough).buy(pieces)
    little = bool(bought) and _last_share(bought, pieces) <= OTHERS_GAIN
    one_too_many = little and len(bought) == 2
    tries = []
    if budget.looks and not at_once and (thorough or (little and not one_too_many)):
        tries.append(budget)
    if one_too_many:
        tries.append(replace(NEAR_MISS, first_whole=budget.first_whole))
    for some in tries:
        bought = _nested_again(bought, pieces, job.rules, some, store)
        if len(bought) == 1:
            break
    return bought


def _nested_again(
    purchase: Purchase, pieces: Sequence[Piece], rules: Rules, budget: SearchBudget, store: NestStore
) -> Purchase:
    """Nest the pieces on the sheets of a purchase within another budget; give the better nest."""
    if not purchase:
        return purchase
    blanks = [blank for blank, _ in purchase]
    packed = pack_shapes(pieces, blanks, rules, budget, store=store)
    offer = packed.on(blanks)
    return offer if not packed.left and _use(offer, pieces) < _use(purchase, pieces) else purchase


def _last_share(purchase: Purchase, pieces: Sequence[Piece]) -> float:
    """Give the share of the pieces' area that lies on the last sheet."""
    by_key = {piece.key: piece.region.area for piece in pieces}
    return sum(by_key[at.key] for at in purchase[-1][1]) / sum(by_key.values())


def _use(purchase: Purchase, pieces: Sequence[Piece]) -> tuple[tuple[float, float, int], int, float]:
    """Rank a purchase: what it costs, how far the last sheet is used, and the area of the parts on it (mm2)."""
    by_key = {piece.key: piece.region for piece in pieces}
    last = [(by_key[at.key], at) for at in purchase[-1][1]]
    used = max(turned_box(points(region), at.turn).x1 + at.x for region, at in last)
    return total_cost(purchase), round(used / ALMOST), sum(region.area for region, _ in last)


def _interrupted(material: str) -> Finding:
    text = (
        f"nesting was interrupted before every part had a place: {material} and what comes after it are packed by boxes"
        ", which takes more sheets; run it again for a closer nest"
    )
    return Finding("nest-interrupted", "warning", text)


def _no_stock(piece: Piece) -> Finding:
    text = f"there is no [[stock]] of material {piece.material!r}; add a sheet size to the ticket"
    return Finding("no-stock", "error", f"{name_of(piece.key)}: {text}", plate=piece.plate)


def _none_left(piece: Piece) -> Finding:
    text = "the sheets on hand are full and no size that can be bought takes it; add a [[stock]] size to the ticket"
    return Finding("stock-used-up", "error", f"{name_of(piece.key)}: {text}", plate=piece.plate)


def _too_large(piece: Piece, blanks: Sequence[Blank], rules: Rules) -> Finding:
    box = bounds(piece.region)
    turn = None if rules.free else helping_turn(piece, blanks)
    by_turning = "" if turn is None else f"{_allow(turn, rules)}, "
    return Finding(
        "too-large-for-stock",
        "error",
        f"{name_of(piece.key)} is {box.width:.1f} x {box.height:.1f} mm and fits no sheet of {piece.material}; the "
        f"largest usable area is {largest_usable(blanks)}; add a larger [[stock]] size, {by_turning}or make it smaller",
        plate=piece.plate,
        measured=max(box.width, box.height),
    )


def _allow(turn: float, rules: Rules) -> str:
    """Say how the ticket allows a turn; where all lies one way, by the grain too, it is the first turn that counts."""
    return f"put {turn:g} first in nest.turns" if len(rules.turns) == 1 else f"add {turn:g} to nest.turns"
