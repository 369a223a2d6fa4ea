"""The file of a record: opened, checked, brought up to date, and written by one command at a time.

Method: SQLite with a write-ahead log, so that readers see the last whole state while somebody writes; where the disk
does not allow such a log (many network drives) with a rollback journal, which is said. A command that writes takes the
write lock when it begins (`BEGIN IMMEDIATE`); a second one is told so. Either all of a transaction is in the file or
nothing, whatever kills the process.

A reader needs no lock and changes nothing, but for a record of an older version, which is brought up to date.
"""

from __future__ import annotations

import os
import sqlite3
import stat
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any, TypeAlias

from nameplate.errors import RecordError
from nameplate.record.schema import APPLICATION_ID, MIGRATIONS
from nameplate.system.digests import digest
from nameplate.system.reading import shown

#: The ending of a record's name.
SUFFIX = ".record"

#: The oldest SQLite with strict tables.
OLDEST = (3, 37, 0)

#: Seconds that a command waits for another to finish writing. A transaction takes a moment, but for that of `make`,
#: which holds the record as long as it works: then waiting longer only delays the message.
WAIT_S = 3.0

#: How hard files are squeezed, from 1 to 9 (as zlib has it): more takes longer and makes the record smaller.
FILE_LEVEL = 6

#: The largest file of a sheet (bytes), as cut files are read: what unfolds to more is no file of a run.
LARGEST_FILE = 200_000_000

#: Told something that a person should know.
Say: TypeAlias = Callable[[str], None]

#: One row of an answer, by the names of its columns.
TableRow: TypeAlias = sqlite3.Row


def record_of(ticket: Path) -> Path:
    """Give where the record of a ticket lies.

    >>> record_of(Path("jobs/orchard.toml")).as_posix()
    'jobs/orchard.record'
    """
    return ticket.with_suffix(SUFFIX)


class Store:
    """An open record. Use `reading` or `writing` to get one."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path, self._connection = path, connection

    def rows(self, statement: str, values: Sequence[Any] = ()) -> list[TableRow]:
        """Give the rows that a SELECT finds; raises RecordError."""
        with told(self.path):
            try:
                return self._connection.execute(statement, values).fetchall()
            except UnicodeDecodeError as error:  # SQLite says so with the text itself, which can fail
                raise RecordError(_damaged(self.path, "a text in it is not UTF-8")) from error

    def row(self, statement: str, values: Sequence[Any] = ()) -> TableRow | None:
        """Give the first row that a SELECT finds, if any; raises RecordError."""
        found = self.rows(statement, values)
        return found[0] if found else None

    def change(self, statement: str, values: Sequence[Any] = ()) -> int:
        """Do an INSERT, UPDATE or DELETE; gives the id of the row that was put in last. Raises RecordError."""
        with told(self.path):
            return self._connection.execute(statement, values).lastrowid or 0

    def change_each(self, statement: str, values: Sequence[Sequence[Any]]) -> None:
        """Do the same for each of some values; raises RecordError."""
        with told(self.path):
            self._connection.executemany(statement, values)

    def put_file(self, sheet: int, name: str, content: bytes) -> None:
        """Keep the bytes of a sheet's file; raises RecordError."""
        values = (sheet, name, digest(content), zlib.compress(content, FILE_LEVEL))
        self.change("INSERT INTO files (sheet, name, digest, data) VALUES (?, ?, ?, ?)", values)

    def file(self, sheet: int, name: str) -> bytes:
        """Give the bytes of a sheet's file as they were kept; raises RecordError when they are not."""
        row = self.row("SELECT digest, data FROM files WHERE sheet = ? AND name = ?", (sheet, name))
        try:
            content = b"" if row is None else zlib.decompressobj().decompress(row["data"], LARGEST_FILE)
        except zlib.error:
            content = b""
        if row is None or digest(content) != row["digest"]:
            raise RecordError(f"{shown(self.path)} is damaged: it has lost the bytes of {name}; put back a copy of it")
        return content

    def begin(self) -> None:
        """Become the only writer, until `commit` or `roll_back`; raises RecordError while another one writes."""
        with told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")

    def commit(self) -> None:
        """Let everything since `begin` be in the file for good; raises RecordError when the disk does not allow it."""
        with told(self.path):
            self._connection.execute("COMMIT")

    def roll_back(self) -> None:
        """Forget everything since `begin`, if anything was begun."""
        with suppress(sqlite3.Error):
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Do all in the block or nothing, as the only writer, and in no other transaction; raises RecordError."""
        self.begin()
        try:
            yield
            self.commit()
        finally:
            self.roll_back()


@contextmanager
def writing(path: Path, *, say: Say = lambda text: None) -> Iterator[Store]:
    """Give the record for writing, made new where there is none; write only in its transactions.

    `say` is told where the disk keeps it from being as safe as it should be. Raises RecordError.
    """
    _check_kind(path)
    with told(path), closing(_connected(path, "rwc")) as connection:
        store = Store(path, connection)
        _version(store)  # what is not ours is not touched
        if not _keeps_log(connection):
            connection.execute("PRAGMA journal_mode = DELETE")
            say(
                f"{shown(path)} lies on a disk that does not allow a write-ahead log, as many network drives do not: "
                "it is kept with a rollback journal; do not open it on two computers at once"
            )
        _bring_up_to_date(store, connection)
        yield store


@contextmanager
def reading(path: Path) -> Iterator[Store | None]:
    """Give the record for reading, None where there is none; raises RecordError."""
    if not _is_there(path):
        yield None
        return
    with told(path), closing(_for_reading(path)) as connection:
        store = Store(path, connection)
        _bring_up_to_date(store, connection)
        connection.execute("PRAGMA query_only = ON")
        yield store


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite raises into a sentence about the record; raises RecordError."""
    try:
        yield
    except sqlite3.Error as error:
        raise RecordError(_sentence(path, error)) from error


@contextmanager
def well_formed(path: Path) -> Iterator[None]:
    """Turn what goes wrong where values of the record are taken apart into a sentence about the record.

    Raises RecordError; one that the block raises is left as it is.
    """
    try:
        yield
    except RecordError:
        raise
    except (ValueError, TypeError, KeyError, IndexError, AttributeError) as error:
        raise RecordError(_damaged(path, f"{type(error).__name__}: {error}")) from error


def _damaged(path: Path, why: object) -> str:
    return (
        f"{shown(path)} is damaged ({why}); put back a copy of it, or move it elsewhere and make it anew with "
        "nameplate record rebuild"
    )


# --- opening --------------------------------------------------------------------------------------------------------


def _is_there(path: Path) -> bool:
    """Tell whether there is a file, even an empty one of a command that was killed before it said anything."""
    _check_kind(path)
    try:
        return path.stat().st_size > 0
    except FileNotFoundError:
        return False
    except OSError as error:
        raise RecordError(f"{shown(path)} cannot be read: {error.strerror or error}") from error


def _check_kind(path: Path) -> None:
    """Raise RecordError where something lies that is no ordinary file, or where SQLite is too old."""
    if sqlite3.sqlite_version_info < OLDEST:
        wanted = ".".join(map(str, OLDEST))
        raise RecordError(
            f"this Python has SQLite {sqlite3.sqlite_version}; a record needs {wanted} or newer, so install a newer "
            "Python"
        )
    try:
        ordinary = stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return
    if not ordinary:
        raise RecordError(f"{shown(path)} is not an ordinary file; the record of the job is to lie there")


def _connected(path: Path, mode: str) -> sqlite3.Connection:
    address = f"{path.resolve().as_uri()}?mode={mode}"
    connection = sqlite3.connect(address, uri=True, timeout=WAIT_S, isolation_level=None)
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    return connection


def _keeps_log(connection: sqlite3.Connection) -> bool:
    """Turn the write-ahead log on; tell whether the disk allows it."""
    try:
        return bool(connection.execute("PRAGMA journal_mode = WAL").fetchone()[0] == "wal")
    except sqlite3.OperationalError as error:
        if _code(error) in BUSY:
            raise
        return False


def _for_reading(path: Path) -> sqlite3.Connection:
    """Open a record for reading; in a folder where nothing may be written, as it lies there."""
    with suppress(sqlite3.OperationalError):
        connection = _connected(path, "rw")
        try:
            connection.execute("SELECT count(*) FROM sqlite_master")
        except sqlite3.OperationalError:
            connection.close()
            raise
        return connection
    return _connected(path, "ro&immutable=1")


def _bring_up_to_date(store: Store, connection: sqlite3.Connection) -> None:
    """Check that this is a record of ours, whole, and of this version; make it so where it is older or empty."""
    if _version(store) == len(MIGRATIONS):
        return
    with store.transaction():  # another command may have done it meanwhile
        first = _version(store)
        for number, statements in enumerate(MIGRATIONS[first:], first + 1):
            for statement in filter(str.strip, statements.split(";")):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number}")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def _version(store: Store) -> int:
    """Give the version of a record, 0 of an empty file; raises RecordError where it is none of ours, or damaged."""
    name = shown(store.path)
    asked = ("PRAGMA application_id", "PRAGMA user_version", "SELECT count(*) FROM sqlite_master")
    own, version, tables = (store.rows(statement)[0][0] for statement in asked)
    if own == version == tables == 0:
        return 0
    if own != APPLICATION_ID or version < 1:
        raise RecordError(f"{name} is a database of another program; move it elsewhere, or rename the ticket")
    if version > len(MIGRATIONS):
        raise RecordError(
            f"{name} was written by a newer version of this program (record version {version}, this one knows "
            f"{len(MIGRATIONS)}); use that version"
        )
    if (faults := store.rows("PRAGMA quick_check(1)")[0][0]) != "ok":
        raise RecordError(_damaged(store.path, faults))
    return int(version)


#: What SQLite says, without a code of its own, of a text that is none, or not what it should be.
TORN = ("decode to UTF-8", "malformed JSON")

#: What SQLite says while another process writes.
BUSY = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def _code(error: sqlite3.Error) -> int:
    """Give the primary code of an error (https://www.sqlite.org/rescode.html: its lowest eight bits)."""
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF


def _sentence(path: Path, error: sqlite3.Error) -> str:
    name, code = shown(path), _code(error)
    if code in BUSY:
        return f"{name} is being written by another command; wait until that has finished, and try again"
    if code == sqlite3.SQLITE_FULL:
        return f"{name} cannot be written: the disk is full; nothing was changed in it"
    if code == sqlite3.SQLITE_NOTADB:
        return f"{name} is no record of a job; move it elsewhere, or rename the ticket"
    if code == sqlite3.SQLITE_CORRUPT:
        return _damaged(path, error)
    if any(sign in str(error) for sign in TORN):
        return _damaged(path, str(error).partition(" with text")[0])
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN) and not os.access(path.parent, os.W_OK):
        return (
            f"nothing may be written in {shown(path.resolve().parent)}, where the record of the job is kept "
            f"({path.name}): have that allowed, or copy the ticket with its list and drawings into a folder of your own"
        )
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR):
        return f"{name} cannot be written or read ({error}); look whether its folder may be written and has room"
    return f"{name} cannot be used: {error}"
