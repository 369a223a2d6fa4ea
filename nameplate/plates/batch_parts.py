"""What a design cuts once besides its plates: the carrier of its jigs, the fit ladder."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace

from nameplate.cut.kerf import Toolpath, toolpath
from nameplate.findings import Finding
from nameplate.jig.layers import CARRIER
from nameplate.jig.locating import judge_kerf, judge_warmth
from nameplate.jig.make import make_shared
from nameplate.model import Order, Part
from nameplate.plates.make import PlateContext
from nameplate.plates.trial import cut_true, expected_part
from nameplate.system.file_names import carrier_stem
from nameplate.ticket.materials import GLUED


@dataclass(frozen=True, slots=True)
class SharedWork:
    """The parts of a design that belong to no plate, how to cut them, and their nominal drawing.

    `file` is where that drawing goes in the out folder; `record` is the carrier's entry in summary.json.
    """

    parts: tuple[Part, ...] = ()
    toolpaths: tuple[Toolpath, ...] = ()
    nominal: tuple[Toolpath, ...] = ()
    findings: tuple[Finding, ...] = ()
    record: dict[str, object] = field(default_factory=dict)

    @property
    def file(self) -> str:
        """The nominal drawing's name under the out folder, empty when there is none."""
        return str(self.record.get("file", ""))

    def without(self, lost: Collection[str]) -> SharedWork:
        """Give the same without the parts of some names (as in `Part.plate`), which found no place on any sheet."""
        kept = tuple(part for part in self.parts if part.plate not in lost)
        paths = tuple(path for path in self.toolpaths if path.plate not in lost)
        if any(part.kind == "carrier" and part.plate in lost for part in self.parts):
            return replace(self, parts=kept, toolpaths=paths, nominal=(), record={})
        return replace(self, parts=kept, toolpaths=paths)

    def of_design(self, design: str) -> SharedWork:
        """Give the same under names of its design, in files, layouts and records; without a design, as it is."""
        if not design:
            return self
        record = self.record and {**self.record, "file": f"jigs/{carrier_stem(design)}.svg"}
        return replace(
            self,
            parts=tuple(replace(part, plate=f"{part.plate} {design}") for part in self.parts),
            toolpaths=tuple(replace(path, plate=f"{path.plate} {design}") for path in self.toolpaths),
            nominal=tuple(replace(path, plate=f"{path.plate} {design}") for path in self.nominal),
            findings=of_design(design, self.findings),
            record=record,
        )


def of_design(design: str, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Say of each finding which design it belongs to."""
    return tuple(replace(f, message=f"design {design}: {f.message}") if design else f for f in findings)


def make_shared_work(context: PlateContext, orders: Sequence[Order], *, title: str) -> SharedWork:
    """Make what the orders of a design share; its findings are about the face and the carrier.

    Where none of them is glued there is nothing. Raises GeometryError when a part cannot be cut.
    """
    if not any(order.mount in GLUED for order in orders):
        return SharedWork()
    carrier, template, lettering = (context.material(role) for role in ("carrier", "template", "lettering"))
    thick = {"carrier_thickness": carrier.thickness, "template_thickness": template.thickness}
    made = make_shared(context.face, context.jig, title=title, **thick)
    cut = made.parts if context.cuts else ()
    paths = (cut_true(p, expected_part(p, None, None), context.material(p.material).kerf)[0] for p in cut)
    nominal = tuple(toolpath(p, 0.0) for p in cut if p.plate == CARRIER)
    located = context.material("backing") if all(order.mount == "backed" for order in orders) else lettering
    warmth = judge_warmth(context.face, context.jig, lettering.name)
    kerfs = judge_kerf(context.jig, template.kerf.inside.widest, located.kerf.outside.widest)
    findings = (*made.findings, *warmth, *kerfs)
    work = SharedWork(context.called(made.parts), tuple(paths), nominal, findings, made.record)
    return work.of_design(orders[0].design)
