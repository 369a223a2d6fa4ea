"""Which geometry engine does the sums."""

from __future__ import annotations


def geos_version() -> str:
    """Give the version of the engine below shapely, which two builds of one shapely may differ in."""
    import shapely

    return str(shapely.geos_version_string)
