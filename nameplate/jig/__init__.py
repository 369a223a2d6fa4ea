"""Jigs: what puts a name on its face in the right place."""
