"""The digest of a file's bytes, by which a later run or inspection knows whether the file is as it was written.

The chain: files.json lists the digest of every other file of its run and ends with a seal over its own text. Whoever
changes a file is found by its digest; whoever writes its new digest into the list is found by the seal. A folder in
which somebody did all of it anew is sound in itself: only a seal that was noted down before tells it from the first.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

#: The list of a run's files and their digests, in its folder.
LIST = "files.json"

#: What a digest looks like, for messages and checks: SHA-256 (FIPS 180-4), in lower-case hexadecimal.
LENGTH = 64

_DIGITS = frozenset("0123456789abcdef")


def is_digest(value: object) -> bool:
    """Tell whether a value has the form of a digest."""
    return isinstance(value, str) and len(value) == LENGTH and _DIGITS.issuperset(value)


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


def digest_if_there(path: Path) -> str | None:
    """Give the digest of an ordinary file; None where there is none, or none that can be read."""
    try:
        return digest_of_file(path) if path.is_file() else None
    except (OSError, ValueError):
        return None


#: Where the seal stands: the last value of a list.
_SEAL = b'"seal": "'


def sealed(text: str) -> str:
    """Fill the empty `"seal": ""` at the end of a JSON text with the digest of the text as it is.

    >>> sealed('{"seal": ""}')[:20], seal_of(sealed('{"seal": ""}').encode()) is None
    ('{"seal": "63e2fddcd9', False)
    """
    head, mark, tail = text.rpartition(f'{_SEAL.decode()}"')
    return f'{head}{mark[:-1]}{digest(text.encode("utf-8"))}"{tail}' if mark else text


def seal_of(data: bytes) -> str | None:
    """Give the seal that the bytes of a list carry; None where it has none, or one of another text."""
    head, mark, tail = data.rpartition(_SEAL)
    seal = tail[:LENGTH]
    return seal.decode("ascii") if mark and digest(head + mark + tail[LENGTH:]).encode("ascii") == seal else None
