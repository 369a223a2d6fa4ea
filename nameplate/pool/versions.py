"""What the bytes of a file depend on besides the job: this program, its libraries and the kind of machine.

Two machines that work on one job must agree on all of it. A library of another version may shape a letter, unite two
outlines or round a sum otherwise; the files would still be right, but not the same bytes as everywhere else, and parts
of one job could differ from each other.

Known limit: machines of one kind whose processors or C libraries differ in age may still round a sine otherwise, in
the sixteenth digit; files have four.
"""

from __future__ import annotations

import platform
from collections.abc import Mapping
from functools import cache
from hashlib import blake2b
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import nameplate
from nameplate.system.bundled import bundled_font_files

#: Libraries that have a say in what is written, by the names of their packages.
LIBRARIES = ("distributed", "ezdxf", "fonttools", "numpy", "rectpack", "scipy", "shapely", "skia-pathops", "uharfbuzz")


@cache
def versions() -> dict[str, str]:
    """Give what this process works with: name -> version.

    >>> sorted(versions())[:3]
    ['GEOS', 'Python', 'distributed']
    """
    from nameplate.geometry.region import geos_version

    return {
        "nameplate": f"{nameplate.__version__} ({_digest()})",
        "Python": platform.python_version(),
        "the machine": f"{platform.system()} on {platform.machine()}",
        "GEOS": geos_version(),
        **{library: _version(library) for library in LIBRARIES},
    }


def differences(here: Mapping[str, str], there: Mapping[str, str]) -> tuple[str, ...]:
    """Say what `there` has otherwise than `here`, each in a few words.

    >>> differences({"numpy": "2.0"}, {"numpy": "2.1"}), differences({}, {})
    (('numpy is 2.1 there and 2.0 here',), ())
    """
    names = dict.fromkeys([*here, *there])
    none = "unknown"
    return tuple(
        f"{name} is {there.get(name, none)} there and {here.get(name, none)} here"
        for name in names
        if here.get(name, none) != there.get(name, none)
    )


def _version(library: str) -> str:
    try:
        return version(library)
    except PackageNotFoundError:
        return "not installed"


def _digest() -> str:
    """Give a digest of the program's own files, in which two copies of one version differ when one was changed."""
    root = Path(nameplate.__file__).parent
    total = blake2b(digest_size=4)
    for path in (*sorted(root.rglob("*.py")), *bundled_font_files()):
        total.update(path.name.encode("utf-8") + path.read_bytes())
    return total.hexdigest()
