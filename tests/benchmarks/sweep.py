"""The sweep: very many invented names through lettering, jig, toolpath and burn; who is refused, and why.

    python -m tests.benchmarks.sweep                          10,000 names
    python -m tests.benchmarks.sweep --names 500 --seed 7     others, and fewer

Each name is made in a font, mount, jig and face that the seed draws for it; then every part of it is burned by itself
at several angles. Refusals for reasons that a user can act on (a letter that the font lacks, no room) are told apart
from the program's own. Those are listed with all it takes to repeat them; more than one name in 5,000 is too many, and
the command ends with 1 then.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from nameplate.face.making import make_face
from nameplate.model import Order
from nameplate.plates.make import PlateContext, PlateWork, make_work
from nameplate.plates.mounts import least_web
from nameplate.plates.trial import expected_part, tried
from nameplate.pool.interface import Failure
from nameplate.pool.processes import get_ready, pool_of, run_all
from nameplate.ticket.lettering_schema import LetteringKeys
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS

#: Names of a full sweep.
NAMES = 10_000

#: Refusals that a user can act on: a letter that the font lacks, or less room than the letters or the webs need.
USERS = frozenset(
    {"missing-letter", "letters-too-small", "plate-web-too-thin", "letters-lost", "window-breaks-out", "misread"}
)

#: The most names that may be refused for the program's own reasons: one in so many.
ONE_IN = 5_000

#: Angles (degrees) at which every part is burned besides upright, where its own trial burns it.
TURNS = (90.0, 197.3)

#: Names made between two lines of progress.
BATCH = 100

MOUNTS = ("applied", "applied", "applied", "backed", "pierced", "marked")
JIGS = ("none", "template", "template", "skeleton")
FACES = (("ellipse", 110.0, 80.0), ("rounded", 140.0, 60.0), ("shield", 90.0, 100.0), ("circle", 100.0, 100.0))

_FIRST = (
    *(
        "A",
        "Ada",
        "Ber",
        "Cla",
        "Đor",
        "Eli",
        "É",
        "Fjo",
        "Gwe",
        "Ha",
        "Isa",
        "Jo",
        "Jür",
        "Ka",
        "Łu",
        "Ma",
        "Noë",
        "Ó",
    ),
    *("Pe", "Qui", "Ra", "Søre", "Szi", "Tho", "U", "Vi", "Wre", "Xa", "Yve", "Zo", "Zde", "Ž", "Ægi", "Ñu"),
)
_MIDDLE = ("", "ri", "la", "né", "vin", "gol", "tta", "mü", "sha", "zo", "ny", "jé", "ffi", "çu", "ě", "gy", "åt", "xö")
_LAST = (
    "a",
    "n",
    "lia",
    "rd",
    "s",
    "k",
    "ggio",
    "ez",
    "ý",
    "th",
    "ë",
    "ij",
    "tt",
    "w",
    "ğ",
    "ö",
    "fy",
    "l’Ó",
    "z",
    "rø",
)
_BETWEEN = (" ", " ", " ", " ", " ", " ", "-", " & ", " van ", " O’", " J. ", ", ")


@dataclass(frozen=True, slots=True)
class Case:
    """One name and how it is made."""

    name: str
    font: str
    mount: str
    jig: str
    face: tuple[str, float, float]


@dataclass(frozen=True, slots=True)
class Swept:
    """What became of a case: the codes of why it was refused, none when all is well, and what was said first."""

    codes: tuple[str, ...] = ()
    message: str = ""


def cases(count: int, seed: int) -> list[Case]:
    """Draw `count` cases, no name twice.

    >>> len({case.name for case in cases(300, 1)}), cases(2, 1) == cases(2, 1), cases(0, 1)
    (300, True, [])
    """
    from nameplate.typesetting.fonts import bundled_fonts

    rng, fonts = random.Random(seed), [font.name for font in bundled_fonts()]
    drawn: dict[str, Case] = {}
    while len(drawn) < count:
        name = _name(rng)
        mount = rng.choice(MOUNTS)
        drawn.setdefault(name, Case(name, rng.choice(fonts), mount, rng.choice(JIGS), rng.choice(FACES)))
    return list(drawn.values())


def _name(rng: random.Random) -> str:
    words = [_word(rng) for _ in range(rng.choice((1, 2, 2, 2, 2, 3)))]
    return "".join(f"{rng.choice(_BETWEEN) if k else ''}{word}" for k, word in enumerate(words))


def _word(rng: random.Random) -> str:
    return rng.choice(_FIRST) + rng.choice(_MIDDLE) + rng.choice(_MIDDLE) + rng.choice(_LAST)


def sweep_one(turns: Sequence[float], case: Case) -> Swept:
    """Make one case and burn each of its parts at each of these angles (runs in a worker process)."""
    from nameplate.typesetting.fonts import load_font

    missing = load_font(case.font).missing(case.name)
    if missing:
        return Swept(("missing-letter",), "".join(missing))
    context = _context(case.font, case.mount, case.jig, case.face)
    work = make_work(context, Order("1", 2, case.name, fonts=(case.font,), mount=case.mount))
    found = [(f.code, f.message) for f in work.plate.findings if f.severity == "error"]
    found += [(f"{code} when turned", message) for code, message in _turned(context, work, turns)]
    return Swept(tuple(dict.fromkeys(code for code, _ in found)), found[0][1] if found else "")


@lru_cache(maxsize=64)
def _context(font: str, mount: str, jig: str, face: tuple[str, float, float]) -> PlateContext:
    shape, width, height = face
    ticket = Ticket(
        face=FaceKeys(shape=shape, width=width, height=height),
        lettering=LetteringKeys(font=(font,), mount=mount, max_height=30.0),
        material=DEFAULT_MATERIALS,
        jig=JigKeys(style=jig),
        folder=Path(),
    )
    return PlateContext.of(ticket, make_face(ticket.face)[0])


def _turned(context: PlateContext, work: PlateWork, turns: Sequence[float]) -> Iterator[tuple[str, str]]:
    """Give the codes and messages of what is wrong with each part of a made plate at any of these angles."""
    plate = work.plate
    for part, path in zip(plate.parts, work.toolpaths, strict=True):
        expected = expected_part(part, plate.lettering, least_web(plate.order.mount, part.kind, context.lettering))
        for turn in turns:
            for fault in tried(path, expected, context.material(part.material).kerf, turn):
                yield fault.code, f"at {turn:g} degrees: {fault.message}"


def swept(drawn: Sequence[Case], workers: int | None) -> Iterator[tuple[Case, Swept]]:
    """Make every case and give what became of it; a crash and a worker that dies or hangs are refusals too."""
    with pool_of(workers, ready=get_ready) as pool:
        for start in range(0, len(drawn), BATCH):
            batch = drawn[start : start + BATCH]
            for case, outcome in zip(batch, run_all(sweep_one, batch, TURNS, workers=pool), strict=True):
                yield case, Swept(("not-made",), outcome.reason) if isinstance(outcome, Failure) else outcome


def is_own(result: Swept) -> bool:
    """Tell whether a case was refused for a reason of the program's own.

    >>> is_own(Swept()), is_own(Swept(("missing-letter",))), is_own(Swept(("shape-off",)))
    (False, False, True)
    """
    return bool(set(result.codes) - USERS)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the sweep, print each refusal of the program's own as it comes, and the rates at the end."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.sweep", description="Make very many invented names."
    )
    parser.add_argument("--names", type=int, default=NAMES, metavar="N", help=f"how many ({NAMES:,} if left out)")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="which names, fonts, mounts, jigs and faces")
    parser.add_argument("--workers", type=int, default=None, help="worker processes (one a core if left out)")
    options = parser.parse_args(arguments)
    start, counts, own, made = time.perf_counter(), Counter[str](), 0, 0
    for number, (case, result) in enumerate(swept(cases(options.names, options.seed), options.workers), 1):
        counts.update(result.codes)
        own += is_own(result)
        made += not result.codes
        if is_own(result):
            print(f"{case}: {', '.join(result.codes)}: {result.message}", flush=True)
        if number % BATCH == 0:
            print(f"{number:,} names, {own} refused for own reasons, {time.perf_counter() - start:.0f} s", flush=True)
    _print_rates(options.names, made, own, counts)
    sys.exit(own * ONE_IN > made + own)


def _print_rates(names: int, made: int, own: int, counts: Counter[str]) -> None:
    print(f"{names:,} names, {made:,} made; refused for the program's own reasons: {own} of {made + own:,}")
    for code, count in counts.most_common():
        print(f"{count:6d}  {count / names:8.3%}  {code}{' (the user can act)' if code in USERS else ''}")


if __name__ == "__main__":
    main()
