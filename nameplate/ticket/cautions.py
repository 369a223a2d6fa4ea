"""What to be careful of: materials that must never be cut, and the cautions that paperwork carries.

A material is judged by the words of its name in the ticket. Source of the list, and of the reason for PVC and vinyl:
University of Wisconsin-Madison, Environment, Health & Safety, laser cutter safety (ehs.wisc.edu). The other reasons are
common practice.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass

from nameplate.findings import Finding
from nameplate.ticket.schema import Ticket

SOURCE = "ehs.wisc.edu"


@dataclass(frozen=True, slots=True)
class Danger:
    """A family of materials that must not be cut: the words that give it away, and why."""

    what: str
    reason: str
    words: frozenset[str]
    #: beginnings and ends of words that give it away
    starts: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()


DANGERS: tuple[Danger, ...] = (
    Danger(
        "PVC or vinyl",
        "it gives off hydrogen chloride, which harms lungs and machine",
        frozenset({"pvc", "upvc", "pvcu", "cpvc", "pvcp", "pvdc", "пвх"}),
        ("vinyl", "vinil", "polyvinyl", "polivinil", "винил", "поливинил"),
        ("vinyl",),
    ),
    Danger(
        "a material with chlorine",
        "it gives off chlorine compounds, which harm lungs and machine",
        frozenset({"neoprene", "neopren"}),
        ("chlor", "polychlor", "policlor", "clorur", "clorad"),
    ),
    Danger(
        "polycarbonate",
        "it chars, catches fire and gives off harmful smoke",
        frozenset({"pc", "пк"}),
        ("polycarb", "policarb", "поликарб"),
    ),
    Danger(
        "ABS",
        "it melts, catches fire and gives off hydrogen cyanide",
        frozenset({"abs", "абс"}),
        ("acrylonitril", "acrilonitril"),
    ),
    Danger("an unknown plastic", "it may hold chlorine", frozenset()),
)

#: Words of wood whose grain is seen.
_WOOD_WORDS = """
alder apfel apple ash basswood beech birch birke birkensperrholz cedar cherry contrachapado contreplaque fir holz larch
legno lime linden madera maple oak pear pine ply plywood poplar sperrholz spruce veneer walnut wood
"""
_WOODS = frozenset(_WOOD_WORDS.split())

#: Words of materials that are commonly cut with a CO2 laser (common practice): these, and others.
_FAMILIAR_WORDS = """
acrilico acryl acrylic acrylique bamboo board bois card cardboard carton chipboard cork cotton felt fiberboard
fibreboard graupappe grayboard greyboard hardboard hdf karton kraft leather limewood linen matboard mdf paper pappe
pasteboard pmma pressboard presspan wool
"""
_FAMILIAR = _WOODS | frozenset(_FAMILIAR_WORDS.split())

#: Words of what has a face of veneer, whatever is below it.
_VENEERED = frozenset({"veneer", "veneered", "furnier", "furniert"})

#: Words of what has no grain, though wood may be named beside them.
_WITHOUT_GRAIN_WORDS = """
acryl acrylic acrylique cardboard chipboard fiber fiberboard fibre fibreboard hardboard hdf karton leather look mdf
paper pmma
"""
_WITHOUT_GRAIN = frozenset(_WITHOUT_GRAIN_WORDS.split())

#: Words that take a forbidden word back: "PVC-free", "no vinyl".
_FREE = frozenset({"free", "frei"})
_NOT = frozenset({"no", "non", "not", "without", "sans", "ohne", "sin"})

#: Words between a negation and what it negates.
_FILLERS = frozenset({"of", "any"})

_IMITATION = frozenset({"faux", "artificial", "imitation", "fake", "vegan", "synthetic", "leatherette", "kunstleder"})
_UNKNOWN = frozenset({"unknown", "mystery", "unidentified", "unmarked", "unlabelled", "unlabeled"})
_PLASTIC = frozenset({"plastic", "plastics", "plastik", "polymer", "polymers", "sheet", "material"})


#: Letters that stand each alone, like those of "P.V.C." and "p v c".
_SPELT_OUT = re.compile(r"(?<![^\W\d_])[^\W\d_](?:[\s.\-_/·]+[^\W\d_](?![^\W\d_]))+")


def _words(name: str) -> list[str]:
    """Split a name into words of letters and numbers; spelled-out letters ("P.V.C.", "p v c") become one word."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    plain = "".join(c for c in plain if not unicodedata.combining(c) and unicodedata.category(c) != "Cf")
    plain = re.sub(r"\b(poly|poli)[\s-]+(?=[^\W\d_]{4})", r"\1", plain)
    plain = _SPELT_OUT.sub(lambda letters: " " + re.sub(r"[\W_]", "", letters[0]) + " ", plain)
    return re.findall(r"[^\W\d_]+|\d+(?:[.,]\d+)?", plain)


def _is_denied(words: list[str], at: int) -> bool:
    """Tell whether the word at a place is taken back by its neighbours, like "PVC-free" or "no PVC"."""
    if at + 1 < len(words) and words[at + 1] in _FREE:
        return True
    before = at - 1
    while before >= 0 and words[before] in _FILLERS:
        before -= 1
    return before >= 0 and (words[before] in _NOT or (words[before] in _FREE and before < at - 1))


def danger_of(name: str) -> Danger | None:
    """Return what makes a material forbidden, going by its name, or None.

    >>> danger_of("faux leather (P.V.C.)").what
    'PVC or vinyl'
    >>> danger_of("PC sheet, 3 mm").what
    'polycarbonate'
    >>> danger_of("birch ply, absolutely flat, PVC-free, 10 pc"), danger_of("")
    (None, None)
    """
    words = _words(name)
    for danger in DANGERS:
        for at, word in enumerate(words):
            found = word in danger.words or word.startswith(danger.starts) or word.endswith(danger.ends)
            pieces = word == "pc" and at > 0 and words[at - 1][0].isdigit()  # "10 pc" counts pieces
            if found and not pieces and not _is_denied(words, at):
                return danger
    if _UNKNOWN & set(words) and _PLASTIC & set(words) - {"sheet", "material"}:
        return DANGERS[-1]
    return None


def why_never_cut(name: str) -> str | None:
    """Return why a material of this name is refused, or None where it is not known to be forbidden.

    >>> why_never_cut("clear vinyl")
    'PVC or vinyl must never be laser cut (ehs.wisc.edu): it gives off hydrogen chloride, which harms lungs and machine'
    >>> why_never_cut("cast acrylic") is None
    True
    """
    danger = danger_of(name)
    return f"{danger.what} must never be laser cut ({SOURCE}): {danger.reason}" if danger else None


def is_familiar(name: str) -> bool:
    """Tell whether a name speaks of a material that is commonly laser cut.

    >>> is_familiar("birch ply"), is_familiar("PETG"), is_familiar("")
    (True, False, False)
    """
    words = set(_words(name))
    return bool(words & _FAMILIAR) and not words & _IMITATION


def has_wood_grain(name: str) -> bool:
    """Tell whether a name speaks of wood whose grain is seen: solid, plywood or veneer, not boards of fibres or chips.

    >>> [has_wood_grain(name) for name in ("Birch plywood", "oak veneer on MDF", "Sperrholz", "pear", "")]
    [True, True, True, True, False]
    >>> [has_wood_grain(name) for name in ("MDF", "wood fibre board", "oak-look acrylic", "grey board", "applewood")]
    [False, False, False, False, True]
    """
    words = set(_words(name))
    if words & _VENEERED:
        return True
    return not words & _WITHOUT_GRAIN and any(word in _WOODS or word.endswith(("wood", "holz")) for word in words)


def material_findings(ticket: Ticket, cut: Collection[str] | None = None) -> tuple[Finding, ...]:
    """Return what to know about a ticket's materials: forbidden, unknown, odd figures, and what was assumed.

    Where the keys of those that are `cut` are told, the others may be unknown: nothing but a proof shows them.
    """
    found: list[Finding] = []
    for key, material in ticket.material.items():
        reason = why_never_cut(material.name)
        where = f'[material.{key}] name = "{material.name}"'
        if reason:
            found.append(Finding("forbidden-material", "error", f"{where}: {reason}"))
        elif (cut is None or key in cut) and not is_familiar(material.name):
            found.append(Finding("unknown-material", "warning", f"{where}: {_UNKNOWN_ADVICE}"))
        low, high = _KERF_USUAL
        for kerf in material.kerf.widths:
            if not low <= kerf <= high:
                usual = f"a CO2 laser's is usually between {low:g} and {high:g} mm: measure yours"
                text, nearest = f"[material.{key}] kerf = {kerf:g} mm; {usual}", high if kerf > high else low
                found.append(Finding("odd-kerf", "warning", text, measured=kerf, allowed=nearest))
    found += [Finding("assumed", "note", text) for text in ticket.assumptions]
    return tuple(found)


#: Kerfs of CO2 lasers outside this range are likely a slip (mm, common practice).
_KERF_USUAL = (0.05, 0.5)

_UNKNOWN_ADVICE = (
    "not a material this program knows; cut it only when its data sheet says that it holds no chlorine and may be "
    f"laser cut, and never cut an unknown plastic ({SOURCE})"
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to be careful of, for the paperwork: a heading, what to do, and where it comes from."""

    topic: str
    text: str
    source: str


#: In the order in which they matter.
CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "First of all",
        "Local codes, the makers' instructions and licensed trades come before anything on this sheet.",
        "common practice",
    ),
    Caution("Laser", "Never leave a running laser alone.", SOURCE),
    Caution("Fire", "Keep an extinguisher within reach of the laser.", "common practice"),
    Caution("Fumes", "Exhaust outdoors whenever the laser runs.", SOURCE),
    Caution(
        "Materials",
        "Never cut PVC or vinyl (hydrogen chloride), polycarbonate, ABS, or a plastic that you cannot name.",
        SOURCE,
    ),
    Caution(
        "Glue",
        "Cyanoacrylate bonds skin in seconds, and on cotton it heats until it burns: no cotton gloves, swabs or rags. "
        "Ventilate.",
        "Journal of Burn Care & Research 2020, iraa174",
    ),
    Caution(
        "Drilling",
        "Look for pipes, cables and rebar first. Concrete dust holds silica: use a shroud with dust collection.",
        "29 CFR 1926.1153, table 1",
    ),
    Caution(
        "Signs by law",
        "Script letters are not for tactile or accessible signs; these plates do not replace such signs.",
        "ADA Standards 2010, section 703.2",
    ),
)

#: Cautions of what not every job has: something that is glued, and a wall.
_GLUED, _ON_A_WALL = frozenset({"Glue"}), frozenset({"Drilling", "Signs by law"})


def cautions_for(*, glued: bool, wall: bool) -> tuple[Caution, ...]:
    """Give the cautions of a job in which something is `glued`, and of one that has a `wall`.

    >>> [caution.topic for caution in cautions_for(glued=False, wall=False)]
    ['First of all', 'Laser', 'Fire', 'Fumes', 'Materials']
    >>> cautions_for(glued=True, wall=True) == CAUTIONS
    True
    """
    idle = (frozenset() if glued else _GLUED) | (frozenset() if wall else _ON_A_WALL)
    return tuple(caution for caution in CAUTIONS if caution.topic not in idle)


#: What is said on the hanging plan, whoever drills.
WALL_CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "First of all",
        "Local codes, the wall's owner, the makers' instructions and licensed trades come before anything on this "
        "sheet. What holds a plate in this wall, its installer decides.",
        "common practice",
    ),
    Caution(
        "Services",
        "Look for wires, water and gas pipes and rebar with a detector before every hole; above, below and beside "
        "switches, sockets and taps expect some. When in doubt do not drill.",
        "common practice",
    ),
    Caution(
        "Dust",
        "Concrete, brick, stone and mortar hold silica: use a shroud with dust collection; do not sweep dry.",
        "29 CFR 1926.1153, table 1",
    ),
    Caution("Eyes and ears", "Wear goggles and hearing protection; nothing loose near the drill.", "common practice"),
    Caution(
        "Ladder",
        "Stand it on firm ground, have somebody hold it, do not reach out past its rails; for more than a few holes "
        "take a platform.",
        "common practice",
    ),
)
