"""The fonts one can use: those that come with the program, and any .ttf or .otf file.

A `Font` is a small frozen value (a file, its axis settings, what stands for its bytes). What is heavy, the opened file
and the outlines, is kept per process by `glyph_outlines`.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

from nameplate.errors import FontError
from nameplate.geometry.measure import narrowed
from nameplate.geometry.region import bounds
from nameplate.system.bundled import bundled_font_files
from nameplate.system.carried import carried
from nameplate.system.digests import digest
from nameplate.typesetting import metrics
from nameplate.typesetting.font_files import check_font, read_font
from nameplate.typesetting.glyph_outlines import Source, glyph_of, glyph_region, opened
from nameplate.typesetting.shaping import shape_loosely

#: Letters beyond basic Latin that stand for a group of languages. A font has the group when it has them all.
SCRIPTS: tuple[tuple[str, str], ...] = (
    ("Latin", "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"),
    ("Western European", "ÀÂÄÅÆÇÈÉÊËÍÎÏÑÓÔÖØÚÛÜàâäåæçèéêëíîïñóôöøúûüßþðÞÐ"),
    ("Central European", "ĄĆČĎĘĚŁŃŇŐŘŚŠŤŮŰŹŻŽąćčďęěłńňőřśšťůűźżž"),
    ("Turkish", "ĞİŞğış"),
    ("Vietnamese", "ĂĐƠƯăđơưạảấầẩẫậắằẳẵặẹẻẽếềểễệỉịọỏốồổỗộớờởỡợụủứừửữựỳỵỷỹ"),
    ("Cyrillic", "АБВГДЕЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдежзийклмнопрстуфхцчшщъыьэюя"),
    ("Greek", "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩαβγδεζηθικλμνξοπρστυφχψω"),
)

#: How far, in em, the middle of a mark may stand outside its letter before the pair counts as not drawn properly.
STRAY_MARK = 0.15

#: Halvings of the weight axis when a fallback is matched: 900 units to under 4, which no eye tells apart.
WEIGHT_HALVINGS = 8


@dataclass(frozen=True, slots=True)
class FontInfo:
    """A font that comes with the program: display name, file, licence, number of letters, groups of languages."""

    name: str
    path: Path
    licence: str
    letters: int
    scripts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Font:
    """A font ready to set words in. `remarks` are for the user: how its maker wants it to be used; `mark` stands for
    the bytes of a file of theirs, as in `Source`.

    Equal fonts give equal letters; a font can be sent to another process.
    """

    name: str
    path: Path
    axes: tuple[tuple[str, float], ...] = ()
    remarks: tuple[str, ...] = ()
    mark: str = ""

    @property
    def source(self) -> Source:
        """Where its outlines come from."""
        return Source(self.path, self.axes, self.mark)

    @property
    def units_per_em(self) -> int:
        """Font units in one em."""
        return int(opened(self.source).face.upem)

    @property
    def cap_height(self) -> float:
        """Height of the capitals, in em."""
        return metrics.cap_height(self.source)

    @property
    def x_height(self) -> float:
        """Height of the small letters, in em."""
        return metrics.x_height(self.source)

    @property
    def slant(self) -> float:
        """Lean of the stems to the right, in degrees."""
        return metrics.slant(self.source)

    @property
    def neck(self) -> float:
        """Least width at which a small letter's main stroke splits, in em."""
        return metrics.neck(self.source)

    def least_cap_height(self, web: float) -> float:
        """Give the smallest height of capitals, in mm, at which the small letters' main strokes are `web` mm wide."""
        return web / self.neck * self.cap_height

    def is_sturdier(self, other: Font) -> bool:
        """Tell whether its neck is wider than another font's, sooner than it is measured."""
        return metrics.neck_is_over(self.source, other.neck)

    def missing(self, text: str) -> tuple[str, ...]:
        """Give the letters of a text that the font cannot draw, each once, in order of appearance.

        The text is taken in NFC. A letter composed of a base and marks is not missing when the font can set the
        parts on one another. Spaces are never missing.
        """
        return tuple(dict.fromkeys(c for c in clusters(text) if not can_draw(self.source, c)))


def clusters(text: str) -> Iterator[str]:
    """Split a text, in NFC, into letters with the marks that stand on them; spaces are left out.

    >>> list(clusters("Lê X"))
    ['L', 'ê', 'X']
    """
    clean = unicodedata.normalize("NFC", text)
    starts = [i for i, c in enumerate(clean) if not (i and unicodedata.combining(c)) or clean[i - 1].isspace()]
    yield from (clean[a:b] for a, b in pairwise([*starts, len(clean)]) if not clean[a:b].isspace())


@lru_cache(maxsize=8192)
def can_draw(source: Source, cluster: str) -> bool:
    """Tell whether a font draws one letter with its marks: every glyph there, none blank, each mark on its letter.

    >>> can_draw(load_font("Pacifico").source, "ễ"), can_draw(load_font("Pacifico").source, "λ")
    (True, False)
    """
    try:
        glyphs = shape_loosely(source, cluster)
    except FontError:
        return False
    if not glyphs or any(g.gid == 0 for g in glyphs):
        return False
    shapes = [glyph_region(source, g.gid) for g in glyphs]
    if len(unicodedata.normalize("NFC", cluster)) == 1 and glyph_of(source, cluster):
        return not all(shape.is_empty for shape in shapes)
    if any(shape.is_empty for shape in shapes):
        return False
    upem = float(opened(source).face.upem)
    places = [(bounds(s).x0 + g.x / upem, bounds(s).x1 + g.x / upem) for g, s in zip(glyphs, shapes, strict=True)]
    left, right = places[0][0] - STRAY_MARK, places[0][1] + STRAY_MARK
    return all(left <= (x0 + x1) / 2 <= right for x0, x1 in places[1:])


# --- the fonts that come with the program ---------------------------------------------------------------------------


@lru_cache(maxsize=1)
def bundled_fonts() -> tuple[FontInfo, ...]:
    """List the fonts that come with the program, by name.

    Raises FontError when there are none, which means that the program is not properly installed.
    """
    return tuple(sorted((_info(f) for f in bundled_font_files()), key=lambda i: i.name))


def _info(path: Path) -> FontInfo:
    have = set(opened(Source(path)).face.unicodes)
    return FontInfo(
        name=_display_name(Source(path)),
        path=path,
        licence=_licence(path.parent / "LICENSE.txt"),
        letters=sum(unicodedata.category(chr(c)).startswith("L") for c in have),
        scripts=tuple(name for name, letters in SCRIPTS if have.issuperset(map(ord, letters))),
    )


def _display_name(source: Source) -> str:
    """Give family and style of a font as people say it: without 'Regular'."""
    face = opened(source).face
    names = {entry: face.get_name(entry) or "" for entry in (1, 2, 16, 17)}
    family, style = (names[16], names[17]) if names[16] and names[17] else (names[1], names[2])
    if style in ("", "Regular", "Normal") or family.endswith(style):
        style = ""
    return f"{family} {style}".strip() or source.path.stem


def _licence(path: Path) -> str:
    text = path.read_text(encoding="utf-8", errors="replace").casefold()
    known = (("sil open font license", "OFL-1.1"), ("apache license", "Apache-2.0"))
    return next((short for words, short in known if words in text), "see LICENSE.txt")


def fonts_with(letter: str) -> tuple[str, ...]:
    """Give the names of the bundled fonts that can draw a letter.

    >>> "Pacifico" in fonts_with("я"), fonts_with("漢")
    (True, ())
    """
    composed = unicodedata.normalize("NFC", letter)
    return tuple(info.name for info in bundled_fonts() if can_draw(Source(info.path), composed))


# --- finding a font by what the user wrote --------------------------------------------------------------------------


def load_font(spec: str, folder: Path = Path(), *, axes: Mapping[str, float] | None = None) -> Font:
    """Find a font by its bundled name, in any case and with or without spaces, or by a path relative to `folder`.

    `axes` sets the axes of a variable font by tag or name, `{"wght": 700}`.

    Raises FontError when there is no such font, the file is not usable, or it has no such axis or not that far.
    """
    font = _found(spec, folder)
    return replace(font, axes=_checked_axes(font, axes)) if axes else font


def load_fonts(
    specs: Sequence[str], folder: Path = Path(), *, axes: Mapping[str, float] | None = None
) -> tuple[Font, ...]:
    """Find a font and its fallbacks. The axes are those of the first; variable fallbacks follow its weight.

    Raises FontError like `load_font`, and when the fonts lack what words are spaced by.
    """
    main = load_font(specs[0], folder, axes=axes)
    fonts = (main, *(_weighted(load_font(spec, folder), main) for spec in specs[1:]))
    _check_spacing(fonts)
    return fonts


def load_row_fonts(
    specs: Sequence[str], folder: Path, *, axes: Mapping[str, float]
) -> tuple[tuple[Font, ...], tuple[str, ...]]:
    """Find a row's own font and its fallbacks, with the ticket's axes as far as that font has them.

    Gives the fonts and the words of the axes that it lacks. Raises FontError like `load_font`.

    >>> load_row_fonts(["Pacifico"], Path(), axes={"weight": 700})[1]
    ('weight',)
    """
    own = load_font(specs[0], folder)
    tags = _axis_names(own)
    lacking = tuple(word for word in axes if word.casefold() not in tags)
    had = {word: value for word, value in axes.items() if word not in lacking}
    return load_fonts(specs, folder, axes=had), lacking


def axes_of(font: Font) -> Mapping[str, tuple[float, float, float]]:
    """Give the axes of a variable font: tag -> (least, ordinary, most); empty for any other font."""
    return {a.tag: (a.min_value, a.default_value, a.max_value) for a in opened(_without_axes(font)).face.axis_infos}


def _without_axes(font: Font) -> Source:
    """Give where the outlines of a font come from as its file has them."""
    return font.source._replace(axes=())


def _axis_names(font: Font) -> Mapping[str, str]:
    """Give the tag of each axis by its tag and by its name, in small letters."""
    face = opened(_without_axes(font)).face
    tags = {word.casefold(): a.tag for a in face.axis_infos for word in (a.tag, face.get_name(a.name_id) or a.tag)}
    return tags | ({"weight": "wght"} if "wght" in tags else {})


def _checked_axes(font: Font, axes: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    have, tags = axes_of(font), _axis_names(font)
    problems = []
    found: dict[str, float] = {}
    for word, value in axes.items():
        tag = tags.get(word.casefold())
        if not have:
            problems.append(f"{font.name} is not a variable font, so {word} = {value:g} cannot be set; leave it out")
        elif tag is None:
            problems.append(f"{font.name} has no axis {word!r}; it has {', '.join(have)}")
        elif not have[tag][0] <= value <= have[tag][2]:
            least, _, most = have[tag]
            problems.append(f"{font.name}: {word} = {value:g} is outside its range {least:g} to {most:g}")
        else:
            found[tag] = float(value)
    if problems:
        raise FontError(problems)
    return tuple(sorted(found.items()))


def _weighted(font: Font, main: Font) -> Font:
    """Set the weight of a variable font so that its stems are as thick as the main font's at equal x-height."""
    span = axes_of(font).get("wght")
    if span is None:
        return font
    wanted = metrics.stem(main.source) / main.x_height

    def is_light(weight: float) -> bool:
        source = font.source._replace(axes=(("wght", weight),))
        return metrics.stem(source) / metrics.x_height(source) < wanted

    low, high = narrowed(span[0], span[2], is_light, within=(span[2] - span[0]) / 2**WEIGHT_HALVINGS)
    return replace(font, axes=(("wght", round((low + high) / 2)),))


def _found(spec: str, folder: Path) -> Font:
    if info := _bundled(spec):
        return Font(info.name, info.path)
    if not _looks_like_path(spec, folder):
        raise _unknown_font(spec)
    try:
        path = folder / Path(spec).expanduser()
    except RuntimeError:
        raise FontError(f"{spec[:80]!r}: there is no such user's folder; write the whole path of the font") from None
    if path.suffix.lower() in (".ttc", ".otc"):
        raise FontError(f"{path} is a collection of several fonts; save the one you want as .ttf or .otf")
    data = read_font(path)
    remarks, source = check_font(path, data), Source(path, mark=digest(data))
    if not opened(source).face.unicodes:
        raise FontError(f"{path}: the font maps no letters; use another copy")
    return Font(_display_name(source), path, remarks=remarks, mark=source.mark)


@lru_cache(maxsize=256)
def full_name(spec: str) -> str:
    """Give the name of a bundled font however it is written, and any other font as it is.

    >>> full_name("playpen sans"), full_name("Pacifico"), full_name("own.ttf")
    ('Playpen Sans ExtraBold', 'Pacifico', 'own.ttf')
    """
    info = _bundled(spec)
    return info.name if info else spec


def _bundled(spec: str) -> FontInfo | None:
    """Give the font of the program that a name means."""
    return {_plain(info.name): info for info in bundled_fonts()}.get(_plain(spec)) or _only_style(spec)


def _only_style(spec: str) -> FontInfo | None:
    """Give the bundled font of a family that comes in one style, found by the family's name alone.

    >>> _only_style("oleo script").name, _only_style("Oleo")
    ('Oleo Script Bold', None)
    """
    faces = ((info, opened(Source(info.path)).face) for info in bundled_fonts())
    families = ((info, face.get_name(16) or face.get_name(1) or "") for info, face in faces)
    found = [info for info, family in families if _plain(family) == _plain(spec)]
    return found[0] if len(found) == 1 else None


def _check_spacing(fonts: Sequence[Font]) -> None:
    """Check that a font draws what words are spaced by: a small n, its own or a fallback's, and a space of its own.

    Raises FontError, naming the file.
    """
    main, n = fonts[0].source, any(glyph_of(f.source, "n") and can_draw(f.source, "n") for f in fonts)
    lacking = [*([] if n else ["a small n"]), *([] if glyph_of(main, " ") else ["a space"])]
    if lacking:
        words = " and ".join(lacking)
        raise FontError(f"{main.path}: the font does not draw {words}, by which words are spaced; use another font")


def _plain(name: str) -> str:
    plain = re.sub(r"[\s_-]+", "", unicodedata.normalize("NFC", name)).casefold()
    return plain.removesuffix("regular") or plain


def _looks_like_path(spec: str, folder: Path) -> bool:
    ending = Path(spec).suffix.lower() in (".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2", ".pfb")
    if ending or "/" in spec or "\\" in spec:
        return True
    try:
        return bool(spec.strip()) and (carried(folder / spec) is not None or (folder / spec).is_file())
    except (OSError, ValueError):  # too long for a name, or no name at all
        return False


def _unknown_font(spec: str) -> FontError:
    names = [info.name for info in bundled_fonts()]
    plain = {_plain(n): n for n in names}
    near = [plain[p] for p in difflib.get_close_matches(_plain(spec), plain, n=2, cutoff=0.6)]
    hint = f" (did you mean {' or '.join(near)}?)" if near else ""
    return FontError(
        f"there is no font {spec!r}{hint}; bundled fonts: {', '.join(names)}; or give the path of a .ttf or .otf file"
    )
