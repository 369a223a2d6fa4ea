"""By what a plate is made, as a flat table of keys: kept with what was cut, and compared with what the ticket says now.

The text is `text`, the line breaks of a row `lines`; keys of the ticket go by their names, such as `lettering.min_web`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import lru_cache
from typing import Any

from nameplate.cut.packing import pack, pack_region
from nameplate.geometry.beam import Kerf
from nameplate.model import Face, Order, Part
from nameplate.plates.make import PlateContext
from nameplate.system.digests import digest
from nameplate.system.writing import Json
from nameplate.ticket.materials import GLUED, JIG_MATERIALS, MOUNT_MATERIALS
from nameplate.typesetting.fonts import full_name

#: Keys of [lettering] that are told by the order: the row may have its own.
_OF_ORDER = ("font", "mount")

#: Keys of a material that change what is cut from it.
_OF_MATERIAL = ("name", "thickness", "kerf", "face_down")


def look_of(order: Order, context: PlateContext) -> Json:
    """Give all that decides how a plate looks, and fits what it belongs to, before it is made."""
    roles = MOUNT_MATERIALS.get(order.mount, ())
    if order.mount in GLUED:
        roles = (*roles, *JIG_MATERIALS.get(context.jig.style, ()), *(("blank",) if context.face.cut else ()))
    lettering = {f"lettering.{k}": v for k, v in asdict(context.lettering).items() if k not in _OF_ORDER}
    own = {
        "text": list(order.texts),
        "lines": list(order.lines),
        "font": list(order.fonts),
        "size": order.size,
        "dx": order.dx,
        "dy": order.dy,
        "mount": order.mount,
        "design": order.design,
        "styles": [{k: v for k, v in asdict(line).items() if k not in ("text", "column")} for line in order.styled],
        "face": _digest_of(context.face),
        "files.face_down": context.face_down,
        **lettering,
        **_jig(context),
        **{f"material.{r}.{key}": _flat(getattr(context.material(r), key)) for r in roles for key in _OF_MATERIAL},
    }
    return _plain(own)


def look_of_shared(parts: Sequence[Part], context: PlateContext) -> Json:
    """Give all that decides what a design's shared parts look like."""
    shapes = [(p.kind, p.layer, pack_region(p.region), pack(p.marks)) for p in parts]
    return _plain({"shared": True, "outlines": digest(json.dumps(shapes).encode()), **_jig(context)})


def _flat(value: str | float | Kerf | None) -> str | float | None:
    """Give what a material says as one value: of a kerf its number, or what differs in words."""
    if not isinstance(value, Kerf):
        return value
    return value.told() if isinstance(value.plain, dict) else value.plain


def _jig(context: PlateContext) -> Json:
    return {f"jig.{key}": value for key, value in asdict(context.jig).items()}


@lru_cache(maxsize=8)
def _digest_of(face: Face) -> str:
    shapes = [face.outline, face.zone, face.keep_outs, face.artwork]
    return digest(json.dumps([pack_region(shape) for shape in shapes]).encode())


def _plain(look: Mapping[str, Any]) -> Json:
    """Give a look as it comes back from JSON."""
    plain: Json = json.loads(json.dumps(look, ensure_ascii=False, default=str))
    return plain


def differing(then: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[str, ...]:
    """Name the keys in which two looks differ, in the order of the newer one.

    A key that only one of them has was unknown to the version of the program that wrote the other: it tells nothing.

    >>> differing({"text": ["Ada"], "size": None}, {"text": ["Ida"], "size": None, "later": 1})
    ('text',)
    >>> differing({"font": ["Playpen Sans"]}, {"font": ["Playpen Sans ExtraBold"]})
    ()
    """
    return tuple(
        key
        for key, value in now.items()
        if key in then and _fonts_in_full(key, then[key]) != _fonts_in_full(key, value)
    )


def _fonts_in_full(key: str, value: object) -> object:
    """Give a value of a look for comparison: fonts by their full names, however they are written.

    >>> _fonts_in_full("font", ["playpen sans"]), _fonts_in_full("styles", [{"fonts": ["Pacifico"], "scale": 0.5}])
    (['Playpen Sans ExtraBold'], [{'fonts': ['Pacifico'], 'scale': 0.5}])
    """
    if key == "font" and isinstance(value, list):
        return [full_name(str(font)) for font in value]
    if key == "styles" and isinstance(value, list):
        return [line | {"fonts": _fonts_in_full("font", line.get("fonts"))} for line in value]
    return value
