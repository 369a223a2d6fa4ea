"""Font files that come with the program: where they lie, whether it is installed or run from its sources."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

from nameplate.errors import FontError


@cache
def bundled_font_files() -> tuple[Path, ...]:
    """List the font files that come with the program.

    Raises FontError when there are none, which means that the program is not properly installed.
    """
    try:
        folder = Path(str(resources.files("nameplate.bundled_fonts")))  # inside the installed package
    except ModuleNotFoundError:
        folder = Path(__file__).resolve().parents[2] / "fonts"  # in a copy of the sources
    files = tuple(sorted((*folder.glob("*/*.ttf"), *folder.glob("*/*.otf"))))
    if not files:
        raise FontError(f"no fonts in {folder}: install the program again")
    return files
