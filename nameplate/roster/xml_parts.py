"""The zip package that a spreadsheet file is: its parts, read in pieces, with everything bounded while it is read.

Parts are found by the relationships between them (ECMA-376 part 2, section 9.3), wherever in the archive they lie. XML
goes through expat as a stream; a document type, which could define entities, is refused.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections.abc import Callable, Iterator
from typing import TypeAlias
from xml.parsers import expat

from nameplate.errors import RosterError
from nameplate.roster.delimited_text import LONGEST_CELL

#: Most bytes the parts that are read may unpack to; more is no list of names.
MOST_UNPACKED = 100_000_000

#: Most elements in all parts that are read: less than ten seconds of reading.
MOST_ELEMENTS = 3_000_000

#: Most parts in the archive, and deepest nesting of elements; real ones stay far below.
MOST_PARTS = 10_000
DEEPEST = 100

#: Bytes read at once, and most of them that one tag may span: without an end the parser would begin it anew each time.
_PIECE = 65_536
_LONGEST_TAG = 1_000_000

#: Called with an element's names from the root down, its own last, and its attributes, all without namespaces.
Start: TypeAlias = Callable[[list[str], dict[str, str]], None]

#: Called with the names of an element that ends, and the text that stands in itself: no more of it than shows that it
#: is too long for a cell.
End: TypeAlias = Callable[[list[str], str], None]


def continued(text: str, more: str) -> str:
    """Put more behind the text of a cell, and no more of it than shows that it is too long.

    >>> continued("Wren ", "Abara"), len(continued("Wren", "x" * 1_000_000)) == LONGEST_CELL + 1
    ('Wren Abara', True)
    """
    return text + more[: max(0, LONGEST_CELL + 1 - len(text))]


def unreadable(file: str, reason: str) -> RosterError:
    """Return the refusal of a file that is no spreadsheet that can be read."""
    return RosterError(f"{file}: cannot be read as an .xlsx spreadsheet: {reason}; save it as CSV in UTF-8")


def _local(name: str) -> str:
    return name.rpartition(" ")[2]


class Package:
    """The parts of a spreadsheet file. `file` is the name that messages carry."""

    def __init__(self, data: bytes, file: str) -> None:
        """Raises RosterError when the bytes are no zip archive, or one of too many parts."""
        self.file = file
        self._left, self._elements = MOST_UNPACKED, 0
        try:
            self._archive = zipfile.ZipFile(io.BytesIO(data))
            infos = self._archive.infolist()
        except Exception as error:  # many kinds, by what is damaged
            raise unreadable(file, str(error)) from None
        if len(infos) > MOST_PARTS:
            raise unreadable(file, f"it has {len(infos)} parts, more than {MOST_PARTS}")
        self._parts: dict[str, zipfile.ZipInfo] = {}
        for info in infos:
            if self._parts.setdefault(_key(info.filename), info) is not info:
                raise unreadable(file, f"its part {info.filename[:80]!r} is there twice")

    def __contains__(self, part: str) -> bool:
        return _key(part) in self._parts

    def read(self, part: str, start: Start | None = None, *, end: End | None = None) -> None:
        """Read the XML of one part and call the handlers; raises RosterError when it is missing, damaged or too much.

        What a handler raises ends the reading and is passed on.
        """
        if part not in self:
            raise unreadable(self.file, f"its part {part[:80]!r} is missing")
        parser = self._parser(part, start, end)
        fed = 0
        try:
            for piece in self._pieces(part):
                parser.Parse(piece, False)
                fed += len(piece)
                if fed - parser.CurrentByteIndex > _LONGEST_TAG:
                    raise unreadable(self.file, f"a tag in {part} is longer than {_LONGEST_TAG} bytes")
            parser.Parse(b"", True)
        except expat.ExpatError as error:
            raise unreadable(self.file, f"{part} is damaged ({error})") from None

    def _parser(self, part: str, start: Start | None, end: End | None) -> expat.XMLParserType:
        parser = expat.ParserCreate(namespace_separator=" ")
        path: list[str] = []
        texts: list[str] = []  # of each element of the path

        def opened(name: str, attributes: dict[str, str]) -> None:
            self._elements += 1
            path.append(_local(name))
            texts.append("")
            if self._elements > MOST_ELEMENTS or len(path) > DEEPEST:
                what = f"more than {MOST_ELEMENTS} cells and marks" if len(path) <= DEEPEST else "elements too deep"
                raise RosterError(f"{self.file}: {part} holds {what}; is it a list of names? Save it as CSV in UTF-8")
            if start:
                start(path, {_local(key): value for key, value in attributes.items()})

        def closed(name: str) -> None:
            text = texts.pop()
            if end:
                end(path, text)
            path.pop()

        def wrote(text: str) -> None:
            texts[-1] = continued(texts[-1], text)

        def refused(*_: object) -> None:
            raise unreadable(self.file, f"{part} has a document type, which no spreadsheet needs")

        parser.buffer_text = True
        parser.StartElementHandler, parser.EndElementHandler = opened, closed
        parser.StartDoctypeDeclHandler, parser.CharacterDataHandler = refused, wrote
        return parser

    def _pieces(self, part: str) -> Iterator[bytes]:
        """Unpack one part piece by piece; only by what comes out is it judged, not by what the archive says."""
        info = self._parts[_key(part)]
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise unreadable(self.file, f"{part} is packed in a way that spreadsheets do not use")
        try:
            with self._archive.open(info) as stream:
                while piece := stream.read(_PIECE):
                    self._left -= len(piece)
                    if self._left < 0:
                        raise RosterError(
                            f"{self.file}: unpacks to more than {MOST_UNPACKED // 1_000_000} MB; is it a list of names?"
                        )
                    yield piece
        except (zipfile.BadZipFile, zlib.error, OSError, ValueError, RuntimeError, EOFError) as error:
            if isinstance(error, RosterError):
                raise
            raise unreadable(self.file, f"its contents are damaged ({error})") from None

    def related(self, part: str) -> dict[str, tuple[str, str]]:
        """Return what a part ("" for the whole package) points to: by id, the last word of the kind and the part."""
        folder, _, name = part.rpartition("/")
        found: dict[str, tuple[str, str]] = {}

        def start(path: list[str], attributes: dict[str, str]) -> None:
            if path[-1] == "Relationship" and attributes.get("TargetMode") != "External":
                target = attributes.get("Target", "").replace("\\", "/")
                target = posixpath.normpath(posixpath.join("/" + folder, target)).lstrip("/")
                kind = attributes.get("Type", "").rpartition("/")[2]
                found[attributes.get("Id", f"#{len(found)}")] = (kind, target)

        links = f"{folder}/_rels/{name}.rels".lstrip("/")
        if links in self:
            self.read(links, start)
        return found


def _key(part: str) -> str:
    """Part names are compared without case (ECMA-376 part 2, section 6.2.2.3)."""
    return part.replace("\\", "/").lstrip("/").casefold()
