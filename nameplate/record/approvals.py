"""Who signed off which plate as it was to look, and what became of that: approved, changed since, or never approved.

An approval is of one look and stays with it: where a plate is to look otherwise it has none, and has it again when the
change is taken back.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from nameplate.record.look import Look, as_text, as_written_now, changes, look_digest
from nameplate.record.store import Store, TableRow, well_formed
from nameplate.system.digests import digest
from nameplate.system.grouping import grouped

#: How a customer calls what of a look changes all of a plate; what else there is says how the name is set, and on what.
_PLAIN = {"text": "text", "font": "font", "design": "design", "mount": "way it is made"}

#: Keys of a face that a customer sees in its outline.
_OUTLINE = frozenset({"face shape", "face width", "face height", "face radius", "face holes"})

#: What a customer calls the parts whose materials a look has.
_MATERIALS = {
    "material of lettering": "the letters",
    "material of backing": "the backing",
    "material of blank": "the plaque",
}

#: Characters of a time that are its day.
_DAY = len("2026-03-01")


@dataclass(frozen=True, slots=True)
class Approval:
    """Who approved one look of a plate, and when (UTC, ISO 8601)."""

    who: str
    at: str


def approvers(approvals: Iterable[Approval]) -> tuple[str, ...]:
    """Name who approved, each once.

    >>> approvers([Approval("Ann Ode", "2026-03-01T09:30:00Z"), Approval("Ann Ode", "2026-04-01T09:30:00Z")])
    ('Ann Ode',)
    """
    return tuple(dict.fromkeys(one.who for one in approvals))


@dataclass(frozen=True, slots=True)
class SignOff:
    """How a plate stands: who approved it as it is to look now, in the order of time.

    Where nobody did, `before` is the newest approval of another look, else `proof` the day of the last proof that was
    made to be signed, `since` the look that it is compared with, and `changed` says what changed from that; `withdrawn`
    says who withdrew the approval that it had as it is now, and `shown` what a proof shows of the look `since`, as
    JSON. A plate that is `added` came to the list after the first proof or approval, and was in no proof yet.
    """

    by: tuple[Approval, ...] = ()
    before: Approval | None = None
    since: Look | None = None
    changed: tuple[str, ...] = ()
    added: bool = False
    withdrawn: Approval | None = None
    proof: str = ""
    shown: str = ""

    @property
    def who(self) -> str:
        """Everybody who approved it as it is now, empty where nobody did.

        >>> SignOff((Approval("Ann Ode", "2026-03-01T09:30:00Z"), Approval("Bo Lark", "2026-03-02T09:30:00Z"))).who
        'Ann Ode, Bo Lark'
        """
        return ", ".join(approvers(self.by))

    @property
    def by_as_cut(self) -> tuple[Approval, ...]:
        """The approvals of a plate that stays as it was cut: its text counts, whatever else the ticket says by now."""
        retold = any(change.startswith("text: ") for change in self.changed)
        return self.by or (() if self.before is None or retold else (self.before,))

    @property
    def who_as_cut(self) -> str:
        """Who approved a plate that stays as it was cut, each once.

        >>> ann = Approval("Ann Ode", "2026-03-01T09:30:00Z")
        >>> [SignOff(before=ann, changed=(change,)).who_as_cut for change in ("font: A -> B", "text: Wren -> Wrenn")]
        ['Ann Ode', '']
        """
        return ", ".join(approvers(self.by_as_cut))

    @property
    def reason(self) -> str:
        """Why it is not approved, for the workshop; empty where it is."""
        if self.by:
            return ""
        if self.withdrawn:
            return f"{self.withdrawn.who} withdrew its approval on {_day(self.withdrawn)}"
        if self.before is None:
            return "nobody has approved it"
        return f"changed since {self.before.who} approved it on {_day(self.before)} ({'; '.join(self.changed)})"

    @property
    def plainly(self) -> str:
        """How it stands, in a customer's words; empty where there is nothing to say.

        >>> SignOff((Approval("Ann Ode", "2026-03-01T09:30:00Z"),)).plainly
        'Approved by Ann Ode, 2026-03-01'
        >>> wrenn = SignOff(since={"text": "Wren"}, changed=("text: Wren -> Wrenn",), proof="2026-03-01")
        >>> wrenn.plainly, SignOff(added=True).plainly
        ('Changed since the proof of 2026-03-01: the text was “Wren”', 'New on the list')
        """
        return self.in_plain_words(None)

    def in_plain_words(self, otherwise: Sequence[str] | None) -> str:
        """How it stands, in a customer's words, where it is known what of it looks `otherwise` than it was shown.

        >>> larger = SignOff(since={}, changed=("lettering max_height: 40 -> as usual",), proof="2026-03-01")
        >>> larger.in_plain_words(["it is set larger"]), larger.in_plain_words([])
        ('Changed since the proof of 2026-03-01: it is set larger', '')
        >>> larger.plainly
        'Changed since the proof of 2026-03-01: it is set otherwise'
        """
        if self.by:
            return f"Approved by {' and '.join(f'{one.who}, {_day(one)}' for one in self.by)}"
        if self.withdrawn:
            return f"Approval withdrawn by {self.withdrawn.who}, {_day(self.withdrawn)}"
        if self.since is not None and (told := tuple(_plain_changes(self.since, self.changed, otherwise))):
            since = (
                f"{self.before.who} approved it, {_day(self.before)}" if self.before else f"the proof of {self.proof}"
            )
            return f"Changed since {since}: {', '.join(dict.fromkeys(told))}"
        return "New on the list" if self.added else ""


def _day(approval: Approval) -> str:
    return approval.at[:_DAY]


def _plain_changes(before: Look, changed: Sequence[str], otherwise: Sequence[str] | None) -> Iterator[str]:
    """Say what changed, with what it was where a customer knows that.

    Where it is known what looks `otherwise`, that is said in place of what follows from keys of the ticket; a plate of
    another text, font, design or make looks otherwise anyway.
    """
    names = {change.partition(":")[0]: change for change in changed}
    for name in (name for name in names if name in _PLAIN):
        was = before.get(name, "") if name != "mount" else ""
        yield f"the {_PLAIN[name]} was “{was}”" if was else f"the {_PLAIN[name]} is another"
    for name in (name for name in names if name in _MATERIALS):
        yield _other_material(name, before.get(name, ""), names[name].rpartition(" -> ")[2])
    rest = [name for name in names if name not in _PLAIN and name not in _MATERIALS]
    if otherwise is None:
        yield from map(_of_key, rest)
    elif rest and not names.keys() & _PLAIN.keys():
        yield from otherwise


def _of_key(name: str) -> str:
    """Say what a key of the ticket that changed may have changed to the eye.

    >>> [_of_key(name) for name in ("face width", "face inset", "lettering max_height")]
    ['the plaque is another', 'it is set otherwise', 'it is set otherwise']
    >>> _of_key("face file"), _of_key("size")
    ('the drawing of the plaque is another', 'the size is another')
    """
    if name == "size":
        return "the size is another"
    if name == "face file":
        return "the drawing of the plaque is another"
    return "the plaque is another" if name in _OUTLINE else "it is set otherwise"


def _other_material(name: str, was: str, now: str) -> str:
    """Say of what a part was to be, or that only its colour in the picture is another.

    >>> _other_material("material of blank", "oak, 10 mm", "oak, 10 mm, #d8b98a")
    'the colour of the plaque is another'
    >>> _other_material("material of blank", "oak, 10 mm, #d8b98a", "slate, 6 mm")
    'the material of the plaque was “oak, 10 mm”'
    """
    part, then = _MATERIALS[name], _without_colour(was)
    if then == _without_colour(now):
        return f"the colour of {part} is another"
    return f"the material of {part} was “{then}”" if then else f"the material of {part} is another"


def _without_colour(material: str) -> str:
    """Give the name and the thickness of a material as a look has them.

    >>> _without_colour("oak, oiled, 10 mm, #d8b98a"), _without_colour("oak, oiled, 10 mm")
    ('oak, oiled, 10 mm', 'oak, oiled, 10 mm')
    """
    told, _, colour = material.rpartition(", ")
    return told if colour.startswith("#") else material


@dataclass(frozen=True, slots=True)
class SeenLook:
    """A look that a plate was to have from some time on: its digest, itself as JSON, that time, when a proof to be
    signed was last made of it (both UTC, ISO 8601; empty without one), and what that `shown`, as JSON."""

    digest: str
    text: str
    at: str
    proof: str = ""
    shown: str = ""


@dataclass(frozen=True, slots=True)
class SignBook:
    """What a record has of approvals: by plate how it was to look, one time after another, and who approved which of
    these (digest), or withdrew that. `first` is when a proof to be signed was first made, or anything approved."""

    seen: Mapping[str, Sequence[SeenLook]] = field(default_factory=dict)
    signed: Mapping[str, Sequence[tuple[str, Approval]]] = field(default_factory=dict)
    first: str = ""
    withdrawn: Mapping[str, Sequence[tuple[str, Approval]]] = field(default_factory=dict)

    def sign_off(self, plate: str, look: Look) -> SignOff:
        """Tell how a plate stands that is to look so now."""
        now, seen, signed = look_digest(look), self.seen.get(plate, ()), self.signed.get(plate, ())
        by = tuple(approval for then, approval in signed if then == now)
        if by:
            return SignOff(by)
        kept = {one.digest: one for one in sorted(seen, key=lambda one: bool(one.shown))}
        known = [(kept[then], approval) for then, approval in signed if then in kept]
        shown = _last_shown(seen)
        last, before = known[-1] if known else (shown, None)
        since: Look | None = json.loads(last.text) if last else None
        added = bool(self.first) and shown is None and (not seen or seen[0].at > self.first)
        return SignOff(
            before=before,
            since=since,
            changed=() if since is None else changes(since, look),
            added=added,
            withdrawn=dict(self.withdrawn.get(plate, ())).get(now),  # of several the last
            proof=shown.proof[:_DAY] if shown else "",
            shown=last.shown if last else "",
        )

    def on_no_proof(self, looks: Mapping[str, Look]) -> tuple[str, ...]:
        """Give the plates that the last proof made of them shows otherwise than they are to look now, and those that
        are on none; none of a record that knows of no proof, as those of older versions.

        >>> from nameplate.record.look import as_text
        >>> wren, odo = {"text": "Wren"}, {"text": "Odo"}
        >>> book = SignBook({"001": [SeenLook(look_digest(wren), as_text(wren), "", "2026-03-01T09:30:00Z")]})
        >>> book.on_no_proof({"001": wren, "002": odo}), EMPTY_BOOK.on_no_proof({"002": odo})
        (('002',), ())
        """
        last = {plate: _last_shown(self.seen.get(plate, ())) for plate in (*self.seen, *looks)}
        if not any(last.values()):
            return ()
        shown = {plate: one.digest for plate, one in last.items() if one is not None}
        return tuple(plate for plate, look in looks.items() if shown.get(plate) != look_digest(look))


def _last_shown(seen: Sequence[SeenLook]) -> SeenLook | None:
    """Give the look that the newest proof shows."""
    return max((one for one in reversed(seen) if one.proof), key=lambda one: one.proof, default=None)


#: Of a job that has no record yet.
EMPTY_BOOK = SignBook()


def read_sign_book(store: Store) -> SignBook:
    """Read who approved what; raises RecordError."""
    looks = store.rows("SELECT *, json_type(look) AS type FROM looks ORDER BY id")
    with well_formed(store.path):
        if any(row["type"] != "object" for row in looks):
            raise ValueError("a look is a table")
        every = [(row["plate"], row["digest"], _seen(row)) for row in looks]
    now = {then: one.digest for _, then, one in every}
    rows = store.rows("SELECT * FROM approvals ORDER BY ifnull(withdrawn, ''), id")
    of = [now.get(row["look_digest"], row["look_digest"]) for row in rows]
    both = list(zip(rows, of, strict=True))
    signed = grouped((r["plate"], (d, Approval(r["who"], r["at"]))) for r, d in both if r["withdrawn"] is None)
    back = [(row, look) for row, look in both if row["withdrawn"] is not None]
    gone = grouped((r["plate"], (d, Approval(r["withdrawn_by"], r["withdrawn"]))) for r, d in back)
    seen = grouped((plate, one) for plate, _, one in every)
    times = (*(row["proof"] for row in looks), *(row["at"] for row in rows))
    return SignBook(seen, signed, min(filter(None, times), default=""), gone)


def _seen(row: TableRow) -> SeenLook:
    """Give a look that is kept, as looks are written now."""
    look, shown = json.loads(row["look"]), json.loads(row["shown"] or "{}")
    if not isinstance(shown, dict):
        raise ValueError("what a proof shows of a plate is a table")
    if (now := as_written_now(look)) == look:
        return SeenLook(row["digest"], row["look"], row["at"], row["proof"], row["shown"])
    return SeenLook(look_digest(now), as_text(now), row["at"], row["proof"], row["shown"])


def approve(store: Store, looks: Mapping[str, Look], *, who: str, at: str) -> tuple[str, ...]:
    """Write down, within a transaction, that somebody approved some plates as they are to look; gives the plates that
    this person had not approved so already. Raises RecordError."""
    rows = store.rows("SELECT plate, look_digest FROM approvals WHERE who = ? AND withdrawn IS NULL", (who,))
    done = {(row["plate"], row["look_digest"]) for row in rows}
    new = {plate: look for plate, look in looks.items() if (plate, look_digest(look)) not in done}
    store.change_each(
        "INSERT INTO approvals (plate, text_digest, look_digest, who, at) VALUES (?, ?, ?, ?, ?)",
        [(plate, digest(look.get("text", "").encode()), look_digest(look), who, at) for plate, look in new.items()],
    )
    return tuple(new)


def withdraw(store: Store, plates: Iterable[str], *, who: str, at: str) -> tuple[str, ...]:
    """Write down, within a transaction, that somebody withdrew what they had approved of some plates; gives those of
    them that this person had approved. What others approved stays. Raises RecordError."""
    rows = store.rows("SELECT plate FROM approvals WHERE who = ? AND withdrawn IS NULL", (who,))
    standing = {row["plate"] for row in rows}
    had = tuple(plate for plate in plates if plate in standing)
    store.change_each(
        "UPDATE approvals SET withdrawn = ?, withdrawn_by = ? WHERE plate = ? AND who = ? AND withdrawn IS NULL",
        [(at, who, plate, who) for plate in had],
    )
    return had
