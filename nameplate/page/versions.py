"""What stands for bytes and values where pages are compared: the first digits of their digests."""

from __future__ import annotations

import io
import pickle

from nameplate.system.digests import digest

#: Digits of a version that travels with a page: two states are alike by chance once in 2^64.
DIGITS = 16


def version_of(data: bytes) -> str:
    """Give the version of a file by its bytes: a page that was drawn of other bytes is stale."""
    return digest(data)[:DIGITS]


def version_of_values(*values: object) -> str:
    """Give the version of frozen values; equal ones have the same in whatever order their parts were made.

    >>> ada, bo = ("Ada", 1.5), ("".join("Ada"), 1.5)
    >>> version_of_values(ada, ada) == version_of_values(ada, bo), version_of_values(ada) == version_of_values("Ada")
    (True, False)
    """
    packed = io.BytesIO()
    pickler = pickle.Pickler(packed, protocol=5)
    pickler.fast = True  # every value in full: which of them are one object is no part of what they are
    pickler.dump(values)
    return version_of(packed.getvalue())
