"""Points and vectors of the plane as complex numbers: one array instead of two columns, which halves the work."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from nameplate.geometry.region import Array

Complex: TypeAlias = npt.NDArray[np.complex128]


def as_complex(points: Array) -> Complex:
    """Give (..., 2) points as complex numbers.

    >>> as_complex(np.array([(3.0, 4.0)])).tolist()
    [(3+4j)]
    """
    return np.ascontiguousarray(points, dtype=np.float64).view(np.complex128)[..., 0]


def as_points(numbers: Complex) -> Array:
    """Give complex numbers as (..., 2) points.

    >>> as_points(np.array([3 + 4j])).tolist()
    [[3.0, 4.0]]
    """
    return np.ascontiguousarray(numbers)[..., None].view(np.float64)


def dot(a: Complex, b: Complex) -> Array:
    """Give the inner products of vectors."""
    return a.real * b.real + a.imag * b.imag


def turn(a: Complex, b: Complex) -> Array:
    """Give the angles (radians, counter-clockwise positive) from vectors a to vectors b."""
    return np.angle(np.conj(a) * b)


def turns_of(ring: Array) -> Array:
    """Give how far a ring of (n, 2) corners turns at each of them (radians, counter-clockwise positive).

    >>> (turns_of(np.array([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)])) / np.pi).tolist()
    [0.5, 0.5, 0.5, 0.5]
    """
    corners = as_complex(ring)
    ahead = np.roll(corners, -1) - corners
    return turn(np.roll(ahead, 1), ahead)


def unit(v: Complex) -> Complex:
    """Give vectors a length of 1; those of length 0 stay as they are."""
    length = np.abs(v)
    return v / np.where(length > 0, length, 1.0)


def to_chord(points: Complex, a: Complex, b: Complex) -> Array:
    """Give the distance of each point from the piece of line between its a and b.

    >>> to_chord(np.array([1 + 1j, 5 + 0j]), np.array([0j, 0j]), np.array([2 + 0j, 2 + 0j])).tolist()
    [1.0, 3.0]
    """
    d = b - a
    square = dot(d, d)
    share = np.clip(dot(points - a, d) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    return np.abs(points - a - share * d)
