"""The ticket edited from the page: checked before it is written, written as a person would, and undone.

A page sends the version of the ticket that it was drawn of, as with the list; a ticket that the command line would
refuse is not written.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TypeAlias

from nameplate.errors import NameplateError, TicketError
from nameplate.face.making import make_face
from nameplate.page.history import FileEditor, check_version
from nameplate.page.opened import OpenJob, unless_wrong
from nameplate.page.versions import version_of
from nameplate.plates.line_orders import named_fonts
from nameplate.system.file_names import safe_stem
from nameplate.system.writing import write_bytes_atomic
from nameplate.ticket.checks import face_problems, tickets_of
from nameplate.ticket.schema import Ticket
from nameplate.ticket.tables import read_file
from nameplate.ticket.toml_edit import Place, Values, edited, with_heading
from nameplate.typesetting.fonts import load_fonts

#: The endings of drawings that a face can be.
DRAWINGS = (".svg", ".dxf")

#: New values, by the table that they stand in.
Changes: TypeAlias = Mapping[Place, Values]


def table_of(design: str, name: str) -> Place:
    """Give the table of a ticket in which a design says something.

    >>> table_of("", "face"), table_of("gold", "face")
    (('face',), ('design', 'gold', 'face'))
    """
    return ("design", design, name) if design else (name,)


def tried(job: OpenJob, data: bytes, changes: Changes, *, gone: Place = (), new: Place = ()) -> tuple[bytes, Ticket]:
    """Give a ticket's bytes with some changes, without a table of a list that is to be gone, with a new one of which
    nothing is said yet, and what they say; raises what any run would find wrong with it."""
    before = data
    for table, values in changes.items():
        if values:
            data = edited(data, job.ticket_file.name, table, values)
    if gone:
        data = edited(data, job.ticket_file.name, gone, None)
    if new:
        data = with_heading(data, job.ticket_file.name, new)
    ticket = job.ticket(data)
    # where designs have faces a run does without that of the ticket itself; one that was whole stays so all the same
    broken = [text for _, text in face_problems(ticket.face)]
    if broken and not any(face_problems(unless_wrong(lambda: job.ticket(before), Ticket()).face)):
        raise TicketError(broken)
    changed = [ticket.of(str(table[1]) if table[0] == "design" else "") for table in changes]
    own = {one.design: one for one in (*changed, *tickets_of(ticket)) if one.design or not broken}
    for one in own.values():
        _check(one)
    return data, ticket


def _check(own: Ticket) -> None:
    """Raise what is wrong with the face or the fonts of a design, and name it."""
    key = ""
    try:
        make_face(own.face)
        for key, specs, axes in named_fonts(own):  # noqa: B007 - told by what is raised
            load_fonts(specs, own.folder, axes=axes)
    except NameplateError as error:
        where = f"{whose(own.design)}{key and f'{key}: '}"
        raise TicketError([f"{where}{problem}" for problem in error.problems]) from error


class TicketEditor(FileEditor):
    """Writes the ticket of one job, one edit at a time."""

    @property
    def version(self) -> str:
        """The version that a page of the ticket sends back."""
        return version_of(read_file(self._job.ticket_file))

    def write(self, version: str, changes: Changes, said: str, *, gone: Place = (), new: Place = ()) -> None:
        """Change the ticket of this version, as `tried` does.

        Raises StaleError where it is another one by now, and what any run would raise of it; it is then as it was.
        """
        with self._lock:
            before = self._current(version)
            after, _ = tried(self._job, before, changes, gone=gone, new=new)
            if after != before:
                write_bytes_atomic(self._job.ticket_file, after)
                self._wrote(said, before=before, after=after)

    def take_drawing(self, version: str, design: str, name: str, data: bytes, values: Values) -> None:
        """Lay a drawing beside the ticket and make it the face of a design; raises as `write`."""
        if _named(name).suffix.casefold() not in DRAWINGS or not data:
            wanted = f"expected an outline saved as SVG or DXF ({' or '.join(DRAWINGS)})"
            raise TicketError(f"“{_named(name)}” is no drawing: {wanted}")
        with _laid(self._job.folder, name, data) as path:
            said = f"{whose(design)}the face is {path.name}"
            self.write(version, {table_of(design, "face"): {**values, "file": path.name}}, said)

    def take_list(self, name: str, data: bytes, said: str) -> None:
        """Lay a list of names as text beside the ticket and let the job go on with it; raises as `write`."""
        with _laid(self._job.folder, name, data) as path:
            self.write(self.version, {("job",): {"roster": path.name}}, said)

    def undo(self, version: str) -> str:
        """Put back the bytes before the last edit, and say which it was; raises as `write` does."""
        with self._lock:
            self._current(version)
            none = TicketError("there is nothing to undo: the ticket was not changed on this page since it was opened")
            with self._undoing(self._job.ticket_file.name, version, none=none) as edit:
                assert edit.before is not None  # a ticket is there before its first edit
                write_bytes_atomic(self._job.ticket_file, edit.before)
            return edit.said

    def _current(self, version: str) -> bytes:
        data = read_file(self._job.ticket_file)
        check_version(self._job.ticket_file.name, version_of(data), version, by="another window, a program")
        return data


def whose(design: str) -> str:
    """Give the words that a sentence about the ticket begins with where it is about a design of it.

    >>> whose("gold"), whose("")
    ('design gold: ', '')
    """
    return f"design {design}: " if design else ""


def _named(name: str) -> Path:
    """Give the name of a file as a browser sends it, without the folders that some send along."""
    return Path(Path(name.replace("\\", "/")).name)


@contextmanager
def _laid(folder: Path, name: str, data: bytes) -> Iterator[Path]:
    """Lay a file into a folder and give its path; it is taken out again where what is done with it fails.

    It never takes the place of another file: where its name is taken by other bytes, it has a number behind it.
    """
    named, number = _named(name), 1
    stem, ending = safe_stem(named.stem), named.suffix.casefold()
    path = folder / f"{stem}{ending}"
    while os.path.lexists(path) and not _holds(path, data):
        number += 1
        path = folder / f"{stem}-{number}{ending}"
    is_new = not os.path.lexists(path)
    if is_new:
        write_bytes_atomic(path, data)
    try:
        yield path
    except BaseException:
        if is_new:
            path.unlink(missing_ok=True)
        raise


def _holds(path: Path, data: bytes) -> bool:
    """Tell whether an ordinary file of these bytes lies there."""
    is_like = not path.is_symlink() and path.is_file() and path.stat().st_size == len(data)
    return is_like and path.read_bytes() == data
