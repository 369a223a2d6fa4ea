"""Turns templates beside this module into HTML pages that stand alone: no other file, no address."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, TypeVar

from nameplate.model import Plate

if TYPE_CHECKING:
    from jinja2 import Environment

T = TypeVar("T")


@lru_cache(maxsize=3)
def _environment(room: str) -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    def source(name: str) -> str:
        own, base = (resources.files(f"nameplate.{folder}").joinpath(name) for folder in (room, "paperwork"))
        return (own if own.is_file() else base).read_text(encoding="utf-8")

    return Environment(
        loader=FunctionLoader(source),
        autoescape=True,  # names come from anywhere
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def render(template: str, values: Mapping[str, object], *, room: str = "paperwork") -> Iterator[str]:
    """Give the page of a template piece by piece, every value escaped unless it was made safe on purpose.

    The template lies in the folder of its ``room``; what it extends may lie here.

    Values that are iterators are used up while the page is made, so that a page never is in memory as a whole.
    """
    return _environment(room).get_template(template).generate(values)


def by_design(plates: Iterable[Plate], known: Iterable[str]) -> list[tuple[str, list[Plate]]]:
    """Sort plates by their designs, the ``known`` ones first: each with the words that head it, none where all plates
    are without a design.

    >>> by_design([], ["gold"])
    []
    """
    groups: dict[str, list[Plate]] = {name: [] for name in known}
    for plate in plates:
        groups.setdefault(plate.order.design, []).append(plate)
    found = [(name, own) for name, own in groups.items() if own]
    if [name for name, _ in found] in ([], [""]):
        return found
    return [(f"design {name}" if name else "without a design", own) for name, own in found]


def in_groups(items: Sequence[T], size: int) -> tuple[tuple[T, ...], ...]:
    """Cut a sequence into groups of at most ``size``.

    >>> in_groups("abcde", 2)
    (('a', 'b'), ('c', 'd'), ('e',))
    >>> in_groups([], 2)
    ()
    """
    return tuple(tuple(items[i : i + size]) for i in range(0, len(items), size))
