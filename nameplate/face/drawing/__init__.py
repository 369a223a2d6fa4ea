"""Faces drawn in a vector program: SVG read as contours."""
