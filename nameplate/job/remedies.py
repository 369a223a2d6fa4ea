"""What would make names read that are hard to read, or small and unclear: found by making them so, and told.

Method: of each design the name that reads worst is made again in every way that could help (`_ways`): in a sturdier
bundled font, a heavier weight of its own, another setting of the words, more room. The best fonts and what else did are
tried on the next worst names of the design; where nothing does and a name reads as another, the best fonts with more
room. What does for all of these is said, once.

Known limit: no names but those are tried, so what would do may still leave some of the others hard to read.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from nameplate.errors import NameplateError
from nameplate.face.making import make_face
from nameplate.findings import Finding, counted, enumerated, has_errors, kinds_of, named
from nameplate.job.designs import Contexts
from nameplate.job.plate_stage import PlateMaker
from nameplate.lettering.legibility import ADVISED
from nameplate.lettering.rules import SMALL_LETTERS
from nameplate.model import Order, Plate
from nameplate.plates.batch_parts import of_design
from nameplate.plates.make import PlateContext, PlateWork
from nameplate.plates.typeset import fonts_of
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.schema import FaceKeys, Ticket
from nameplate.typesetting.fonts import axes_of, bundled_fonts, load_font

#: Findings that say that a name is hard to read.
READING = frozenset({"misread", "hard-to-read"})

#: So many names of a design are tried, the worst ones. More cost time, fewer say too much of the others.
SAMPLE = 3

#: So many names are listed that are to be looked at, the least clear ones.
LISTED = 8

#: So many fonts are tried on more than the worst name, those in which it reads best.
FONTS = 2

#: Faces, or heights, that are tried: so many times as large.
LARGER = (1.25, 1.5)

#: Backings that are tried stand out so much of what they did, and webs are so much of what they were: less is a rim
#: that a name hides, and strokes that snap.
NARROWER, THINNER = 0.5, 0.8


@dataclass(frozen=True, slots=True)
class Remedy:
    """Something to change: what kind of thing it is, what to say of it, and what plates are then made by.

    Of another `font` only what is changed besides it is said.
    """

    kind: str
    said: str
    context: PlateContext
    font: str = ""

    def of(self, order: Order, design: str) -> Order:
        """Give an order as it is to be tried, by the context of that name."""
        if not self.font:
            return replace(order, design=design)
        styled = tuple(replace(line, fonts=(self.font,)) for line in order.styled)
        return replace(order, design=design, fonts=(self.font,), styled=styled)


def find_remedies(
    maker: PlateMaker, ticket: Ticket, contexts: Contexts, works: Sequence[PlateWork]
) -> tuple[Finding, ...]:
    """Say of each design with names that are hard to read what would do, where anything would."""
    faces = {own.design: own.face for own in tickets_of(ticket)}
    found: list[Finding] = []
    for name, context in contexts.items():
        worst = _worst([work.plate for work in works if work.plate.order.design == name])
        if worst:
            found += of_design(name, _remedy(maker, faces[name], context, worst))
    return (*found, *_to_look_at([work.plate for work in works]))


def _to_look_at(plates: Sequence[Plate]) -> Iterator[Finding]:
    """Name the plates that the proof marks for a letter and of which nothing is said besides."""
    told = READING | {SMALL_LETTERS}
    unclear = _unclear(plate for plate in plates if not any(f.code in told for f in plate.findings))
    if unclear:
        worst = named([f"“{order.name}” ({letter})" for order, letter in unclear], most=LISTED)
        message = f"{counted(len(unclear), 'name')} may be hard to make out in one place: {worst}; the proof marks them"
        yield Finding("hard-to-read", "note", message)


def _worst(plates: Sequence[Plate]) -> list[tuple[Order, bool]]:
    """Give the orders of the plates to do something about, the worst first, and whether they read as another name.

    After those that are hard to read come those with small letters that are less clear than what would be ADVISED: an
    eye gives up on these before the judgement does.
    """
    hard = {f.plate: plate.order for plate in plates for f in plate.findings if f.code in READING}
    kinds = kinds_of(f for plate in plates for f in plate.findings if f.code in READING)
    every = [f for kind in sorted(kinds, key=lambda kind: kind[0].code, reverse=True) for f in kind]
    small = (plate for plate in plates if any(f.code == SMALL_LETTERS for f in plate.findings))
    unclear = _unclear(plate for plate in small if plate.order.id not in hard)
    return [(hard[f.plate], f.code == "misread") for f in every] + [(order, False) for order, _ in unclear]


def _unclear(plates: Iterable[Plate]) -> list[tuple[Order, str]]:
    """Give the orders of plates with a letter that is less clear than ADVISED, and that; the least clear first."""
    known = ((legible, plate) for plate in plates if (legible := _legible(plate)) is not None and legible < ADVISED)
    found = sorted(known, key=lambda own: (own[0], own[1].order.id))
    return [(plate.order, plate.lettering.weakest_letter) for _, plate in found if plate.lettering]


def _legible(plate: Plate) -> float | None:
    return plate.lettering.legibility if plate.lettering else None


def _remedy(
    maker: PlateMaker, face: FaceKeys, context: PlateContext, worst: Sequence[tuple[Order, bool]]
) -> list[Finding]:
    """Try what could help on the worst names and say what did."""
    orders = [order for order, _ in worst]
    sample, ways = orders[:SAMPLE], list(_ways(face, context, orders[0]))
    first = _tried(maker, [(way, sample[0]) for way in ways])
    sure = _doing(maker, sample, ways, first)
    if not sure and worst[0][1]:
        more = list(_with_more_room(ways, first))
        sure = _doing(maker, sample, more, _tried(maker, [(way, sample[0]) for way in more]))
    return [Finding("would-read", "note", _said([order.name for order in orders], len(sample), sure))] if sure else []


def _doing(maker: PlateMaker, sample: Sequence[Order], ways: Sequence[Remedy], first: Sequence[_Trial]) -> list[Remedy]:
    """Give, of ways of which it is known what became of the first of a sample, some that do for all of it."""
    doing = [(way, trial) for way, trial in zip(ways, first, strict=True) if trial.reads]
    fonts = [way for way, _ in _by_legibility(doing)][:FONTS]
    left = [*fonts, *(way for way, _ in doing if not way.font)]
    trials = _tried(maker, [(way, order) for way in left for order in sample[1:]])
    step = len(sample) - 1
    sure = [way for n, way in enumerate(left) if all(t.reads for t in trials[n * step : (n + 1) * step])]
    least = {way.kind: way for way in reversed(sure) if not way.font}
    return [way for way in sure if way.font or way is least[way.kind]]


def _with_more_room(ways: Sequence[Remedy], trials: Sequence[_Trial]) -> Iterator[Remedy]:
    """Yield the fonts that came nearest, each with the most room."""
    for room in [way for way in ways if way.kind in ("face", "max_height")][-1:]:
        for way, _ in _by_legibility(zip(ways, trials, strict=True))[:FONTS]:
            yield replace(way, said=f" with {room.said}", context=room.context)


def _by_legibility(tried: Iterable[tuple[Remedy, _Trial]]) -> list[tuple[Remedy, _Trial]]:
    """Give those with another font, the most legible first."""
    return sorted((pair for pair in tried if pair[0].font), key=lambda pair: -pair[1].legibility)


class _Trial(NamedTuple):
    """What became of a name: whether it reads, and how well it does (0 where it cannot be made)."""

    reads: bool
    legibility: float


def _tried(maker: PlateMaker, trials: Sequence[tuple[Remedy, Order]]) -> list[_Trial]:
    """Make names, each in its way; nothing is kept of them."""
    if not trials:
        return []
    contexts = {str(n): way.context for n, (way, _) in enumerate(trials)}
    orders = [way.of(order, str(n)) for n, (way, order) in enumerate(trials)]
    works = maker.all_of(contexts, orders, "trying what makes names easier to read")
    return [_trial(work.plate) for work in works]


def _trial(plate: Plate) -> _Trial:
    hard = [f.measured or 0.0 for f in plate.findings if f.code in READING]
    legible = _legible(plate)
    reads = legible is not None and legible >= ADVISED and not has_errors(plate.findings)
    return _Trial(reads, min(hard, default=legible or 0.0))


def _ways(face: FaceKeys, context: PlateContext, order: Order) -> Iterator[Remedy]:
    """Yield what could make the name of an order read; nothing is cut of it."""
    bare = replace(context.face, ring=None)  # letters are judged without the rings that they hang by
    trial = replace(context, cuts=False, jig=replace(context.jig, style="none"), face=bare)
    keys = trial.lettering

    def changed(key: str, value: float | str) -> Remedy:
        own: dict[str, Any] = {key: value}
        said = f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value:g}"
        return Remedy(key, said, replace(trial, lettering=replace(keys, **own)))

    text = " ".join(order.texts)
    fonts = fonts_of(keys, context.folder, order)[0]
    for info in bundled_fonts():
        other = load_font(info.name)
        if info.name not in order.fonts and not other.missing(text) and other.is_sturdier(fonts[0]):
            yield Remedy("font", "", trial, font=info.name)
    weights = axes_of(fonts[0]).get("wght") if not order.styled else None
    if weights and (keys.weight or weights[1]) < weights[2]:
        yield changed("weight", weights[2])
    if len(order.name.split()) > 1 and not (order.styled or order.lines) and keys.words != "stack":
        yield changed("words", "stack")
    if order.mount == "backed":
        yield changed("backing", NARROWER * keys.backing)
    yield changed("min_web", round(THINNER * keys.min_web, 2))
    if keys.max_height is not None:
        for times in LARGER:
            yield changed("max_height", times * keys.max_height)
    for times in LARGER:
        width, height = (size and times * size for size in (face.width, face.height))
        larger = replace(face, width=width, height=height, ring=None, ring_at="balance")
        try:
            made = make_face(larger)[0] if larger.width or larger.height else None
        except NameplateError:
            continue  # larger than a face can be
        if made is not None:
            yield Remedy("face", _size_of(larger), replace(trial, face=made))


def _size_of(face: FaceKeys) -> str:
    """Say how large a face is, or the lettering where there is none.

    >>> _size_of(FaceKeys(shape="ellipse", width=110, height=80)), _size_of(FaceKeys(shape="none", height=75))
    ('a face of 110 x 80 mm', 'height = 75')
    """
    sizes = {key: value for key, value in (("width", face.width), ("height", face.height)) if value}
    if face.stands_free:
        return " with ".join(f"{key} = {value:g}" for key, value in sizes.items())
    return f"a face of {' x '.join(f'{value:g}' for value in sizes.values())} mm"


def _said(hard: Sequence[str], tried: int, ways: Sequence[Remedy]) -> str:
    """Say which names are hard to read, given the worst first, and what would do for the ones that were tried.

    >>> print(_said(["Wren", "Una"], 2, []), _said(["Wren", "Una", "Ida"], 2, []), sep="\\n")  # doctest: +ELLIPSIS
    2 names are hard to read (“Wren”, “Una”); tried on each of them, this would do: ...
    3 names are hard to read (the worst: “Wren”, “Una”); tried on the 2 worst of them, this would do: ...
    """
    worst = ", ".join(f"“{name}”" for name in hard[:tried])
    all_tried = tried == len(hard)
    names = f"{worst} is hard to read" if len(hard) == 1 else f"{len(hard)} names are hard to read"
    names += "" if len(hard) == 1 else f" ({'' if all_tried else 'the worst: '}{worst})"
    those = "on it" if len(hard) == 1 else "on each of them" if all_tried else f"on the {tried} worst of them"
    fonts = [way.font for way in ways if way.font]
    said = [f"{enumerated([f'the font {fonts[0]}', *fonts[1:]], 'or')}{ways[0].said}"] if fonts else []
    said += [way.said for way in ways if not way.font]
    return f"{names}; tried {those}, this would do: {'; '.join(said)}"
