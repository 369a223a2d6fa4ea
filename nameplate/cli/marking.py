"""`nameplate mark`: says what happened to sheets and plates. Shows it, asks where it is much, and writes it down."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from nameplate.cli.source import TICKET, kept_ticket, record_there, together
from nameplate.errors import RecordError
from nameplate.record.states import kinds_in_words

if TYPE_CHECKING:
    from nameplate.record.marks import Change
    from nameplate.record.store import Store

#: Sheets that a mark may touch before it is shown and asked about.
UNASKED = 1

#: Lines that are shown of what is about to be marked.
LINES = 40


@click.group()
def mark() -> None:
    """Say what happened: sheets were cut; plates were spoiled, fitted or hung. The next make goes by it."""


_options = together(
    TICKET,
    click.argument("things", nargs=-1),
    click.option("--by", metavar="WHO", help="Who says so; your login name if left out."),
    click.option("--yes", is_flag=True, help="Do not ask, however much is marked."),
)

#: The parts that a plate may have, as they are called here and on paper.
_PARTS = kinds_in_words(("lettering", "backing", "blank", "template"))

_pieces = together(
    click.option("--copy", type=click.IntRange(1), help="Only this copy, where there are several."),
    click.option("--part", metavar="PART", default="", help=f"Only this part: {_PARTS}."),
)


def _all(which: str) -> Callable[[Any], Any]:
    return click.option("--all", "every", is_flag=True, help=which)


def _command(state: str, about: str, *options: Callable[[Any], Any]) -> None:
    """Add the command that marks things as being in a state."""

    @mark.command(state, help=about)
    @together(_options, *options)
    def _(ticket: Path, **asked: Any) -> None:  # noqa: ANN401 - as the options say
        _mark(ticket, state, **asked)


_command(
    "cut",
    "Mark sheets as cut, by the names of their files: lettering-01 template-01. blank-01 is also plaque-01.",
    _all("All sheets that are not cut yet."),
)
_command(
    "spoiled",
    "Mark pieces as spoiled, so that they are cut again: plates 017 023-025, or all of a sheet. The name, unless "
    "--part says otherwise.",
    _pieces,
)
_command(
    "fitted", "Mark plates as fitted: names that stand on their plaques.", _pieces, _all("Everything that is cut.")
)
_command("hung", "Mark plates as hung.", _pieces, _all("Everything that is cut or fitted."))


@mark.command()
@TICKET
@click.option("--yes", is_flag=True, help="Do not ask.")
def undo(ticket: Path, *, yes: bool) -> None:
    """Take the last mark back; once more, and the one before it."""
    from nameplate.cli.screen import warn
    from nameplate.record.marks import last_mark
    from nameplate.record.marks import undo as take_back
    from nameplate.record.runs import settled_writing

    with settled_writing(record_there(ticket), say=warn) as store:
        last = last_mark(store)
        if last is None:
            raise RecordError("there is no mark that could be undone")
        told = f"{last.what} (marked by {last.who}, {last.at})"
        if not yes and not _agreed(f"Undo {told}?"):
            return
        with store.transaction():
            take_back(store, last)
    click.echo(f"undone: {told}")


def _mark(
    ticket: Path,
    state: str,
    *,
    things: Sequence[str],
    by: str | None,
    yes: bool,
    every: bool = False,
    part: str = "",
    copy: int | None = None,
) -> None:
    from nameplate.cli.screen import warn
    from nameplate.findings import named
    from nameplate.record.clock import user
    from nameplate.record.marks import Wanted, in_words, passed_over, steps_of, take
    from nameplate.record.runs import settled_writing

    if bool(things) == every:
        raise click.UsageError("name what is to be marked" if not every else "name things, or say --all")
    wanted = Wanted(state, tuple(things), every, part, copy)
    with settled_writing(record_there(ticket), say=warn) as store:
        steps = steps_of(store, wanted)
        if not steps:
            click.echo(f"nothing changes: all of it is marked as {state} already")
            return
        told, over = in_words(steps, state), passed_over(store, steps)
        stale = _say_stale(ticket, store, steps) if state == "cut" else False
        if not yes and (stale or len({step.sheet for step in steps}) > UNASKED):
            _show(steps)
            if not _agreed(f"{told}?"):
                return
        with store.transaction():
            if steps_of(store, wanted) != steps:
                raise RecordError("another command changed the record meanwhile; nothing was marked, try again")
            take(store, steps, told, who=user(by))
    click.echo(f"marked: {told}")
    if over:
        click.echo(f"note: {named(over)} {'is' if len(over) == 1 else 'are'} not marked as cut", err=True)


def _say_stale(ticket: Path, store: Store, steps: Sequence[Change]) -> bool:
    """Say which of the sheets about to be marked were planned before something changed; tell whether any was.

    A list that cannot be read keeps nobody from marking what was cut.
    """
    from nameplate.cli.screen import warn
    from nameplate.errors import NameplateError
    from nameplate.job.stale_sheets import in_sentence, stale_of

    try:
        stale = stale_of(kept_ticket(ticket, None), store)
    except NameplateError as error:
        warn(f"whether the sheets are still as the list has it cannot be told: {error}")
        return False
    found = [sheet for sheet in dict.fromkeys(step.sheet for step in steps) if sheet in stale]
    for sheet in found:
        warn(in_sentence(sheet, stale[sheet]))
    return bool(found)


def _show(steps: Sequence[Change]) -> None:
    sheets = [f"  {step.sheet}" for step in steps if step.table == "sheets"]
    lines = sheets or [f"  {step.plate} {step.piece} on {step.sheet}" for step in steps]
    for line in lines[:LINES]:
        click.echo(line, err=True)
    if len(lines) > LINES:
        click.echo(f"  and {len(lines) - LINES} more", err=True)


def _agreed(question: str) -> bool:
    """Ask; without an answer nothing is marked."""
    try:
        agreed = click.confirm(question, err=True)
    except click.Abort as ended:
        raise RecordError("nobody answered, so nothing was marked; say --yes where nobody is asked") from ended
    if not agreed:
        click.echo("nothing was marked", err=True)
    return agreed
