"""The digest of a file's bytes, by which a later run or inspection knows whether the file is as it was written."""

from __future__ import annotations

import hashlib
from pathlib import Path

#: What a digest looks like, for messages and checks: SHA-256 (FIPS 180-4), in lower-case hexadecimal.
LENGTH = 64


def digest(data: bytes) -> str:
    """Give the digest of a file's bytes: SHA-256, 64 lower-case hexadecimal digits.

    >>> digest(b"abc")  # the worked example of FIPS 180-4
    'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'
    """
    return hashlib.sha256(data).hexdigest()


def digest_of_file(path: Path) -> str:
    """Give the digest of a file, read bit by bit, so that a large one takes no memory; raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
