"""From pieces and stock to a checked layout: one material a sheet, sheets on hand first, then the cheapest to buy.

Method, for each material: set aside what fits no sheet (a finding each); fill the sheets on hand, largest first; for
what is left try each size alone, let pieces too large for it go to the other sizes, and keep the cheapest; put the
last sheet's parts on a cheaper size when they fit there. Whatever the engine, the result is verified exactly. An
interrupt before every part has a place packs the rest of the job by boxes, which takes a moment; a second one ends it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from nameplate.findings import Finding
from nameplate.geometry.collision_set import FEW, turned_box
from nameplate.geometry.region import bounds, points
from nameplate.nest.buying.purchase import Engine, Purchase, cheaper_mix, fullest, total_cost
from nameplate.nest.groups import pack_groups, pack_in_turn
from nameplate.nest.layout import Layout, Piece, SheetLayout, name_of
from nameplate.nest.rectangles import Packed, pack_boxes
from nameplate.nest.search.by_sheet import fill_each
from nameplate.nest.search.effort import Report, improve
from nameplate.nest.search.trueshape import Stamps, Store, as_packed, cell_side, pack_shapes
from nameplate.nest.sheets import Blank, Offcut, Rules, blanks_of, fitting, largest_usable, rules_of
from nameplate.nest.verify import verify
from nameplate.pool.interface import Failure, Pool
from nameplate.pool.processes import run_all
from nameplate.ticket.schema import NestKeys, StockKeys

#: With the shape engine, parts are also packed by boxes when there are at most this many; for plain shapes that can
#: be better. More parts make it slower than it is worth.
ALSO_BOXES = 150

#: Combinations of sizes that are really nested in search of a cheaper one.
MIXES = 5

#: Pieces of a very large job that are nested on every size to see which is cheapest.
SAMPLE = 120

#: Nests whose last sheets are used equally far within this (mm) are told apart by the area on them, which a longer
#: search may empty.
ALMOST = 2.0

#: Other orders shorten a nest by less than this share, so only a last sheet that carries less than that can be saved.
OTHERS_GAIN = 0.08

#: How many pieces the ways in which a sheet is filled look at, each turn counted, the second with `normal` and where a
#: sheet may be saved: twice and six times those of a batch of 50 at four turns. The time grows with it.
TRIED_QUICK = 400
TRIED = 1200

#: Seconds a material may take in a worker before it is nested in the parent: far more than it takes on a slow machine.
LIMIT_S = 1800.0

#: With more pieces than this, no combinations are tried: each takes as long as the nest itself, and gains less.
MANY = 300


def nest(
    pieces: Sequence[Piece],
    stock: Sequence[StockKeys],
    keys: NestKeys,
    *,
    kerf: Mapping[str, float] | None = None,
    grain: Collection[str] = (),
    offcuts: Sequence[Offcut] = (),
    report: Report = lambda _: None,
    stores: dict[str, Store] | None = None,
    coarse: Collection[str] = (),
    count_only: bool = False,
    crew: Pool | None = None,
) -> Layout:
    """Lay pieces on sheets.

    `kerf` is the width of the cut (mm) for each material; parts are never nearer than that. `grain` names the
    materials on which all parts lie the same way. `offcuts` are used before anything else. `report` is told how the
    work goes. Pieces that fit no sheet come back as `unplaced`, each with an error finding. `stores`, by material,
    keep what was prepared for a quote; the materials in `coarse` are nested in one order only, and with
    `count_only` so are those that other orders would not save a sheet of. A `crew` nests several materials side by
    side, where the effort is quick; the layout is the same.

    >>> nest([], [], NestKeys())
    Layout(sheets=(), findings=(), unplaced=())
    """
    sheets: list[SheetLayout] = []
    findings: list[Finding] = []
    unplaced: list[Piece] = []
    jobs = []
    for material in sorted({piece.material for piece in pieces}):
        rules = rules_of(keys, (kerf or {}).get(material, 0.0), grain=material in grain, coarse=material in coarse)
        mine = [piece for piece in pieces if piece.material == material]
        blanks = blanks_of(stock, material, rules, offcuts, most=len(mine))
        jobs.append(_Job(material, mine, blanks, rules))
    # what is nested in groups takes all of the crew by itself
    worth_a_crew = (keys.engine, keys.effort, stores) == ("shape", "quick", None)
    small = [job for job in jobs if len(job.pieces) <= MANY] if worth_a_crew else []
    try:
        ahead = _side_by_side(small, keys, crew) if crew is not None and len(small) > 1 else {}
    except KeyboardInterrupt:
        ahead, keys = {}, replace(keys, engine="rectangle")
        findings.append(_interrupted(jobs[0].material))
    for job in jobs:
        store = Store() if stores is None else stores.setdefault(job.material, Store())
        try:
            done = ahead.get(job.material) or nest_material(
                job.pieces, job.blanks, job.rules, keys, report=report, store=store, count_only=count_only, crew=crew
            )
        except KeyboardInterrupt:
            keys = replace(keys, engine="rectangle")  # for the materials after this one too
            done = nest_material(job.pieces, job.blanks, job.rules, keys)
            done.findings.append(_interrupted(job.material))
        sheets += [replace(blank.sheet(rows), number=n) for n, (blank, rows) in enumerate(done.purchase, 1)]
        unplaced += done.left
        findings += done.findings
    layout = Layout(tuple(sheets), tuple(findings), tuple(piece.key for piece in unplaced))
    faults = verify(layout, pieces, {job.material: job.rules for job in jobs})
    return replace(layout, findings=layout.findings + faults)


@dataclass(frozen=True, slots=True)
class _Job:
    """The pieces of one material, the sheets on hand and the sizes to buy, and the rules."""

    material: str
    pieces: list[Piece]
    blanks: tuple[list[Blank], list[Blank]]
    rules: Rules


def _side_by_side(jobs: Sequence[_Job], keys: NestKeys, crew: Pool) -> dict[str, Nested]:
    """Nest materials in worker processes; those whose worker failed are left out, to be nested here."""
    found = run_all(_nest_job, jobs, keys, workers=crew, limit_s=LIMIT_S, size=lambda job: len(job.pieces))
    return {job.material: nested for job, nested in zip(jobs, found, strict=True) if not isinstance(nested, Failure)}


def _nest_job(keys: NestKeys, job: _Job) -> Nested:
    return nest_material(job.pieces, job.blanks, job.rules, keys)


@dataclass(frozen=True, slots=True)
class Nested:
    """The sheets used of one material, the pieces that found no place, and what there is to say."""

    purchase: Purchase
    left: list[Piece]
    findings: list[Finding]


def nest_material(
    pieces: Sequence[Piece],
    blanks: tuple[list[Blank], list[Blank]],
    rules: Rules,
    keys: NestKeys,
    *,
    report: Report = lambda _: None,
    store: Store | None = None,
    count_only: bool = False,
    crew: Pool | None = None,
) -> Nested:
    """Lay the pieces of one material on the sheets on hand and the sizes to buy (`blanks`, in this order).

    Very many pieces are nested in groups, by the `crew` where there is one.
    """
    on_hand, to_buy = blanks
    if not on_hand + to_buy:
        return Nested([], list(pieces), [_no_stock(p) for p in pieces])
    store = store or Store()
    engine = engine_of(keys.engine, store)
    laid, too_large = _sorted_out(pieces, on_hand + to_buy, rules)
    packed = engine(laid, on_hand, rules)
    owned: Purchase = [(blank, rows) for blank, rows in zip(on_hand, packed.placements, strict=True) if rows]
    rest, full = _sorted_out([laid[i] for i in packed.left], to_buy, rules)
    said: list[Finding] = []
    if keys.engine == "shape" and len(rest) > MANY:
        engine = _by_groups(engine, said, crew)
    tried = TRIED if keys.effort == "normal" else TRIED_QUICK
    few = keys.engine == "shape" and len(rest) <= MANY
    harder = engine_of("shape", store, tried) if few and not rules.coarse and not count_only else None
    one_size = len(to_buy) == 1 and harder is not None  # then there is nothing to compare before working hard
    bought = buy(rest, to_buy, rules, harder if harder and one_size else engine, harder=harder)
    if few:
        bought = _in_other_ways(bought, rest, rules, store, 0 if one_size else tried, count_only=count_only)
    purchase = owned + bought
    findings = [_too_large(p, on_hand + to_buy) for p in too_large] + [_none_left(p) for p in full]
    if keys.engine == "shape":
        without = {p.key for p in full}
        laid = [p for p in laid if p.key not in without]
        purchase, more = improve(purchase, laid, rules, keys.effort, report=report, store=store)
        said += more
    return Nested(purchase, [*too_large, *full], findings + said)


def _sorted_out(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> tuple[list[Piece], list[Piece]]:
    """Part pieces into those that fit some sheet and those that fit none."""
    good = fitting(pieces, blanks, rules)
    keys = {piece.key for piece in good}
    return good, [piece for piece in pieces if piece.key not in keys]


def _in_other_ways(
    bought: Purchase, pieces: Sequence[Piece], rules: Rules, store: Store, tried: int, *, count_only: bool
) -> Purchase:
    """Nest the pieces in other ways, harder where little keeps them from one sheet; keep the better nest.

    The ways look at about `tried` pieces, none where that is 0. With `count_only` they are tried only where they may
    save a sheet, and the first that does is enough.
    """
    little = not _settled(bought, pieces)
    close = little and len(bought) == 2
    looks = [] if rules.coarse or not tried or (count_only and (close or not little)) else [tried]
    if close:
        looks.append(TRIED)
    for some in looks:
        bought = _reordered(bought, pieces, rules, store, some, enough=count_only)
        if len(bought) == 1:
            break
    return bought


def _reordered(
    purchase: Purchase, pieces: Sequence[Piece], rules: Rules, store: Store, tried: int, *, enough: bool
) -> Purchase:
    """Nest the pieces on the sheets of a purchase in other orders, sheet by sheet; keep the better nest."""
    if not purchase:
        return purchase
    blanks = [blank for blank, _ in purchase]
    stamps = Stamps(pieces, rules, cell_side(blanks, rules.gap), store)
    tables, left = fill_each(pieces, blanks, rules, stamps=stamps, tried=tried, enough=enough)
    rows = as_packed(tables, left, len(blanks)).placements
    offer = [(blank, some) for blank, some in zip(blanks, rows, strict=True) if some]
    return offer if not left and _use(offer, pieces) < _use(purchase, pieces) else purchase


def _settled(purchase: Purchase, pieces: Sequence[Piece]) -> bool:
    """Tell whether the last sheet carries too much for another order to do without it."""
    if not purchase:
        return True
    by_key = {piece.key: piece.region for piece in pieces}
    last = sum(float(by_key[at.key].area) for at in purchase[-1][1])
    return last > OTHERS_GAIN * sum(float(region.area) for region in by_key.values())


def _use(purchase: Purchase, pieces: Sequence[Piece]) -> tuple[tuple[float, float, int], int, float]:
    """Rank a purchase: what it costs, how far the last sheet is used, and the area of the parts on it (mm2)."""
    by_key = {piece.key: piece.region for piece in pieces}
    last = [(by_key[at.key], at) for at in purchase[-1][1]]
    used = max(turned_box(points(region), at.turn).x1 + at.x for region, at in last)
    return total_cost(purchase), round(used / ALMOST), sum(region.area for region, _ in last)


def _by_groups(engine: Engine, said: list[Finding], crew: Pool | None) -> Engine:
    """Give an engine that nests very many pieces for one size in groups, and anything else as before."""

    def say(text: str) -> None:
        said.append(Finding("nest-worker-failed", "warning", text))

    def pack(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> Packed:
        if len(pieces) <= MANY or len({b.stock for b in blanks}) > 1:
            return engine(pieces, blanks, rules)
        rows = pack_groups(pieces, blanks[0], rules, workers=crew, say=say)
        if len(rows) > len(blanks):
            return Packed((), tuple(range(len(pieces))))
        return Packed((*rows, *((),) * (len(blanks) - len(rows))), ())

    return pack


def _interrupted(material: str) -> Finding:
    text = (
        f"nesting was interrupted before every part had a place: {material} and what comes after it are packed by boxes"
        ", which takes more sheets"
    )
    return Finding("nest-interrupted", "warning", text)


def _no_stock(piece: Piece) -> Finding:
    text = f"there is no [[stock]] of material {piece.material!r}; add a sheet size to the ticket"
    return Finding("no-stock", "error", f"{name_of(piece.key)}: {text}", plate=piece.plate)


def _none_left(piece: Piece) -> Finding:
    text = "the sheets on hand are full and no size that can be bought takes it; add a [[stock]] size to the ticket"
    return Finding("stock-used-up", "error", f"{name_of(piece.key)}: {text}", plate=piece.plate)


def engine_of(name: str, store: Store, tried: int = 0) -> Engine:
    """Give the engine of a name; the shape engine keeps the better of its own nest and that by boxes.

    With `tried` it fills each sheet in several ways, see `fill_each`; without, in one order, which is much quicker.
    """
    if name == "rectangle":
        return pack_boxes

    def pack(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> Packed:
        which = (tuple(p.key for p in pieces), tuple((b.stock, b.on_hand, b.offcut) for b in blanks), rules, tried)
        if which not in store.packs:
            store.packs[which] = packed_anew(pieces, blanks, rules)
        return store.packs[which]

    def packed_anew(pieces: Sequence[Piece], blanks: Sequence[Blank], rules: Rules) -> Packed:
        if len(pieces) > MANY and blanks:
            packed = pack_in_turn(pieces, blanks, rules)
        elif tried and blanks:
            stamps = Stamps(pieces, rules, cell_side(blanks, rules.gap), store)
            packed = as_packed(*fill_each(pieces, blanks, rules, stamps=stamps, tried=tried), len(blanks))
        else:
            packed = pack_shapes(pieces, blanks, rules, store=store)
        if len(pieces) > ALSO_BOXES or not all(len(points(p.region)) <= FEW for p in pieces):
            return packed
        by_boxes = pack_boxes(pieces, blanks, rules)
        return by_boxes if _rank(by_boxes) < _rank(packed) else packed

    return pack


def _rank(packed: Packed) -> tuple[int, int]:
    return len(packed.left), sum(bool(rows) for rows in packed.placements)


def _too_large(piece: Piece, blanks: Sequence[Blank]) -> Finding:
    box = bounds(piece.region)
    return Finding(
        "too-large-for-stock",
        "error",
        f"{name_of(piece.key)} is {box.width:.1f} x {box.height:.1f} mm and fits no sheet of {piece.material}; the "
        f"largest usable area is {largest_usable(blanks)}; add a larger [[stock]] size, allow more turns, or make it "
        "smaller",
        plate=piece.plate,
        measured=max(box.width, box.height),
    )


def buy(
    pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine, *, harder: Engine | None = None
) -> Purchase:
    """Lay pieces, each of which fits some size, on the cheapest combination of sizes found."""
    bought = _last_sheet_cheaper(_cheapest(pieces, sizes, rules, engine), pieces, sizes, rules, engine)
    return cheaper_mix(pieces, sizes, rules, engine, bought, MIXES if len(pieces) <= MANY else 0, harder=harder)


def _cheapest(pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine) -> Purchase:
    """Buy mainly one size, whichever is cheapest; what does not fit it goes to the others in the same way."""
    if not pieces:
        return []
    if len(pieces) > MANY and len(sizes) > 1:
        sizes = _likeliest_only(pieces, sizes, rules, engine)
    offers = []
    for size in sizes:
        mine, rest = _sorted_out(pieces, [size], rules)
        if not mine:
            continue
        others = [s for s in sizes if s is not size]
        if not rest or len(fitting(rest, others, rules)) == len(rest):
            offers.append(fill(mine, size, rules, engine) + _cheapest(rest, others, rules, engine))
    return min(offers, key=total_cost)


def _likeliest_only(pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine) -> list[Blank]:
    """Leave out the sizes that a sample of very many pieces shows to be dearer, as far as the pieces fit without them.

    What a size costs is judged by its price for the area that parts cover on the fullest sheet of the sample.
    """
    sample = [pieces[i] for i in range(0, len(pieces), -(-len(pieces) // SAMPLE))]
    prices = []
    for n, size in enumerate(sizes):
        mine = fitting(sample, [size], rules)
        if mine:
            covered = fullest(mine, fill(mine, size, rules, engine)) * size.usable.area
            prices.append((round((size.cost or size.width * size.height) / covered, 9), n))
    if not prices:
        return list(sizes)
    best = sizes[min(prices)[1]]
    needed = len(fitting(pieces, [best], rules)) < len(pieces)
    return list(sizes) if needed else [best]


def fill(pieces: Sequence[Piece], size: Blank, rules: Rules, engine: Engine) -> Purchase:
    """Lay pieces, each of which fits, on as many sheets of one size as it takes."""
    area = sum(p.region.area for p in pieces)
    count = 2 + int(8 * area / size.usable.area)
    while True:
        packed = engine(pieces, [size] * count, rules)
        if not packed.left:
            return [(size, rows) for rows in packed.placements if rows]
        count *= 2


def _last_sheet_cheaper(
    purchase: Purchase, pieces: Sequence[Piece], sizes: Sequence[Blank], rules: Rules, engine: Engine
) -> Purchase:
    """Put the parts of the emptiest sheet on the cheapest size that takes them all."""
    if not purchase:
        return purchase
    by_key = {piece.key: piece for piece in pieces}
    at = min(range(len(purchase)), key=lambda i: (sum(by_key[p.key].region.area for p in purchase[i][1]), -i))
    blank, rows = purchase[at]
    mine = [by_key[p.key] for p in rows]
    for size in sorted(sizes, key=lambda s: (s.cost, s.width * s.height)):
        if (size.cost, size.width * size.height) >= (blank.cost, blank.width * blank.height):
            break
        packed = engine(mine, [size], rules)
        if not packed.left:
            return [*purchase[:at], *purchase[at + 1 :], (size, packed.placements[0])]
    return [*purchase[:at], *purchase[at + 1 :], purchase[at]]
