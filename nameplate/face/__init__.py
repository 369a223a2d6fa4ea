"""Faces: shapes, imported drawings, the zone for lettering and the largest fit in it."""
