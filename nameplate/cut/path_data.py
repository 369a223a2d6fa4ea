"""Reads the path data of a cut file, strictly, and flattens it: absolute M L C Z with plain numbers, nothing else."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from nameplate.geometry.counting import members
from nameplate.geometry.region import Array, Flags

#: Chord error (mm) when a written cubic is flattened for burning; a tenth of what the inspection allows.
FLAT = 0.003

#: Most points that one path may flatten to: bounds memory when a curve is written with control points far away.
MOST_POINTS = 5_000_000

# numbers of at most a million: no sheet is larger, and coordinates stay exact
NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,5}+)(?:\.[0-9]{1,4}+)?+")
_COMMAND = re.compile(r"([A-Za-z])([^A-Za-z]*+)")
_ARGUMENTS = {"M": 2, "L": 2, "C": 6, "Z": 0}

# path data strict enough that its numbers can be taken in one go; matching is linear: no repeat gives back what it
# took, and each turn of the outer one begins with a letter that nothing within it takes
_GAP = r"(?:\s++(?:,\s*+)?+|,\s*+)"
_PAIR = f"{NUMBER.pattern}{_GAP}{NUMBER.pattern}"
_PLAIN = re.compile(rf"M\s*+{_PAIR}\s*+(?:(?:L\s*+{_PAIR}|C\s*+{_PAIR}{_GAP}{_PAIR}{_GAP}{_PAIR})\s*+)++Z?")
_TO_SPACES = str.maketrans(dict.fromkeys("MLCZ,", " "))


def outline(data: str) -> tuple[Array, bool, int]:
    """Turn path data into flattened points (y as written), whether it closes, and its number of segments.

    Raises ValueError for anything but one outline of absolute M L C Z with plain numbers.
    """
    data = data.strip()
    if not _PLAIN.fullmatch(data):
        raise ValueError(_what_is_wrong(data))
    points = np.array(data.translate(_TO_SPACES).split(), dtype=float).reshape(-1, 2)
    if "C" not in data:
        return _closed(points, data), data.endswith("Z"), len(points) - 1
    letters = [c for c in data if c in "MLC"]
    return _closed(drawn(letters, points), data), data.endswith("Z"), len(letters) - 1


def _closed(points: Array, data: str) -> Array:
    """Repeat the first point at the end where the path data closes; raises ValueError where nothing is enclosed."""
    if not data.endswith("Z"):
        return points
    if not np.array_equal(points[0], points[-1]):
        points = np.vstack([points, points[:1]])
    if len(points) < 4:
        raise ValueError("a closed outline needs three different points")
    return points


def _what_is_wrong(data: str) -> str:
    found = _COMMAND.findall(data)
    if not found or "".join(a + b for a, b in found) != data:
        return f"path data {data[:20]!r} does not begin with a command"
    for letter, text in found:
        words = text.replace(",", " ").split()
        bad = next((w for w in words if not NUMBER.fullmatch(w)), None)
        if letter not in _ARGUMENTS:
            return f"path command {letter!r} is not one of M L C Z"
        if bad is not None:
            return f"{bad[:40]!r} is not a plain number below 1000000 of at most four decimals"
        if len(words) != _ARGUMENTS[letter]:
            return f"command {letter} takes {_ARGUMENTS[letter]} numbers, not {len(words)}"
    letters = "".join(letter for letter, _ in found)
    return f"path data must be one M, then L and C, then Z at most; found {letters[:12]!r}"


def drawn(letters: Sequence[str], places: Array) -> Array:
    """Flatten a line of M, then L and C, whose places (n, 2) follow each other."""
    last = np.cumsum([_ARGUMENTS[letter] // 2 for letter in letters]) - 1
    ends = places[last]
    control = np.stack([ends[:-1], ends[:-1], ends[1:], ends[1:]], axis=1)
    cubic = np.array([letter == "C" for letter in letters[1:]])
    control[cubic, 1], control[cubic, 2] = places[last[1:][cubic] - 2], places[last[1:][cubic] - 1]
    return np.vstack([ends[:1], flattened(control, cubic)])


def flattened(control: Array, cubic: Flags) -> Array:
    """Give the points of a chain of segments (k, 4, 2), without its start, at a chord error of FLAT.

    A cubic's chord over a parameter step h is off by at most h^2 max|B''| / 8, and |B''| <= 6 max second difference.
    Raises ValueError when it would take more than MOST_POINTS points.
    """
    second = np.abs(control[:, :2] - 2 * control[:, 1:3] + control[:, 2:])
    n = np.ceil(np.sqrt(0.75 / FLAT * np.hypot(second[..., 0], second[..., 1]).max(axis=1))).astype(np.intp)
    n = np.where(cubic, np.maximum(n, 1), 1)
    if n.sum() > MOST_POINTS:
        raise ValueError(f"it takes more than {MOST_POINTS} points to draw within {FLAT} mm")
    which, nth = members(n)
    t = (nth + 1)[:, None] / n[which, None]
    a, b, d, e = (control[which, k] for k in range(4))
    ab, bd, de = a + (b - a) * t, b + (d - b) * t, d + (e - d) * t
    abd, bde = ab + (bd - ab) * t, bd + (de - bd) * t
    points: Array = abd + (bde - abd) * t
    points[np.cumsum(n) - 1] = control[:, 3]
    return points
