"""Keeps what was made in little memory: packed as bytes, on disk where it is much, and opened when it is looked at.

Terms. Some fields of frozen values are *laid away*: their class is decorated with `lays_away`. Such a field holds its
value, or something `Later` that gives it; who reads the field gets the value either way and cannot tell. `packed` puts
bytes in place of the values of such fields, and a `Shelf` puts the bytes into its file when they are many. Values
travel to other processes as they are stored, so that a worker reads from the file what it needs and nothing else.

Method: a file that is only ever added to, one pickle after another; a packed value knows its file, place and length.
The values opened last are kept (`RECENT`). Values are never changed, so it does not matter how often they are opened.
"""

from __future__ import annotations

import ctypes
import os
import pickle
import sys
import tempfile
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, fields, is_dataclass
from functools import lru_cache
from pathlib import Path
from types import MemberDescriptorType
from typing import Any, BinaryIO, Generic, TypeVar, cast

from nameplate.errors import OutputError

T = TypeVar("T")
C = TypeVar("C")
K = TypeVar("K")

#: Bytes of packed values that a shelf holds in memory before it begins a file: some forty names. More lets larger jobs
#: do without a file, and costs just that memory.
IN_MEMORY = 16_000_000

#: Values under this many bytes stay as they are: packed, they would take no less.
LEAST = 256

#: Values opened last that a process keeps, about 0.2 MB each. Fewer are opened again within a sheet; more only take
#: memory, since a pass over a batch comes back to the first when it has long been let go.
RECENT = 32

#: Set while values are packed for a process that cannot read the shelf's file.
_whole: ContextVar[bool] = ContextVar("_whole", default=False)


class Later(ABC, Generic[T]):
    """Something that gives a value when it is wanted; frozen and hashable, so that what it gave can be remembered."""

    __slots__ = ()

    @abstractmethod
    def made(self) -> T:
        """Give the value, made anew."""


@dataclass(frozen=True, slots=True)
class PackedValue(Later[T]):
    """A packed value: its bytes, or the file they lie in, where they begin and how many they are."""

    data: bytes = b""
    file: str = ""
    start: int = 0
    size: int = 0

    def made(self) -> T:
        """Unpack the value; raises OutputError when the file is gone or cut short."""
        return cast(T, pickle.loads(self.bytes()))

    def bytes(self) -> bytes:
        """Give the packed bytes, wherever they are."""
        if not self.file:
            return self.data
        try:
            with open(self.file, "rb", buffering=0) as file:  # noqa: PTH123 - a path as text, and no buffer
                file.seek(self.start)
                found = file.read(self.size)
        except OSError as error:
            raise OutputError(f"{self.file}, a temporary file of this run, cannot be read: {_why(error)}") from error
        if len(found) < self.size:
            raise OutputError(f"{self.file}, a temporary file of this run, was changed by others; run it again")
        return found

    def __reduce__(self) -> tuple[Any, ...]:
        if self.file and _whole.get():
            return PackedValue, (self.bytes(),)
        return PackedValue, (self.data, self.file, self.start, self.size)


@lru_cache(maxsize=RECENT)
def _opened(later: Later[Any]) -> Any:  # noqa: ANN401 - any value
    return later.made()


def opened(held: T | Later[T]) -> T:
    """Give what is held: the value itself, or what `Later` gives."""
    return cast(T, _opened(held)) if isinstance(held, Later) else held


@contextmanager
def sent_whole() -> Iterator[None]:
    """Within the block, what is pickled carries its bytes along: for processes that cannot read this machine's disk."""
    token = _whole.set(True)
    try:
        yield
    finally:
        _whole.reset(token)


# --- fields that are laid away --------------------------------------------------------------------------------------


class _Field:
    """Reads a slot, and opens what lies in it for later."""

    __slots__ = ("slot",)

    def __init__(self, slot: MemberDescriptorType) -> None:
        self.slot = slot

    def __get__(self, value: object, owner: type) -> Any:  # noqa: ANN401 - any field
        if value is None:
            return self
        found = self.slot.__get__(value, owner)
        return opened(found)

    def __set__(self, value: object, to: object) -> None:
        self.slot.__set__(value, to)


def lays_away(*names: str) -> Callable[[type[C]], type[C]]:
    """Decorate a frozen dataclass with slots: these fields of its values may hold something for later.

    >>> @lays_away("text")
    ... @dataclass(frozen=True, slots=True)
    ... class Book:
    ...     text: str
    >>> stored(packed(Book("w" * 999)), "text").size, packed(Book("short")).text
    (0, 'short')
    >>> packed(Book("w" * 999)) == Book("w" * 999)
    True
    """

    def decorate(cls: type[C]) -> type[C]:
        for name in names:
            setattr(cls, name, _Field(cls.__dict__[name]))
        setattr(cls, "__getstate__", _state)  # noqa: B010 - the type checker knows no such attribute
        return cls

    return decorate


def _state(self: Any) -> list[Any]:  # noqa: ANN401 - any dataclass
    """Give what to pickle: the fields as they are stored."""
    return [stored(self, f.name) for f in fields(self)]


def stored(value: object, name: str) -> Any:  # noqa: ANN401 - any field
    """Give a field as it is stored, to put it into another value's field that is laid away without opening it."""
    there = type(value).__dict__.get(name)
    return there.slot.__get__(value, type(value)) if isinstance(there, _Field) else getattr(value, name)


def changed(value: C, **changes: object) -> C:
    """Do what `dataclasses.replace` does, without opening the fields that stay."""
    now = {f.name: stored(value, f.name) for f in fields(cast(Any, value))}
    return type(value)(**{**now, **changes})


class Drawers(Mapping[K, T]):
    """A mapping whose values may be for later; who looks one up gets it opened."""

    __slots__ = ("stored",)

    def __init__(self, stored: Mapping[K, T | Later[T]]) -> None:
        self.stored = dict(stored)

    def __getitem__(self, key: K) -> T:
        return opened(self.stored[key])

    def __iter__(self) -> Iterator[K]:
        return iter(self.stored)

    def __len__(self) -> int:
        return len(self.stored)

    def __contains__(self, key: object) -> bool:
        return key in self.stored  # without opening it

    def joined(self, other: Mapping[K, T]) -> Drawers[K, T]:
        """Give the values of both, those of `other` where both have one."""
        return Drawers({**self.stored, **(other.stored if isinstance(other, Drawers) else other)})


# --- packing --------------------------------------------------------------------------------------------------------


def packed(value: C) -> C:
    """Give an equal value with all that is laid away in it, at any depth of tuples and dataclasses, as bytes.

    What occurs several times in it is packed once.
    """
    return cast(C, _mapped(value, _once(_pack)))


def _pack(held: object) -> object:
    if isinstance(held, Later):
        return held
    data = pickle.dumps(held, protocol=5)
    return PackedValue(data) if len(data) >= LEAST else held


def _once(how: Callable[[object], object]) -> Callable[[object], object]:
    """Do the same, but to what occurs several times only once."""
    seen: dict[int, object] = {}

    def known(held: object) -> object:
        if id(held) not in seen:
            seen[id(held)] = how(held)
        return seen[id(held)]

    return known


def _mapped(value: Any, how: Callable[[object], object]) -> Any:  # noqa: ANN401 - any value
    """Change everything that is laid away in a value."""
    if type(value) is tuple:
        items = tuple(_mapped(item, how) for item in value)
        return items if any(a is not b for a, b in zip(items, value, strict=True)) else value
    if isinstance(value, Drawers):
        return Drawers({key: how(held) for key, held in value.stored.items()})
    if not is_dataclass(value) or isinstance(value, Later):
        return value
    after = {}
    for f in fields(value):
        held = stored(value, f.name)
        new = how(held) if isinstance(type(value).__dict__.get(f.name), _Field) else _mapped(held, how)
        if new is not held:
            after[f.name] = new
    return changed(value, **after) if after else value


class Shelf:
    """Keeps packed values: the first in memory, those beyond `in_memory` bytes in a file that ends with the shelf.

    The file lies in `folder`, hidden, its name begins with `prefix`, and only its owner can read it. Use the shelf in a
    `with` block that outlives every look at what it keeps.
    """

    def __init__(self, folder: Path, *, prefix: str = ".", in_memory: int = IN_MEMORY) -> None:
        self.folder, self.prefix = folder, prefix
        self.path: Path | None = None
        self._left = in_memory
        self._file: BinaryIO | None = None
        self._end = 0

    def __enter__(self) -> Shelf:
        return self

    def __exit__(self, *_: object) -> None:
        _opened.cache_clear()
        if self._file is not None:
            self._file.close()
        if self.path is not None:
            with suppress(OSError):
                self.path.unlink()

    def keep(self, value: C) -> C:
        """Give an equal value whose fields that are laid away are on this shelf; raises OutputError on a full disk."""
        return cast(C, _mapped(value, _once(lambda held: self._laid(_pack(held)))))

    def _laid(self, held: object) -> object:
        if not isinstance(held, PackedValue) or held.file:
            return held
        size = len(held.data)
        if size <= self._left:
            self._left -= size
            return held
        self._left = 0  # from here on everything goes to the file, so that what is large does not decide
        start = self._end
        self._write(held.data)
        return PackedValue(b"", str(self.path), start, size)

    def _write(self, data: bytes) -> None:
        try:
            if self._file is None:
                handle, name = tempfile.mkstemp(prefix=self.prefix, suffix="-shelf", dir=self.folder)
                self.path, self._file = Path(name), cast(BinaryIO, os.fdopen(handle, "wb", buffering=0))
            rest = memoryview(data)
            while rest:
                rest = rest[self._file.write(rest) :]
        except OSError as error:
            raise OutputError(
                f"what is made cannot be kept in {self.folder} until it is written: {_why(error)}; "
                "free space there or choose another folder with -o"
            ) from error
        self._end += len(data)


def give_back() -> None:
    """Give memory that is free back to the system, between stages that need it for different things.

    The C library of Linux keeps what was freed in small pieces for itself, which after a nest is some hundred megabytes
    that other processes lack. Other systems, and other C libraries, do as they do.
    """
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).malloc_trim(0)


def _why(error: OSError) -> str:
    return error.strerror or str(error)
