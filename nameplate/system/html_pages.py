"""Turns templates of a room into HTML pages that stand alone: no other file, no address. The only door to Jinja2."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from nameplate.findings import counted

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup


@lru_cache(maxsize=3)
def _environment(room: str) -> Environment:
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    def source(name: str) -> str:
        own, base = (resources.files(f"nameplate.{folder}").joinpath(name) for folder in (room, "system"))
        return (own if own.is_file() else base).read_text(encoding="utf-8")

    environment = Environment(
        loader=FunctionLoader(source),
        autoescape=True,  # names come from anywhere
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.globals["counted"] = counted
    return environment


def safe(markup: str) -> Markup:
    """Give what was written here as HTML or SVG, so that it stands in a page as it is."""
    from markupsafe import Markup

    return Markup(markup)


def render(template: str, values: Mapping[str, object], *, room: str) -> Iterator[str]:
    """Give the page of a template piece by piece, every value escaped unless it was made safe on purpose.

    The template lies in the folder of its ``room``; what it extends may lie beside this module.

    Values that are iterators are used up while the page is made, so that a page never is in memory as a whole.
    """
    return _environment(room).get_template(template).generate(values)
