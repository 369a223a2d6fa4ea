"""What is told of a drawing: one finding a kind, so that five hundred stray lines make one sentence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from nameplate.findings import Finding, named

#: Most labels in a finding: of what went wrong, and of what is only listed.
MOST_NAMED = 3
MOST_LISTED = 12

_SENTENCES = {
    "drawing-no-unit": "the drawing names no unit: {labels}; give the face's width to be sure",
    "drawing-path-closed": "closed a path whose ends nearly met: {labels}",
    "drawing-paths-joined": "joined open paths whose ends meet to one outline: {labels}",
    "drawing-path-open": "left out, because not closed: {labels}",
    "drawing-outside-outline": "left out, because outside the outline: {labels}",
    "drawing-crosses-outline": "crosses the outline; what lies inside it counts: {labels}",
    "drawing-drawn-twice": "the outline is drawn again, which is left out: {labels}",
    "drawing-line-twice": "lines that are drawn again count once: {labels}",
    "drawing-crosses-itself": "crosses itself; the small loops were cut off: {labels}",
    "drawing-ignored": "text, pictures, clips and the like are not part of an outline and were left out: {labels}",
    "drawing-page": "a rectangle that equals the page is not taken for the face: {labels}; if it is the face, give it "
    'the role "outline" in [face] roles',
    "drawing-frame": "{labels}",
    "drawing-artwork": "may be artwork, so it is not cut and kept free of lettering: {labels}; say what it is, like "
    '[face] roles = {{ {key} = "score" }}, or "outline", "hatch", "hole" or "ignore"',
}
_IN_WORDS = {"hole": "a hole", "zone": "a zone for lettering", "score": "to score", "hatch": "to hatch"}
_NOTES_ONLY = frozenset(
    {"drawing-line-twice", "drawing-drawn-twice", "drawing-ignored", "drawing-paths-joined", "drawing-page"}
)


def sentence(code: str, labels: str, key: str = "logo") -> str:
    """Say what is told of some labels, with a `key` as the example of a path."""
    return _SENTENCES[code].format(labels=labels, key=key)


@dataclass(slots=True)
class Notes:
    """Collects what to tell, by kind; `key` is the name of the first path asked about, `y_up` whether the drawing's own
    y points up, so that places in it are told as the program that drew it shows them."""

    labels: dict[str, list[str]] = field(default_factory=dict)
    roles: dict[str, list[str]] = field(default_factory=dict)
    key: str = "logo"
    y_up: bool = False

    def place(self, x: float, y: float) -> str:
        """Name a place whose y points down.

        >>> Notes().place(1, 2), Notes(y_up=True).place(1, 2)
        ('x 1.0, y 2.0', 'x 1.0, y -2.0')
        """
        return f"x {x:.1f}, y {(-y if self.y_up else y) + 0.0:.1f}"

    def add(self, code: str, label: str) -> None:
        """Note something about what has this label."""
        self.labels.setdefault(code, []).append(label)

    def taken(self, role: str, label: str) -> None:
        """Note for what a path is taken."""
        self.roles.setdefault(role, []).append(label)

    def findings(self, path: Path) -> Iterator[Finding]:
        """Give all that was noted of a file's drawing."""
        for code, labels in self.labels.items():
            text = sentence(code, named(labels, most=MOST_NAMED), self.key)
            yield Finding(code, "note" if code in _NOTES_ONLY else "warning", f"{path.name}: {text}")
        if self.roles:
            listed = "; ".join(_for_makers(role, labels) for role, labels in sorted(self.roles.items()))
            yield Finding("drawing-roles", "note", f"{path.name}: besides the outline it has {listed}")


def _for_makers(role: str, labels: Sequence[str]) -> str:
    """Say what is drawn for a role, by its own names where it has any.

    >>> _for_makers("hole", ["<circle id='hook'>"]), _for_makers("score", ["<line id='rim'> and 2 more", "<rect>"])
    ('a hole: hook', 'to score: rim and 2 more, <rect>')
    """
    what = f"{len(labels)} holes" if role == "hole" and len(labels) > 1 else _IN_WORDS.get(role, role)
    return f"{what}: {named([_own_name(label) for label in labels], most=MOST_LISTED)}"


def _own_name(label: str) -> str:
    name, end, more = label.partition(" id=")[2].rpartition(">")
    return name.strip("'\"") + more if end else label
