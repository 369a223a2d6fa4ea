"""The job ticket as values. Every field says what it accepts; the reader checks a TOML file against this.

What a field says is told in :mod:`nameplate.ticket.keys`. `nameplate explain` prints it, and the first line of each
record's docstring.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from pathlib import Path

from nameplate.ticket.keys import key
from nameplate.ticket.lettering_schema import LARGEST_FACE, LetteringKeys, LineKeys, length_on_face
from nameplate.ticket.wall_schema import WallKeys
from nameplate.ticket.workshop_schema import MATERIALS, ColourKeys, MachineKeys, MaterialKeys, StockKeys

#: Shapes a face may have without a drawing.
SHAPES: tuple[str, ...] = ("rectangle", "rounded", "ellipse", "circle", "shield", "leaf", "hexagon")

#: The shape of names that stand free: there is no face.
NO_FACE = "none"

#: What a path of a drawing can be for; each word is also a name that a path or its group may have in the drawing.
ROLES: tuple[str, ...] = ("outline", "hole", "zone", "score", "hatch", "ignore")

#: Page sizes of what is printed; `nameplate.pdf.paper` has their lengths.
PAPERS: tuple[str, ...] = ("a4", "letter")

#: Forms of a cut file, and how the names of its files end; all begin alike.
ENDINGS: Mapping[str, str] = {"svg": ".svg", "dxf": ".dxf", "pdf": ".pdf", "tiled": "-tiled.pdf", "png": ".png"}
FORMATS: tuple[str, ...] = tuple(ENDINGS)


@dataclass(frozen=True, slots=True)
class JobKeys:
    """`[job]`: what the batch is called, and where its list of names is."""

    title: str = key.title("", "heads the paperwork", unset="the name of the list's file", example="Orchard sponsors")
    roster: Path | None = key.path(
        None, "the list of names: .csv, .txt or .xlsx", unset="it must be there", example="names.csv"
    )
    shop: Path | None = key.path(
        None,
        "the workshop file: materials and stock kept once for all jobs; the ticket's own keys win",
        unset="your own, if you have one (nameplate new --shop)",
        example="workshop.toml",
    )
    approval: str = key.choice(
        "warn",
        "plates that nobody approved as they are ordered now (nameplate approve): refused, said in a warning, or made",
        choices=("required", "warn", "none"),
    )
    dxf: bool = key.flag(False, "also write each sheet as DXF, as [files] formats does")
    paper: str = key.choice(
        "a4",
        "page size of everything that is printed; with letter what is bought, drilled or measured is in inches, too",
        choices=PAPERS,
        example="letter",
    )


@dataclass(frozen=True, slots=True)
class FaceKeys:
    """`[face]`: the surface the name goes on: a `shape` with `width` and `height`, or a drawing in `file`."""

    shape: str | None = key.choice(
        None,
        "form of the face; none: names stand free, one piece each, without plaque, jig or glue",
        choices=(*SHAPES, NO_FACE),
        unset="`file` has the form",
        example="ellipse",
    )
    file: Path | None = key.path(
        None,
        "an SVG or DXF drawing of the outline, in place of `shape`",
        unset="`shape` says the form",
        example="face.svg",
    )
    width: float | None = length_on_face(
        "width of the face; of shape none, that of the finished lettering: exact, or with height the most it may have",
        unset="a shape needs it; a drawing has its own",
        example=110,
    )
    height: float | None = length_on_face(
        "height of the face; of shape none, that of the finished lettering: exact, or with width the most it may have",
        unset="a shape but the circle needs it; a drawing has its own",
        example=80,
    )
    radius: float | None = key.length(
        None,
        "corner radius of the shape `rounded`",
        least=0,
        most=LARGEST_FACE,
        unset="in proportion to the face",
        example=8,
    )
    holes: tuple[tuple[float, float, float], ...] = key.holes(
        (),
        "round holes of a shape, like those of its screws: x, y from the middle of the face, to the right and up",
        unset="a shape has none, a drawing its own",
        example=((-45, 0, 4), (45, 0, 4)),
    )
    inset: float = key.length(6.0, "lettering keeps this far from the face's edge", least=0, most=LARGEST_FACE)
    symmetry: str = key.choice("none", "rebuild a drawing from one half", choices=("none", "left", "right"))
    cut: bool = key.flag(
        False, "the plaque is cut here too, with its holes, from the material blank; pierced and marked ones always are"
    )
    roles: tuple[tuple[str, str], ...] = key.roles(
        (),
        "what paths of a drawing are for, by their id, layer or group; hatched and scored where the plaque is cut here",
        choices=ROLES,
        unset="paths named like a role have it; the largest is the outline, plain shapes in it are holes",
        example={"rim": "score", "logo": "hatch", "frame": "ignore"},
    )
    ring: float | None = key.length(
        None,
        "bore of a ring by which a name of shape none hangs; height and width are those of the lettering without it",
        least=1,
        most=100,
        unset="no ring",
        example=4,
    )
    ring_at: str = key.choice(
        "balance",
        "balance: one ring, under which the name hangs straight; ends: two, equally high",
        choices=("balance", "ends"),
    )

    @property
    def stands_free(self) -> bool:
        """Whether there is no face: each name is a piece that stands or hangs by itself."""
        return self.shape == NO_FACE


@dataclass(frozen=True, slots=True)
class NestKeys:
    """`[nest]`: how parts are laid on sheets."""

    gap: float = key.length(1.5, "least solid distance between parts", least=0, most=200)
    edge_margin: float = key.length(5.0, "least solid distance from the sheet's edge", least=0, most=1000)
    turns: tuple[float, ...] = key.turns((0.0, 90.0, 180.0, 270.0), "angles at which parts may lie, in degrees")
    engine: str = key.choice("shape", "how parts are packed", choices=("rectangle", "shape"))
    effort: str | float = key.effort(
        "quick", "of older tickets: normal, long and seconds do what quick does", above=0, most=86400
    )
    offcuts: Path | None = key.path(
        None, "an offcuts.json of an earlier run, used before anything else", example="offcuts.json"
    )


@dataclass(frozen=True, slots=True)
class JigKeys:
    """`[jig]`: what locates a name on its face while it is glued on."""

    style: str = key.choice(
        "template",
        "what locates a name: a sheet with a window, a pocket with pins, the waste, paper, or nothing",
        choices=("template", "carrier", "skeleton", "print", "none"),
    )
    clearance: float = key.length(0.2, "play per side between the lettering and its window", least=0, most=10)
    window: str = key.choice(
        "contour", "form of the window: the name's outline, or nubs that touch it", choices=("contour", "contacts")
    )
    tolerance: float = key.length(0.5, "a name farther off its place than this is seen by eye", above=0, most=100)
    plaque_tolerance: float = key.length(
        0.0, "how much a plaque may be smaller or larger than its face", least=0, most=50
    )
    plaque_height: float = key.length(3.0, "height of the plaque, which the carrier's layers match", above=0, most=200)
    pin: float = key.length(3.0, "diameter of the carrier's locating pins", above=0, most=50)
    ladder: bool = key.flag(False, "also cut a fit ladder: pockets in steps of 0.05 mm and a plug to try in them")
    relief: float = key.length(1.0, "how far a window of contacts stands back between its nubs", above=0, most=50)

    @property
    def window_reach(self) -> float:
        """How far (mm) a window goes beyond its name on each side, where no nub is."""
        return self.clearance + (self.relief if self.window == "contacts" else 0.0)


@dataclass(frozen=True, slots=True)
class SparesKeys:
    """`[spares]`: pieces cut in reserve, the fragile names first; without `loss` there are none."""

    loss: float = key.number(0.0, "share of the pieces that fail", least=0, most=0.5, example=0.04)
    confidence: float = key.number(0.95, "wanted chance that enough pieces are good", above=0, most=0.9999)


@dataclass(frozen=True, slots=True)
class ProofKeys:
    """`[proof]`: the sheet that the customer signs."""

    per_page: int = key.count(4, "plates on a page of it; fewer are drawn larger", least=1, most=8, example=1)


@dataclass(frozen=True, slots=True)
class CardKeys:
    """`[cards]`: the work cards, on which each plate is ticked off."""

    per_page: int = key.count(6, "cards on a page; fewer are drawn larger", choices=(1, 2, 6), example=2)


@dataclass(frozen=True, slots=True)
class FilesKeys:
    """`[files]`: in which forms the sheets are written, all from the same lines and read back."""

    formats: tuple[str, ...] = key.choices(
        ("svg",),
        "forms of each sheet; the SVG is always there, because it is what is inspected; tiled is a PDF on paper "
        "pages; png is a picture of each sheet, and of each plate",
        choices=FORMATS,
        example=("svg", "dxf", "pdf"),
    )
    face_down: bool = key.flag(
        False,
        "names, backings and plaques are cut mirrored, so that their show side lies below, under its masking: of every "
        "material on which nothing is scored on the show side, and of which no jigs are cut; jigs are not mirrored",
    )
    label: str = key.choice(
        "none",
        "where ids of names, backings and plaques are scored: beside them on the waste; or on the back of what lies "
        "face down, where there is room, and else on the waste",
        choices=("none", "waste", "back"),
    )
    frame: bool = key.flag(True, "the sheet's rectangle in a DXF, on the layer sheet, which is not to be cut")
    curves: str = key.choice(
        "splines",
        "curves of a DXF; polylines, for programs that take no splines, lie within 0.005 mm of them",
        choices=("splines", "polylines"),
    )

    @property
    def others(self) -> tuple[str, ...]:
        """The forms that are written beside the SVG."""
        return tuple(form for form in FORMATS[1:] if form in self.formats)


@dataclass(frozen=True, slots=True)
class DesignKeys:
    """`[design.NAME]`: rows with NAME in the column design or tier take these keys over the ticket's own."""

    face: FaceKeys = key.table(
        FaceKeys(), "keys of [face]", unset="those of [face]", example={"width": 200, "height": 70}
    )
    lettering: LetteringKeys = key.table(
        LetteringKeys(),
        "keys of [lettering]",
        unset="those of [lettering]",
        example={"font": "Lobster", "max_height": 25},
    )
    jig: JigKeys = key.table(JigKeys(), "keys of [jig]", unset="those of [jig]", example={"style": "carrier"})
    line: tuple[LineKeys, ...] = key.tables(
        (),
        "lines in place of all of [[line]], also written [[design.NAME.line]]",
        unset="those of [[line]]",
        example=({"text": "{name}"},),
    )
    materials: Mapping[str, str] = key.materials(
        {},
        "which [material.*] each role is cut from: lettering, template, carrier, backing, blank",
        roles=MATERIALS,
        unset="each role's own",
        example={"lettering": "mirror"},
    )


@dataclass(frozen=True, slots=True)
class Ticket:
    """One checked job ticket, or one design of it.

    `folder` is where its relative paths start; `assumptions` says, one sentence each, what was filled in because the
    ticket left it out. `materials` gives the key of a role's material where that is not the role's own. Of a ticket
    with `designs`, `design` is the name of the one that this is; empty, it is what the tables say without any.
    """

    job: JobKeys = field(default_factory=JobKeys)
    face: FaceKeys = field(default_factory=FaceKeys)
    lettering: LetteringKeys = field(default_factory=LetteringKeys)
    line: tuple[LineKeys, ...] = ()
    material: Mapping[str, MaterialKeys] = field(default_factory=dict)
    stock: tuple[StockKeys, ...] = ()
    nest: NestKeys = field(default_factory=NestKeys)
    jig: JigKeys = field(default_factory=JigKeys)
    spares: SparesKeys = field(default_factory=SparesKeys)
    colours: ColourKeys = field(default_factory=ColourKeys)
    machine: MachineKeys = field(default_factory=MachineKeys)
    proof: ProofKeys = field(default_factory=ProofKeys)
    cards: CardKeys = field(default_factory=CardKeys)
    files: FilesKeys = field(default_factory=FilesKeys)
    wall: WallKeys = field(default_factory=WallKeys)
    folder: Path = Path()
    assumptions: tuple[str, ...] = ()
    designs: Mapping[str, DesignKeys] = field(default_factory=dict)
    design: str = ""
    materials: Mapping[str, str] = field(default_factory=dict)

    def of(self, design: str) -> Ticket:
        """Give the ticket of one design by its name; without a name the ticket as its tables say."""
        if not design:
            return self
        keys = self.designs[design]
        return replace(self, design=design, **{own.name: getattr(keys, own.name) for own in fields(keys)})

    @property
    def own_jig(self) -> JigKeys:
        """What locates its names: nothing where they stand free, whatever `[jig]` says for other designs."""
        return replace(self.jig, style="none", ladder=False) if self.face.stands_free else self.jig

    @property
    def own_lettering(self) -> LetteringKeys:
        """How its names are set: of a name that stands free, of which one measure is asked, `auto` is one line.

        A line a word would always have larger letters in a width alone.
        """
        keys, face = self.lettering, self.face
        one_measure = face.stands_free and None in (face.width, face.height)
        return replace(keys, words="tie") if one_measure and keys.words == "auto" else keys

    def key_of(self, role: str) -> str:
        """Give the key of the material that plays a role.

        >>> Ticket(materials={"lettering": "mirror"}).key_of("lettering"), Ticket().key_of("lettering")
        ('mirror', 'lettering')
        """
        return self.materials.get(role, role)

    @property
    def face_down(self) -> frozenset[str]:
        """The materials whose sheets are to lie with their show side below, each by itself or as all are.

        >>> Ticket(material={"a": MaterialKeys(face_down=True), "b": MaterialKeys()}).face_down
        frozenset({'a'})
        """
        asked = {key: own.face_down for key, own in self.material.items()}
        return frozenset(key for key, own in asked.items() if (self.files.face_down if own is None else own))

    @property
    def cut_files(self) -> FilesKeys:
        """What the ticket says of the files for the laser, its older key for a DXF included.

        >>> Ticket(job=JobKeys(dxf=True)).cut_files.others
        ('dxf',)
        """
        return replace(self.files, formats=(*self.files.formats, "dxf")) if self.job.dxf else self.files
