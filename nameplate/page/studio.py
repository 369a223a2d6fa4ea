"""What the rooms of the page share: the job, what its files say now, who edits, draws and runs commands."""

from __future__ import annotations

import threading
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from nameplate.findings import Finding, counted, errors_in, row_ranges
from nameplate.job.status import Status, status_of
from nameplate.model import Order
from nameplate.page.drawing import DrawingRoom, PlateDrawing
from nameplate.page.edits import Editor
from nameplate.page.incoming import Inbox
from nameplate.page.opened import JobView, OpenJob, list_file, text_of, unless_wrong, view_of
from nameplate.page.running import Runner
from nameplate.page.sketch import sketch_work
from nameplate.page.ticket_edits import TicketEditor
from nameplate.page.tried_row import AS_CUT, TriedRow, told_again
from nameplate.page.versions import version_of
from nameplate.record.approvals import SignOff
from nameplate.roster.reader import read_bytes
from nameplate.roster.rules import quoted
from nameplate.system.grouping import grouped
from nameplate.ticket.checks import tickets_of
from nameplate.ticket.schema import Ticket

#: Why a name has no plate.
NO_DESIGN, NOT_AS_IT_IS = "no design is chosen", "it cannot be made as it is"


@dataclass(frozen=True, slots=True)
class PlateCard:
    """A plate on the wall: its order, the key of its picture (empty where it has none), and what is known of it; what
    it was `cut_as` where that is another text than it has now, else empty; whether it `waits` for an approval without
    which it is not made; whether it is drawn `as_cut`, and nobody has approved what it would be now."""

    order: Order
    key: str
    drawn: PlateDrawing | None
    looks: tuple[str, ...]
    problems: tuple[str, ...]
    sign: SignOff | None = None
    cut_as: str = ""
    waits: bool = False
    as_cut: bool = False

    @property
    def text(self) -> str:
        """What is on it, line by line."""
        return text_of(self.order)

    @property
    def can_be_approved(self) -> bool:
        """Whether the picture of what would be signed is there to be looked at, and it can be made."""
        return bool(self.drawn and self.drawn.svg) and not (self.problems or self.as_cut or self.order.hold)


@dataclass(slots=True)
class Studio:
    """Everything that the page works with; `stop` it at the end. The `signer` approved plates last, and the `ticker`
    ticked them; `ordered` are the files that the order was worked out of."""

    job: OpenJob
    room: DrawingRoom = field(default_factory=DrawingRoom)
    drafts: DrawingRoom = field(default_factory=lambda: DrawingRoom(1, make=sketch_work))
    signer: str = ""
    ticker: str = ""
    ordered: tuple[object, ...] = ()
    _sizes_tried: set[str] = field(default_factory=set)
    _seen: tuple[object, JobView] | None = None
    _tried: dict[str, tuple[str, tuple[str, ...]]] = field(default_factory=dict)  # by plate: key, looks
    _lock: threading.Lock = field(default_factory=threading.Lock)
    inbox: Inbox = field(default_factory=Inbox)
    editor: Editor = field(init=False)
    ticket_editor: TicketEditor = field(init=False)
    runner: Runner = field(init=False)

    def __post_init__(self) -> None:
        self.editor, self.runner = Editor(self.job), Runner(self.job.folder)
        self.ticket_editor = TicketEditor(self.job)

    def try_now(self, keys: Collection[str]) -> None:
        """Drop the drafts of an earlier trial of sizes that are not among these, which are asked for next."""
        self.drafts.drop(self._sizes_tried - set(keys))
        self._sizes_tried = set(keys)

    def let_go(self) -> None:
        """Draw nothing more, so that no answer waits for a plate."""
        self.room.let_go()
        self.drafts.let_go()

    def stop(self) -> None:
        """Stop drawing, and end what runs."""
        self.runner.stop()
        self.room.stop()
        self.drafts.stop()

    def view(self) -> JobView:
        """Give the job as it is now; looked at anew only where one of its files, or of its fonts, changed."""
        with self._lock:
            ticket = self.job.ticket()
            state = self._state(ticket)
            if self._seen is None or self._seen[0] != (state, _stamps(self._seen[1].fonts)):
                view = view_of(self.job, ticket)
                self._seen = ((state, _stamps(view.fonts)), view)
            return self._seen[1]

    def state(self) -> tuple[object, ...]:
        """Give what stands for the files of the job as they are: its ticket, list, faces and record. Empty where the
        ticket or the list cannot be read."""
        return unless_wrong(lambda: self._state(self.job.ticket()), ())

    def _state(self, ticket: Ticket) -> tuple[object, ...]:
        record = self.job.record
        wal = record.with_name(f"{record.name}-wal")
        files = [record, wal, *(own.face.file for own in tickets_of(ticket) if own.face.file)]
        return (repr(ticket), version_of(read_bytes(list_file(ticket))), *_stamps(files))

    def try_out(self, tried: TriedRow) -> PlateDrawing | None:
        """Let a row be drawn as it would be, before all others, and drop what was tried of it before; give it where it
        is drawn already."""
        with self._lock:
            before, _ = self._tried.get(tried.plate, ("", ()))
            self._tried[tried.plate] = tried.key, tried.looks  # and not its whole job: there is one for every row
            if before and before != tried.key and self._seen and before not in self._seen[1].keys.values():
                self.room.drop([before])
        known = None if tried.view is None else self.room.known(tried.key)
        if tried.view is not None and known is None:
            self.drafts.drop_all_but([tried.key])
            self.room.ask(tried.view, tried.plate)
        return known

    def looks_tried(self, key: str) -> tuple[str, ...]:
        """Give what is to be said of the row that was tried and whose picture has a key."""
        with self._lock:
            return next((looks for own, looks in self._tried.values() if own == key), ())

    def status(self) -> Status:
        """Tell where the batch stands; raises what reading ticket, list and record raises."""
        return status_of(self.job.ticket(), self.job.record)

    def title(self) -> str:
        """What the job is called; its folder's name where the ticket cannot be read."""
        return unless_wrong(lambda: self.job.ticket().job.title, "") or self.job.folder.name

    def cards(self, view: JobView) -> list[PlateCard]:
        """Give all plates of a job, with what is known of them by now."""
        errors, _ = by_row(tuple(f for f in view.listed.findings if f.severity == "error"))
        return [self._card(view, order, errors.get(order.row, [])) for order in view.orders]

    def card(self, view: JobView, plate: str) -> PlateCard:
        """Give one plate of a job alone: a page asks for each of its cards by itself."""
        order = next(order for order in view.orders if order.id == plate)
        return self._card(
            view, order, [f for f in view.listed.findings if f.severity == "error" and f.row == order.row]
        )

    def _card(self, view: JobView, order: Order, errors: Sequence[Finding]) -> PlateCard:
        key = view.keys.get(order.id, "")
        drawn = self.room.known(key)
        found = () if drawn is None else drawn.findings
        looks = (*view.looks.get(order.row, ()), *(drawn.looks if drawn else ()))
        problems = errors_in((*errors, *found))
        sign = view.listed.signs.get(order.id)
        if cut_as := view.retold.get(order.id, ""):
            looks = (told_again(cut_as), *looks)
        elif (work := view.on.get(order.id)) and work.plate.order.texts != order.texts:  # on hold by now
            looks = (f"cut as {quoted(text_of(work.plate.order))}, and drawn so", *looks)
        as_cut = order.id in view.otherwise and not (sign and sign.by)
        if as_cut:
            looks = (AS_CUT, *looks)
        waits = view.ticket.job.approval == "required" and not (sign and sign.by)
        return PlateCard(order, key, drawn, tuple(dict.fromkeys(looks)), problems, sign, cut_as, waits, as_cut)


def _stamps(files: Iterable[Path]) -> tuple[tuple[int, int] | None, ...]:
    """Give what changes with files: the time and the size of each, None for one that is not there, or cannot be."""
    return tuple(map(_stamp, files))


def _stamp(file: Path) -> tuple[int, int] | None:
    try:
        stat = file.stat()
    except (OSError, ValueError):  # what a row calls its font may be no name of a file
        return None
    return stat.st_mtime_ns, stat.st_size


def without_plate(view: JobView, cards: Sequence[PlateCard]) -> str:
    """Say how many names have no plate as the list has them, but for those on hold, and why; empty for none."""
    rows = [card.order.row for card in cards if card.problems and not card.order.hold]
    undecided = {finding.row for finding in view.listed.findings if finding.code == "no-design"}
    reasons = grouped((NO_DESIGN if row in undecided else NOT_AS_IT_IS, row) for row in sorted(rows))
    told = "; ".join(f"{reason} ({row_ranges(own)})" for reason, own in reasons.items())
    them = "it" if len(rows) == 1 else "them"
    return f"{counted(len(rows), 'name', 'has', 'have')} no plate as the list has {them}: {told}." if rows else ""


def by_row(findings: tuple[Finding, ...]) -> tuple[dict[int, list[Finding]], list[Finding]]:
    """Sort findings by their rows; those of no row come second."""
    rows = grouped((finding.row, finding) for finding in findings if finding.row is not None)
    return rows, [finding for finding in findings if finding.row is None]
