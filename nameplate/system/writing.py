"""Writes files whole or not at all."""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any, TypeAlias

from nameplate.errors import OutputError

#: A table as JSON has it.
Json: TypeAlias = dict[str, Any]


def json_text(document: object) -> str:
    """Write a document as JSON that people can read, too: a value a line. Raises ValueError for NaN and infinities.

    >>> json_text({"name": "Lê", "sheets": []})
    '{\\n "name": "Lê",\\n "sheets": []\\n}\\n'
    """
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def write_text_atomic(path: Path, text: str) -> None:
    """Write text as UTF-8 with plain line feeds, so that the file is there in whole or not at all.

    The text goes to a file of a temporary name in the same folder, is forced to the disk, and then takes the place of
    `path` in one step; an older file stays until that moment. Raises OutputError, and leaves nothing behind, when the
    folder cannot be written or the disk is full.
    """
    write_bytes_atomic(path, text.encode("utf-8"))


def write_bytes_atomic(path: Path, data: bytes | Iterable[bytes]) -> None:
    """Write bytes, or pieces of bytes one after another, as `write_text_atomic` writes text."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    except OSError as error:
        raise _cannot_write(path, error) from error
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines((data,) if isinstance(data, bytes) else data)
            file.flush()
            os.fsync(file.fileno())
        os.umask(mask := os.umask(0o022))  # mkstemp ignores the mask for new files, and makes them private
        temporary.chmod(0o666 & ~mask)
        os.replace(temporary, path)  # noqa: PTH105 - named for what matters: it replaces, on every system
    except OSError as error:
        raise _cannot_write(path, error) from error
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()


def _cannot_write(path: Path, error: OSError) -> OutputError:
    return OutputError(f"cannot write {path}: {error.strerror or error}; free space or choose another folder with -o")
