"""Checks of a ticket's keys against each other, and what is filled in where stock was left out."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Iterable, Iterator
from datetime import date

from nameplate.ticket.materials import JIG_MATERIALS, is_plaque_cut, needed_materials, off_the_bed
from nameplate.ticket.schema import FaceKeys, JigKeys, Ticket
from nameplate.ticket.wall_checks import Problem, wall_problems
from nameplate.ticket.words import show
from nameplate.ticket.workshop_schema import DEFAULT_MATERIALS, MaterialKeys, StockKeys

#: Most hatch lines across one name, and most layers of a carrier: beyond them a slip is likelier than a wish.
MOST_HATCH_LINES = 3_000
MOST_LAYERS = 40


def check_ticket(ticket: Ticket, *, tainted: frozenset[str] = frozenset()) -> tuple[Problem, ...]:
    """Return what is wrong between the keys of a ticket.

    ``tainted`` holds the keys that were refused already, so that one slip is not reported twice.
    """
    problems: list[Problem] = []
    if ticket.job.roster is None:
        problems.append((("job.roster",), 'job.roster is missing: name the list of names, like roster = "names.csv"'))
    problems += (problem for one in tickets_of(ticket) for problem in _named(_own_problems(one), one, ticket))
    problems += _idle_jigs(ticket)
    if ticket.files.label == "back" and not ticket.face_down:
        text = (
            'label = "back" would score ids on the show side, since sheets lie face up: write face_down = true beside '
            'it, or label = "waste"'
        )
        problems.append((("files.label",), text))
    problems += (*_sheet_problems(ticket), *wall_problems(ticket.wall, ticket.machine.bed))
    told = {text: (keys, text) for keys, text in problems if not any(_is_tainted(key, tainted) for key in keys)}
    return tuple(told.values())


def tickets_of(ticket: Ticket) -> tuple[Ticket, ...]:
    """Return what rows can be made by: the ticket itself, where that is complete or all there is, and its designs.

    >>> [one.design for one in tickets_of(Ticket())]
    ['']
    """
    designs = tuple(map(ticket.of, ticket.designs))
    return (ticket, *designs) if not designs or is_complete(ticket) else designs


def is_complete(ticket: Ticket) -> bool:
    """Tell whether rows without a design can be made: the ticket itself has a face, and sheets for all parts."""
    return not any((*face_problems(ticket.face), *_need_problems(ticket)))


def _own_problems(ticket: Ticket) -> Iterator[Problem]:
    """Yield what is wrong with a ticket as its rows are made, whatever its designs are."""
    yield from face_problems(ticket.face)
    if ticket.lettering.weight is not None and {"wght", "weight"} & {a.casefold() for a, _ in ticket.lettering.axes}:
        keys = ("lettering.weight", "lettering.axes")
        yield keys, "lettering.weight and lettering.axes both set the weight of the font: leave one out"
    yield from _free_problems(ticket)
    yield from _line_problems(ticket)
    yield from _hatch_problems(ticket)
    yield from _layer_problems(ticket)
    yield from _need_problems(ticket)


def _named(problems: Iterable[Problem], design: Ticket, ticket: Ticket) -> Iterator[Problem]:
    """Name keys as the ticket has them: those in which a design differs, or that nobody wrote, below the design."""
    told = tuple(_own_problems(ticket)) if design.design else ()
    for keys, text in problems:
        own = [key for key in keys if design.design and _is_own(key, design, ticket)]
        for key in own:
            text = re.sub(rf"(?<![.\w]){re.escape(key)}(?!\w)", f"design.{design.design}.{key}", text)
        for table in {key.partition(".")[0] for key in own}:
            text = text.replace(f"[{table}]", f"[design.{design.design}.{table}]")
        if design.design and not own and "stock" not in keys and (keys, text) not in told:
            text = f"with what [design.{design.design}] says: {text}"
        yield (*(f"design.{design.design}.{key}" for key in own), *keys), text


def _is_own(key: str, design: Ticket, ticket: Ticket) -> bool:
    """Tell whether the value of a key (`face.width`) is a design's, or nobody's, and not the ticket's."""
    table, _, name = key.partition(".")
    if table not in ("face", "lettering", "jig"):
        return False
    value, whose = getattr(getattr(design, table), name), getattr(getattr(ticket, table), name)
    return value is None or value != whose


def _is_tainted(key: str, tainted: frozenset[str]) -> bool:
    """Tell whether a key, its whole table, or anything in the table it names was refused."""
    table = key.partition(".")[0].strip("[]")
    if key in tainted or f"[{table}]" in tainted or any(key.startswith(f"{t.strip('[]')}.") for t in tainted):
        return True
    return key == table and any(t.startswith(key) for t in tainted)


def _line_problems(ticket: Ticket) -> Iterator[Problem]:
    """Refuse lines that are scored where there is no plaque to score, or nothing else. Those of names that stand free
    are refused beside what else does not go with these."""
    scored = [number for number, line in enumerate(ticket.line, 1) if line.operation == "score"]
    mount = ticket.lettering.mount
    if not scored or mount == "marked" or ticket.face.stands_free:
        return
    keys = [f"line {number}.operation" for number in scored]
    if len(scored) == len(ticket.line):
        yield (
            (*keys, "lettering.mount"),
            f'every [[line]] has operation = "score", and none is left to be {mount}: write mount = "marked" below '
            "[lettering], or leave operation out of the line that is the name",
        )
    if not is_plaque_cut(ticket, mount):
        lines = " and ".join(f"[[line]] {number}" for number in scored)
        yield (
            (*keys, "face.cut", "lettering.mount"),
            f'{lines}, operation = "score": with mount = {show(mount)} the plaque is not cut here, so nothing can be '
            "scored on it: write cut = true below [face], with a [[stock]] of blank, or leave operation out",
        )


def _hatch_problems(ticket: Ticket) -> Iterator[Problem]:
    """Refuse a hatch of too many lines, where the ticket itself says how high letters can get."""
    lettering, face = ticket.lettering, ticket.face
    known = [length for length in (lettering.max_height, face.height or face.width) if length is not None]
    if not known:
        return
    high = min(known)
    lines = high / lettering.hatch
    scores = lettering.mount == "marked" or any(line.operation == "score" for line in ticket.line)
    if scores and lettering.mark == "hatch" and lines > MOST_HATCH_LINES:
        least = math.ceil(100 * high / MOST_HATCH_LINES) / 100
        yield (
            ("lettering.hatch", "lettering.max_height", "face.height", "face.width"),
            f"lettering.hatch = {lettering.hatch:g}: on letters up to {high:g} mm high that is {lines:.0f} lines, "
            f"more than {MOST_HATCH_LINES}; expected at least {least:g} mm, or a smaller max_height",
        )


def _layer_problems(ticket: Ticket) -> Iterator[Problem]:
    key = ticket.key_of("carrier")
    sheet = ticket.material.get(key)
    jig = ticket.own_jig
    if jig.style == "carrier" and sheet is not None and jig.plaque_height / sheet.thickness > MOST_LAYERS:
        yield (
            ("jig.plaque_height", f"material.{key}.thickness"),
            f"jig.plaque_height = {ticket.jig.plaque_height:g}: layers of {sheet.thickness:g} mm "
            f"(material.{key}.thickness) would be more than {MOST_LAYERS}",
        )


def face_problems(face: FaceKeys) -> Iterator[Problem]:
    """Yield what is wrong between the keys of a face."""
    if face.shape is None and face.file is None:
        yield (
            ("face.shape", "face.file"),
            '[face] needs a shape, like shape = "ellipse" with width and height, or a drawing, like file = "face.svg"',
        )
    if face.shape is not None and face.file is not None:
        yield (
            ("face.shape", "face.file"),
            f"face.shape = {show(face.shape)} and face.file = {show(face.file.name)}: "
            "only one of the two can be the face",
        )
    if face.ring is not None and not face.stands_free:
        yield ("face.ring", "face.shape"), 'face.ring is only for shape = "none", names that stand free; take it out'
    if face.ring_at != "balance" and face.ring is None:
        yield ("face.ring_at", "face.ring"), "face.ring_at says where rings are, and face.ring, their bore, is missing"
    if face.shape == "circle":
        yield from _circle_problems(face)
    elif face.stands_free:
        yield from _no_face_problems(face)
    elif face.shape is not None:
        for key in ("width", "height"):
            if getattr(face, key) is None:
                yield (f"face.{key}", "face.shape"), f"face.{key} is missing: {show(face.shape)} needs it, in mm"
    if face.radius is not None and face.shape != "rounded":
        yield ("face.radius", "face.shape"), 'face.radius is only for shape = "rounded"; take it out'
    if face.roles and face.file is None:
        yield ("face.roles", "face.file"), "face.roles is only for a drawing (face.file); take it out"
    if face.symmetry != "none" and face.file is None:
        yield ("face.symmetry", "face.file"), "face.symmetry is only for a drawing (face.file); take it out"


def _circle_problems(face: FaceKeys) -> Iterator[Problem]:
    if face.width is None and face.height is None:
        yield ("face.width", "face.height"), 'face.width is missing: the shape "circle" needs its diameter, in mm'
    elif None not in (face.width, face.height) and face.width != face.height:
        yield (
            ("face.width", "face.height"),
            f'face.width = {face.width:g} and face.height = {face.height:g}: a circle has one diameter; use "ellipse"',
        )


def _no_face_problems(face: FaceKeys) -> Iterator[Problem]:
    """Yield what is wrong with the keys of names that stand free."""
    if face.width is None and face.height is None:
        text = 'face.height is missing: shape = "none" needs the height or the width of the finished lettering, in mm'
        yield ("face.height", "face.width", "face.shape"), text
    for name, value in (("cut", face.cut), ("inset", face.inset != FaceKeys().inset)):
        if value:
            text = f'face.{name} is for a plaque, and with shape = "none" there is none; take it out'
            yield (f"face.{name}", "face.shape"), text


def _free_problems(ticket: Ticket) -> Iterator[Problem]:
    """Yield what of a ticket does not go with names that stand free."""
    keys, face = ticket.lettering, ticket.face
    if not face.stands_free:
        return
    for name, value, wanted in (("mount", keys.mount != "applied", "applied"), ("words", keys.words == "loose", "tie")):
        if value:
            yield (
                (f"lettering.{name}", "face.shape"),
                f'lettering.{name} = {show(getattr(keys, name))}: with face.shape = "none" a name is one piece that '
                f'stands by itself; write {name} = "{wanted}"',
            )
    high = face.height if face.width is None else None
    if keys.max_height is not None and high is not None and keys.max_height < high:
        yield (
            ("lettering.max_height", "face.height"),
            f"lettering.max_height = {keys.max_height:g} is less than face.height = {high:g}, which the finished "
            "lettering is to have; raise one or lower the other",
        )
    for number, line in enumerate(ticket.line, 1):
        if line.operation == "score":
            text = f'line {number}.operation = "score": with face.shape = "none" there is no plaque to score it on'
            yield (f"line {number}.operation", "face.shape"), text


def _idle_jigs(ticket: Ticket) -> Iterator[Problem]:
    """Yield the jigs that are asked for names that stand free alone."""
    own = [(f"design.{n}.jig", one.jig, one.face) for n, one in ticket.designs.items() if one.jig != ticket.jig]
    if not ticket.designs and ticket.jig != JigKeys():
        own.append(("jig", ticket.jig, ticket.face))
    for key, jig, face in own:
        if face.stands_free and jig.style != "none":
            text = f"{key}.style = {show(jig.style)}: a name of shape none needs no jig; take [{key}] out"
            yield (f"{key}.style", f"[{key}]"), text


def _need_problems(ticket: Ticket) -> Iterator[Problem]:
    """Yield the materials that a ticket needs, and of which there is no sheet."""
    if not ticket.stock:
        yield ("stock", "[[stock]]"), _add_stock("lettering", "no sheet size is given")
        return
    has = {s.material for s in ticket.stock}
    for material in needed_materials(ticket):
        if material not in has and not (material == "template" and ticket.key_of("lettering") in has):
            asked = "face.cut = true: " if material == ticket.key_of("blank") and ticket.face.cut else ""
            yield ("stock", "[[stock]]"), _add_stock(material, f"{asked}no sheet size is given for {material}")


def _sheet_problems(ticket: Ticket) -> Iterator[Problem]:
    margin = ticket.nest.edge_margin
    for number, stock in enumerate(ticket.stock, 1):
        if why := off_the_bed(stock.width, stock.height, ticket.machine.bed):
            keys = (f"stock {number}.width", f"stock {number}.height", "machine.bed")
            yield keys, f"stock {number}, {stock.material}: {why}, and write that size"
        if min(stock.width, stock.height) <= 2 * margin:
            yield (
                (f"stock {number}.width", f"stock {number}.height", "nest.edge_margin"),
                f"stock {number}: a sheet of {stock.width:g} x {stock.height:g} mm leaves nothing inside the edge "
                f"margin of {margin:g} mm (nest.edge_margin)",
            )
    wide = {key: sheet.kerf.widest for key, sheet in ticket.material.items() if ticket.nest.gap < sheet.kerf.widest}
    if wide:
        kerfs = ", ".join(f"{key} ({kerf:g} mm)" for key, kerf in wide.items())
        yield (
            ("nest.gap", *(f"material.{key}.kerf" for key in wide)),
            f"nest.gap = {ticket.nest.gap:g} is less than the kerf of {kerfs}: the beam would "
            "nick the neighbouring part; expected at least the kerf",
        )


def _add_stock(material: str, reason: str) -> str:
    return f'{reason}: add [[stock]] and below it, line by line, material = "{material}", width = 600, height = 300'


def stale_kerfs(ticket: Ticket, today: date) -> str:
    """Say which kerfs that the ticket needs were measured too long ago; empty where none was.

    It depends on the day, so it is for the screen and must not get into files of a run.
    """
    needed = sorted({key for one in tickets_of(ticket) for key in needed_materials(one)} & set(ticket.material))
    ages = {key: (today - measured).days for key in needed if (measured := ticket.material[key].kerf_date)}
    told = [f"{key} {days} days ago" for key, days in ages.items() if days > ticket.material[key].kerf_days]
    return f"kerf measured long ago ({', '.join(told)}): measure it again, nameplate coupon kerf" if told else ""


def unmeasured_kerfs(ticket: Ticket, keys: Iterable[str]) -> str:
    """Say which of some materials have a kerf that a new ticket has, and how to measure it; empty where none has.

    >>> told = unmeasured_kerfs(Ticket(), ["template", "lettering"]).partition(":")[0]
    >>> told.partition(", and ")[0], told.partition("measured ")[2], unmeasured_kerfs(Ticket(), [])
    ('the kerf is one that a new ticket has', '(lettering 0.18 mm, template 0.15 mm)', '')
    """
    materials = {**DEFAULT_MATERIALS, **ticket.material}
    asked, usual = frozenset(keys), [new.kerf for new in (MaterialKeys(), *DEFAULT_MATERIALS.values())]
    own = {key: material for key, material in materials.items() if key in asked}
    told = {key: m.kerf.widest for key, m in own.items() if m.kerf_date is None and m.kerf in usual}
    if not told:
        return ""
    which = ", ".join(f"{key} {width:g} mm" for key, width in told.items())
    return (
        f"the kerf is one that a new ticket has, and nothing says that it was measured ({which}): by as much as that "
        "of your laser differs, all that is cut comes out too small or too large; "
        f"nameplate coupon kerf --material {next(iter(told))} makes a coupon to measure it by"
    )


def complete_stock(ticket: Ticket) -> Ticket:
    """Return the ticket with template stock of the largest lettering sheet's size where it has none and needs some.

    A row may be glued where the ticket's plates are not, so what needs templates is the style of the jig. Only the size
    is taken over: whether a sheet is a remainder, or damaged, or on hand, is true of that sheet alone.

    >>> complete_stock(Ticket()).stock
    ()
    """
    has = {s.material for s in ticket.stock}
    wanting = [one for one in tickets_of(ticket) if one.key_of("template") == "template" and _has_templates(one)]
    sizes = [s for s in ticket.stock if s.material in {one.key_of("lettering") for one in wanting}]
    if "template" in has or not sizes:
        return ticket
    largest = max(sizes, key=lambda s: (not s.offcut, s.width * s.height))
    sheet = StockKeys(material="template", width=largest.width, height=largest.height)
    note = (
        f"no [[stock]] for template is in the ticket: taken as sheets of {sheet.width:g} x {sheet.height:g} mm "
        "without a price, the size of the largest lettering sheet"
    )
    return dataclasses.replace(ticket, stock=(*ticket.stock, sheet), assumptions=(*ticket.assumptions, note))


def _has_templates(ticket: Ticket) -> bool:
    return "template" in JIG_MATERIALS.get(ticket.own_jig.style, ()) or ticket.lettering.register == "template"
