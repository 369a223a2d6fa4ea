"""A list of names becomes laser-cut script lettering, locating jigs and nested, cut-ready sheets."""

__version__ = "1.0.0"
