"""Font files that come with the program: where they lie, whether it is installed or run from its sources."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

from nameplate.errors import FontError


def fonts_folder() -> Path:
    """Give the folder of bundled fonts: inside the installed package, or beside it in a copy of the sources."""
    try:
        return Path(str(resources.files("nameplate.bundled_fonts")))
    except ModuleNotFoundError:
        return Path(__file__).resolve().parents[2] / "fonts"


@cache
def bundled_font_files() -> tuple[Path, ...]:
    """List the font files that come with the program.

    Raises FontError when there are none, which means that the program is not properly installed.
    """
    folder = fonts_folder()
    files = tuple(sorted((*folder.glob("*/*.ttf"), *folder.glob("*/*.otf"))))
    if not files:
        raise FontError(f"no fonts in {folder}: install the program again")
    return files
