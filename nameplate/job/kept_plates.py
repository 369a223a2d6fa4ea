"""What of a list is made anew, what goes on as an earlier run has begun it, and what stays aside this time.

Terms. A plate *goes on* when pieces of it were cut: it keeps the lettering and the parts it was cut with, whatever the
ticket says now, and only pieces that are missing or spoiled are cut again. It is made *anew* when that is asked for
(`--again`), or when its text was changed and none of its names is left to be used.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from nameplate.cut.expectation import DropIn
from nameplate.errors import RecordError
from nameplate.findings import Finding
from nameplate.job.designs import Contexts
from nameplate.job.looks import differing, look_of, look_of_shared
from nameplate.lettering.legibility import still_hard_to_read
from nameplate.model import Order, Part, Plate
from nameplate.nest.layout import SheetLayout
from nameplate.plates.batch_parts import SharedWork
from nameplate.plates.make import PlateWork, as_it_stands
from nameplate.plates.orders import Orders
from nameplate.record.approvals import SignBook
from nameplate.record.ids import KnownPlate
from nameplate.record.kept import NOTHING_KEPT, Kept, KeptVersion
from nameplate.record.plate_json import unpacked_parts, unpacked_plate
from nameplate.record.plate_lists import CalledIds, in_ranges, several
from nameplate.record.states import OF_THE_PLATE
from nameplate.system.grouping import grouped
from nameplate.system.shelf import changed

#: The highest number of a copy that was cut, by plate, kind and layer (`Kept.last_copies`).
LastCopies: TypeAlias = Mapping[tuple[str, str, int], int]

#: Stands for all plates in `--again`.
ALL = "all"

#: Plates named in a finding.
NAMED = 24


@dataclass(frozen=True, slots=True)
class Wish:
    """What a run is restricted to: ids of plates to make `again` (or ALL), and of the `only` ones to make; all of the
    list where `only` is None."""

    again: frozenset[str] = frozenset()
    only: frozenset[str] | None = None

    def makes(self, plate: str) -> bool:
        """Tell whether pieces of a plate are to be laid in this run."""
        return self.only is None or plate in self.only

    def makes_again(self, plate: str) -> bool:
        """Tell whether what was cut of a plate is to be made anew."""
        return self.makes(plate) and (ALL in self.again or plate in self.again)


#: A run that is restricted to nothing.
EVERYTHING = Wish()


@dataclass(frozen=True, slots=True)
class Before:
    """What earlier commands did for a job, and what this one is restricted to.

    `known` are the plates that were ever in the list, and `book` has who approved them; None of a job of which no
    record is kept. `planned` are the sheets of the last run that are not cut yet.
    """

    kept: Kept = NOTHING_KEPT
    wish: Wish = EVERYTHING
    known: tuple[KnownPlate, ...] = ()
    book: SignBook | None = None
    planned: tuple[SheetLayout, ...] = ()

    @property
    def is_first_run(self) -> bool:
        """Whether a record is kept and has no run yet."""
        return self.book is not None and not self.planned and not self.kept.sheets


#: A first run of everything.
FIRST = Before()


def called_by_id(before: Before, orders: Orders) -> Before:
    """Give the plates that a run is restricted to by their ids, where they were called without leading zeros.

    Raises RecordError where a number may be any of several plates.
    """
    ids, problems = CalledIds((*(order.id for order in orders.every), *before.kept.begun)), dict[str, None]()

    def called(names: frozenset[str]) -> frozenset[str]:
        found = {name: ids.called(name) for name in sorted(names)}
        problems.update((several(name, plates), None) for name, plates in found.items() if len(plates) > 1)
        return frozenset(plates[0] if plates else name for name, plates in found.items())

    wish = before.wish
    wish = Wish(called(wish.again), None if wish.only is None else called(wish.only))
    if problems:
        raise RecordError(list(problems))
    return replace(before, wish=wish)


@dataclass(frozen=True, slots=True)
class Choice:
    """The orders to make anew, the plates that go on, those held, and those refused; by plate the drop-ins of what goes
    on. `superseded` plates are made anew in place of what was cut of them, those that go on though they would be made
    `otherwise` now are not. Those `aside` are left out of this run: they are only shown. `cut_sizes` are by design of
    one size the size and the baseline that it was cut in."""

    anew: tuple[Order, ...]
    aside: tuple[Order, ...] = ()
    going_on: tuple[PlateWork, ...] = ()
    held: tuple[Order, ...] = ()
    refused: tuple[Order, ...] = ()
    drop_ins: Mapping[str, tuple[DropIn, ...]] = field(default_factory=dict)
    superseded: tuple[str, ...] = ()
    otherwise: frozenset[str] = frozenset()
    findings: tuple[Finding, ...] = ()
    cut_sizes: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SharedOn:
    """What designs share, with what is to be cut of it; by name the drop-ins of what goes on, as in `Choice`."""

    shared: Mapping[str, SharedWork]
    drop_ins: Mapping[str, tuple[DropIn, ...]]
    superseded: tuple[str, ...]
    findings: tuple[Finding, ...]


def choose(orders: Orders, contexts: Contexts, before: Before, shared: Collection[str]) -> Choice:
    """Sort the orders of a list by what is to become of them; `shared` are names of what the batch shares.

    Raises RecordError for a wish about plates that there are not, and for a damaged record.
    """
    every = {order.id: order for order in orders.every}
    begun = {p: v for p, v in before.kept.begun.items() if "shared" not in v.look}
    _check_wish(before.wish, {*every, *begun}, shared)
    rows = {o.id: o for o in orders.orders}
    looks = {plate: look_of(order, contexts[order.design]) for plate, order in rows.items() if plate in begun}
    changes = {plate: differing(begun[plate].look, look) for plate, look in looks.items()}
    again = {plate for plate in rows if plate in begun and before.wish.makes_again(plate)}
    renamed = {p for p, keys in changes.items() if "text" in keys and not begun[p].is_named and p not in again}
    renamed = {plate for plate in renamed if before.wish.makes(plate)}
    on = {plate: version for plate, version in begun.items() if plate not in again | renamed}
    anew = tuple(o for o in orders.orders if o.id not in on and before.wish.makes(o.id))
    aside = tuple(o for o in orders.orders if o.id not in on and not before.wish.makes(o.id))
    last = before.kept.last_copies
    goes = [_goes_on(v, every.get(v.plate), contexts, before.wish, last, may=v.plate in rows) for v in on.values()]
    works = tuple(work for work, _ in goes)
    sizes = _sizes_cut(on.values(), works, contexts)
    return Choice(
        anew=_of_one_size(anew, sizes),
        aside=_of_one_size(aside, sizes),
        going_on=works,
        held=tuple(o for o in orders.held if o.id not in on),
        refused=_of_one_size((o for o in orders.refused if o.id not in on), sizes),
        drop_ins={work.plate.order.id: drops for work, drops in goes},
        superseded=tuple(sorted(again | renamed)),
        otherwise=frozenset(plate for plate, keys in changes.items() if keys and plate in on),
        findings=(
            *_left_aside((*aside, *(work.plate.order for work in works if work.plate.order.aside))),
            *_findings(on, changes, renamed, every),
        ),
        cut_sizes=sizes,
    )


def cut_otherwise(orders: Iterable[Order], kept: Kept) -> tuple[str, ...]:
    """Name the plates whose names were cut with another text than they have in the list, as far as that is known.

    >>> cut_otherwise([Order("001", 2, "Ida")], NOTHING_KEPT)
    ()
    """
    named = {plate: version for plate, version in kept.begun.items() if version.is_named and version.texts}
    return tuple(order.id for order in orders if order.id in named and named[order.id].texts != order.texts)


def as_listed(before: Before, orders: Iterable[Order]) -> Before:
    """Give what was before, with every plate that was cut with another text wished to be made again: so it is shown to
    whoever is to sign it, without whom that cannot be."""
    again = before.wish.again.union(cut_otherwise(orders, before.kept))
    return replace(before, wish=replace(before.wish, again=again))


def _check_wish(wish: Wish, known: Collection[str], shared: Collection[str]) -> None:
    there = {*known, *shared}
    asked = {("--again", p) for p in wish.again - {ALL}} | {("--only", p) for p in wish.only or ()}
    strange = sorted(f"{option} {plate}" for option, plate in asked if plate not in there)
    if strange:
        raise RecordError([f"{one}: the list has no plate of that id, and none was cut" for one in strange])


def _goes_on(
    version: KeptVersion, row: Order | None, contexts: Contexts, wish: Wish, last: LastCopies, *, may: bool
) -> tuple[PlateWork, tuple[DropIn, ...]]:
    """Give a plate as it was recorded, with what is to be cut of it (nothing, unless it `may`); its `row` says how many
    copies there are to be and where it hangs. One without a name to be used waits where none is cut of it this time."""
    makes = may and wish.makes(version.plate)
    waits = not version.is_named and not makes
    kept = unpacked_plate(version.made, name=f"plate {version.plate}")
    order = replace(kept.plate.order, hold=False)
    if row is None:
        order = replace(order, row=0)
    else:
        order = replace(order, row=row.row, position=row.position, extra=row.extra, copies=row.copies)
        order = replace(order, hold=waits and row.hold, aside=waits and may)
    if order.design not in contexts:  # its own is gone from the ticket
        others = (*([row.design] if row is not None and row.design in contexts else ()), *contexts)
        order = replace(order, design=others[0])
    parts = tuple(_to_cut(part, order.copies, version, last, kept.plate.parts) for part in kept.plate.parts)
    named = makes and any(part.copies for part in parts if part.kind in OF_THE_PLATE)
    hard = still_hard_to_read(order, kept.plate.lettering) if named and kept.plate.lettering else None
    plate = Plate(order, kept.plate.lettering, parts, (hard,) if hard else (), jig=kept.plate.jig)
    work = PlateWork(plate, drawn=kept.drawn, on=True)
    if makes:
        return work, kept.drop_ins
    return replace(as_it_stands(work), lacks=may and any(part.copies for part in parts)), kept.drop_ins


def _to_cut(part: Part, copies: int, version: KeptVersion, last: LastCopies, beside: Sequence[Part]) -> Part:
    """Say of a part which copies are to be cut: those that are missing, numbered after all that ever were cut.

    Every copy of a plate has one of each part that ends up on it, the plate has one of each other. A name and the
    template that it is cut from are one piece of work.
    """
    twins = [part]
    if part.cut_from or part.is_waste:
        twins = [p for p in beside if p.cut_from or p.is_waste]
    name = next((p for p in twins if p.cut_from), part)
    wanted = copies if name.kind in OF_THE_PLATE else 1
    first = max(_next_copy(p, last) for p in twins)
    return changed(part, copies=max(0, wanted - version.standing(name.kind, name.layer)), first=first)


def _next_copy(part: Part, last: LastCopies) -> int:
    return last.get(part.part_id, 0) + 1


def _sizes_cut(
    versions: Iterable[KeptVersion], works: Iterable[PlateWork], contexts: Contexts
) -> dict[str, tuple[float, float]]:
    """Give by design of one size the size and the baseline that the first of its plates was cut in; one whose row had a
    size of its own, by which its version was made, says nothing of that."""
    sizes: dict[str, tuple[float, float]] = {}
    for version, work in zip(versions, works, strict=True):
        order = work.plate.order
        is_of_all = order.design in contexts and contexts[order.design].lettering.size == "uniform"
        if is_of_all and version.look.get("size") is None and order.size is not None and order.baseline is not None:
            sizes.setdefault(order.design, (order.size, order.baseline))
    return sizes


def _of_one_size(orders: Iterable[Order], sizes: Mapping[str, tuple[float, float]]) -> tuple[Order, ...]:
    """Give orders of a design of one size the size that its plates were cut in."""
    return tuple(at_size(order, *sizes[order.design]) if order.design in sizes else order for order in orders)


def at_size(order: Order, size: float, baseline: float) -> Order:
    """Give an order the size and the baseline of its batch; a size of its own stays."""
    return replace(order, size=order.size or size, baseline=baseline)


# --- what the batch shares ------------------------------------------------------------------------------------------


def shared_going_on(shared: Mapping[str, SharedWork], contexts: Contexts, before: Before) -> SharedOn:
    """Leave out of what designs share the pieces that were cut; raises RecordError for a damaged record."""
    begun = {name: version for name, version in before.kept.begun.items() if "shared" in version.look}
    again = {name for name in begun if before.wish.makes_again(name)}
    on = {name: version for name, version in begun.items() if name not in again}
    names = dict.fromkeys((part.plate, design) for design, own in shared.items() for part in own.parts)
    looks = {n: look_of_shared([p for p in shared[d].parts if p.plate == n], contexts[d]) for n, d in names if n in on}
    changes = {name: differing(on[name].look, look) for name, look in looks.items()}
    last = before.kept.last_copies

    def part_left(part: Part) -> Part:
        if part.plate in on:
            return _to_cut(part, part.copies, on[part.plate], last, ())
        return changed(part, first=_next_copy(part, last))

    return SharedOn(
        {design: replace(own, parts=tuple(map(part_left, own.parts))) for design, own in shared.items()},
        {name: unpacked_parts(on[name].made, name=name).drop_ins for name in looks},
        tuple(sorted(again)),
        tuple(_differs([name], keys) for name, keys in changes.items() if keys),
    )


def numbered_on(works: Iterable[PlateWork], kept: Kept) -> tuple[PlateWork, ...]:
    """Number the copies of plates that are made anew after all that ever were cut of them."""
    if not kept.sheets:
        return tuple(works)
    last = kept.last_copies

    def numbered(plate: Plate) -> Plate:
        return replace(plate, parts=tuple(changed(p, first=_next_copy(p, last)) for p in plate.parts))

    return tuple(changed(work, plate=numbered(work.plate)) for work in works)


# --- what is said ---------------------------------------------------------------------------------------------------


def _findings(
    on: Mapping[str, KeptVersion],
    changes: Mapping[str, tuple[str, ...]],
    renamed: Collection[str],
    every: Mapping[str, Order],
) -> Iterator[Finding]:
    by_keys = grouped((keys, plate) for plate, keys in changes.items() if keys and plate in on)
    for keys, plates in by_keys.items():
        yield _differs(sorted(plates), keys)
    if renamed:
        who = _plates(sorted(renamed))
        text = f"{who}: the text was changed, and no name of it is left to be used: it is made anew"
        yield Finding("cut-renamed", "note", text)
    gone = sorted(plate for plate in on if plate not in every)
    if gone:
        text = f"{_plates(gone)}: no longer in the list, but cut; kept as it was cut, and nothing more is cut of it"
        yield Finding("cut-not-listed", "note", text)


def _left_aside(aside: Sequence[Order]) -> Iterator[Finding]:
    if aside:
        which = _plates([order.id for order in aside])
        them = "it" if len(aside) == 1 else "them"
        text = f"{which}: not in this run (--only); nameplate make without --only makes {them}"
        yield Finding("not-in-run", "note", text)


def _differs(plates: Sequence[str], keys: Sequence[str]) -> Finding:
    stays = "it stays as it was cut" if len(plates) == 1 else "they stay as they were cut"
    text = (
        f"{_plates(plates)}: cut, and the ticket now says otherwise ({', '.join(keys)}); {stays}; make anew what is to "
        f"change with --again {plates[0]}, or all of it with --again all"
    )
    return Finding("cut-differs", "warning", text)


def _plates(plates: Sequence[str]) -> str:
    """Name some plates for a message.

    >>> _plates(["017"]), _plates(["017", "018"])
    ('plate 017', 'plates 017, 018')
    """
    return f"plate{'' if len(plates) == 1 else 's'} {in_ranges(plates, most=NAMED)}"
