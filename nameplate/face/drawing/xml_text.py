"""Reading an SVG file as XML without letting it do anything: no entities, no fetching, no scripts, bounded size.

The file is read up to a limit, decoded, checked as text, and only then parsed. Everything a drawing of a face has no
use for and a hostile file might use is refused with its reason, all reasons at once.

Known limits: the document type declarations that the W3C published for SVG are accepted and never fetched, because
drawing programs of the last twenty years write them; any other, and any with a content of its own, is refused.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeAlias

from nameplate.errors import FaceError
from nameplate.face.drawing.units import short
from nameplate.system.reading import read_regular

Element: TypeAlias = Any  # lxml has no type information

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"

#: Largest file read, in bytes. An outline of a face takes a few kilobytes; parsing needs about ten times the file.
MOST_BYTES = 4_000_000

#: Most elements in a document, and deepest nesting: bounds on the time and stack that a file can ask for.
MOST_ELEMENTS = 20_000
MOST_DEPTH = 100

#: Longest XML declaration and longest document type looked at (characters); what programs write has some 50 and 110.
LONGEST_DECLARATION = 300

_ENCODINGS = re.compile(
    r"utf-?8|us-ascii|ascii|utf-?16(?:le|be)?|iso-8859-[0-9]{1,2}|latin-?1|windows-125[0-9]|cp125[0-9]", re.I
)
_DOCTYPE = re.compile("<!DOCTYPE", re.I)

#: A document type that names nothing, or one that the W3C published for SVG, with nothing added.
_PUBLISHED = re.compile(
    r"""<!DOCTYPE\s++svg(?:\s++PUBLIC\s*+["']-//W3C//DTD[ ]SVG[ ][^"'>]*+(?<=//EN)["']"""
    r"""\s*+["']https?://www\.w3\.org/[^"'>]*+(?<=\.dtd)["'])?+\s*+>"""
)


def read_root(path: Path) -> Element:
    """Read an SVG file and give its root element; raises FaceError with every reason to refuse it."""
    data = read_regular(path, MOST_BYTES, FaceError, what="an SVG drawing", larger="save only the outline")
    if data[:2] == b"\x1f\x8b":
        raise FaceError("the drawing is compressed (.svgz); save it as plain SVG")
    text = _decoded(data)
    if problems := list(_text_problems(text)):
        raise FaceError(problems)
    root = _parsed(text)
    if problems := list(dict.fromkeys(_element_problems(root))):
        raise FaceError(problems)
    return root


def local_name(element: Element) -> str:
    """Give an SVG element's name without its namespace, "" for comments, instructions and other namespaces.

    Elements of a document without any namespace count as SVG.
    """
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    space, _, name = tag[1:].partition("}") if tag.startswith("{") else ("", "", tag)
    return name if space in (SVG, "") else ""


def _decoded(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    elif data.startswith(codecs.BOM_UTF8):
        encoding = "utf-8-sig"
    else:
        encoding = _declared_encoding(data[:LONGEST_DECLARATION]) or "utf-8"
    if encoding != "utf-8-sig" and not _ENCODINGS.fullmatch(encoding):
        raise FaceError(f"the encoding {short(encoding)} is not read; save the drawing as UTF-8")
    try:
        return data.decode(encoding)
    except (UnicodeError, LookupError):
        raise FaceError(f"this is not an SVG drawing in {encoding} text") from None


def _declared_encoding(head: bytes) -> str:
    """Give the encoding that the beginning of a file declares (XML 1.0, section 4.3.3), "" when it declares none."""
    declaration = head.decode("latin-1").lstrip().partition(">")[0]
    if not declaration.startswith("<?xml"):
        return ""
    value = declaration.partition("encoding")[2].lstrip().removeprefix("=").lstrip()
    return value[1:].partition(value[0])[0] if value[:1] in ("'", '"') else ""


def _without_declaration(text: str) -> str:
    """Take the XML declaration off; it speaks of the bytes, which are decoded by now."""
    start = text.lstrip()
    if start[:5] != "<?xml" or not start[5:6].isspace():
        return text
    return start.partition("?>")[2] or text


def _text_problems(text: str) -> Iterator[str]:
    doctype = _DOCTYPE.search(text)
    if "<!ENTITY" in text:
        yield "it defines entities; a drawing of a face needs none"
    elif doctype and not _PUBLISHED.match(text, doctype.start(), doctype.start() + LONGEST_DECLARATION):
        yield "it carries a document type of its own (<!DOCTYPE ...>); remove that line"
    if "<?xml-stylesheet" in text:
        yield "it refers to a style sheet outside the file"


def _parsed(text: str) -> Element:
    from lxml import etree

    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False, huge_tree=False, encoding="utf-8"
    )
    try:
        root = etree.fromstring(_without_declaration(text).encode("utf-8"), parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        where = f", line {error.lineno}" if isinstance(error, etree.XMLSyntaxError) and error.lineno else ""
        what = f"this is no SVG drawing, or a damaged one (not well-formed{where})"
        raise FaceError(f"{what}; save it as SVG again") from None
    if root is None or local_name(root) != "svg":
        raise FaceError("this is not an SVG drawing; its first element must be <svg>")
    return root


def _element_problems(root: Element) -> Iterator[str]:
    for count, element in enumerate(root.iter()):
        if count >= MOST_ELEMENTS:
            yield f"it has more than {MOST_ELEMENTS} elements; save only the outline"
            return
        if sum(1 for _ in element.iterancestors()) >= MOST_DEPTH:
            yield f"its groups are nested more than {MOST_DEPTH} deep"
            return
        yield from _one_element_problems(element)


def _one_element_problems(element: Element) -> Iterator[str]:
    if not isinstance(element.tag, str):
        return
    name = local_name(element)
    if "XInclude" in element.tag:
        yield "it includes another file (XInclude)"
    if name.lower() in ("script", "foreignobject"):
        yield f"it contains <{name}>, which is refused"
    for key, value in element.attrib.items():
        space, _, plain = key[1:].partition("}") if key.startswith("{") else ("", "", key)
        if name and not space and plain.lower().startswith("on"):
            yield f"it has an event handler ({plain[:40]}) on <{name[:40]}>, which is refused"
        elif plain == "href" and space in ("", XLINK):
            yield from _reference_problems(name, value.strip())
        elif plain == "base" and space:
            yield "it moves its references elsewhere (xml:base)"
        elif _refers_outside(value):
            yield f"{plain[:40]} on <{name[:40]}> refers to something outside the file"
    if name == "style" and element.text and ("@import" in element.text or _refers_outside(element.text)):
        yield "its style sheet refers to something outside the file"


def _refers_outside(style: str) -> bool:
    """Tell whether a style has a url() of anything but a part of the drawing (#...) or data in it (data:...)."""
    targets = (piece.lstrip() for piece in style.lower().split("url(")[1:])
    bare = (t[1:].lstrip() if t[:1] in ("'", '"') else t for t in targets)
    return not all(t.startswith(("#", "data:")) for t in bare)


def _reference_problems(name: str, target: str) -> Iterator[str]:
    if target and not target.startswith("#") and not (name == "image" and target.startswith("data:image/")):
        yield f"<{name[:40]}> refers to {short(target)} outside the file; only things in the drawing itself are used"
