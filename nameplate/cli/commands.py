"""The command line: parses, calls the pipeline, prints. No geometry.

Results go to stdout, messages and progress to stderr. Exit codes: 0 all made; 1 some rows could not be made, the rest
are; 2 ticket, roster or usage; 3 a cut file cannot be trusted and was left out; 4 a fault of the program; 130
interrupted; 129 and 143 ended by SIGHUP and SIGTERM.
"""

from __future__ import annotations

import logging
import signal
import sys
from pathlib import Path
from typing import Any, NoReturn

import click

from nameplate import __version__
from nameplate.cli.burn_times import time
from nameplate.cli.coupon import coupon
from nameplate.cli.marking import mark
from nameplate.cli.record_data import record
from nameplate.cli.signing import approve, proof, status
from nameplate.cli.source import FILE, NOTES, PLACE, TICKET, JobCall, Left, job_options, must_be_printed, wish_of
from nameplate.errors import EXIT_FAULT, EXIT_INSPECTION, EXIT_OK, EXIT_SOME_REFUSED, NameplateError
from nameplate.system.interrupts import Terminated
from nameplate.system.process import begin, lost_output
from nameplate.system.reading import shown

EXIT_INTERRUPTED = 130

#: Problems of a ticket or a list that are printed: correcting these first shows the others.
MOST_PROBLEMS = 100


class _Commands(click.Group):
    """Commands in the order of the work, errors as sentences with their exit code, never a traceback."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    def main(self, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401 - as click has it
        """Run in this process; a wish to stop outside any command ends it, too."""
        begin()
        try:
            return super().main(*args, **kwargs)
        except Terminated as ended:
            sys.exit(ended.exit_code)
        finally:
            if lost := lost_output():
                click.echo(f"warning: what was to be printed could not all be written: {lost}", err=True)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as error:
            _refuse(error, ctx)

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - whatever the command gives
        left = ctx.obj = Left()
        try:
            return super().invoke(ctx)
        except NameplateError as error:
            for problem in error.problems[:MOST_PROBLEMS]:
                click.echo(f"error: {problem}", err=True)
            if len(error.problems) > MOST_PROBLEMS:
                click.echo(f"      and {len(error.problems) - MOST_PROBLEMS} more", err=True)
            ctx.exit(error.exit_code)
        except KeyboardInterrupt:
            click.echo(f"interrupted; {left.tell()}", err=True)
            ctx.exit(EXIT_INTERRUPTED)
        except Terminated as ended:
            click.echo(f"ended by {signal.Signals(ended.signum).name}; {left.tell()}", err=True)
            ctx.exit(ended.exit_code)
        except click.UsageError as error:
            _refuse(error, ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise  # click's own: the end
        except Exception as error:
            _own_up(error, left, debug=bool(ctx.params.get("debug")))
            ctx.exit(EXIT_FAULT)


def _refuse(error: click.UsageError, ctx: click.Context) -> NoReturn:
    """End for a wrong call with one line; where nothing was said at all, with the help."""
    if isinstance(error, click.exceptions.NoArgsIsHelpError):
        raise error
    click.echo(f"error: {_in_a_line(error)}", err=True)
    ctx.exit(error.exit_code)


def _in_a_line(error: click.UsageError) -> str:
    """Say what is wrong with how a command was called, and which command says how it is."""
    param = error.param if isinstance(error, click.BadParameter) else None
    about_path = param is not None and isinstance(param.type, click.Path) and bool(error.message)
    said = " ".join((error.message if about_path else error.format_message()).split()).removesuffix(".")
    command = "" if error.ctx is None else error.ctx.command_path.partition(" ")[2]
    told = said if said.endswith("?") else f"{said};"
    return " ".join(f"{told} nameplate {command} --help says how it is called".split())


def _own_up(error: Exception, left: Left, *, debug: bool) -> None:
    """Say that the program is at fault, what it left, and what to report."""
    from nameplate.cli.crash_report import keep_report, report

    state = "no out folder was changed" if left.where is None else left.tell()
    click.echo(
        f"error: nameplate itself has a fault ({type(error).__name__}: {error}); your job is not to blame, and {state}",
        err=True,
    )
    kept = None if debug else keep_report(error)
    if kept is None:
        click.echo(f"please report this to its makers:\n{report(error, sys.argv[1:])}", err=True)
    else:
        click.echo(f"please report it to its makers with {kept}, which says where it happened", err=True)


def _put_back(out: Path) -> None:
    """Put an out folder back that a dead run had moved aside, and say so."""
    from nameplate.job.out_folder import put_back

    for sentence in put_back(out):
        click.echo(f"note: {sentence}", err=True)


class _EarlierRun(click.Path):
    """An out folder that must be there; one that a dead run had moved aside is put back first."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ANN401
        _put_back(Path(value))
        return super().convert(value, param, ctx)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
@click.option("--timing", is_flag=True, help="Say how long each stage takes.")
@click.option("--debug", is_flag=True, help="Show where a fault of the program itself happened.")
def main(*, timing: bool, debug: bool) -> None:
    """Turn a list of names into laser-cut lettering, locating jigs and cut-ready sheets.

    \b
    Exit codes: 0 all made; 1 some rows could not be made, the rest are;
    2 ticket, roster or usage; 3 a cut file cannot be trusted and was left out;
    4 a fault of the program itself; 130 interrupted; 129 and 143 ended
    by SIGHUP and SIGTERM. What ends early says what became of the files.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    if timing or debug:
        ours = logging.StreamHandler()
        ours.addFilter(logging.Filter("nameplate"))  # what libraries log is not for users
        logging.basicConfig(format="%(message)s", handlers=[ours])
        logging.getLogger("nameplate.timing").setLevel(logging.INFO if timing else logging.WARNING)
        logging.getLogger("nameplate").setLevel(logging.DEBUG if debug else logging.WARNING)


@main.command()
@click.argument("folder", type=PLACE, required=False)
@click.option("--shop", is_flag=True, help="Write a workshop file instead: into FOLDER, or as your own for all jobs.")
def new(folder: Path | None, *, shop: bool) -> None:
    """Write a first job into FOLDER: a short job ticket, and a list of names to put yours into."""
    from nameplate.ticket.starter import write_starter, write_workshop
    from nameplate.ticket.workshop import own_workshop

    own = own_workshop()
    if shop:
        click.echo(write_workshop(folder or own.parent))
        return
    if folder is None:
        raise click.UsageError("Missing argument 'FOLDER'.")
    for path in write_starter(folder, materials=not own.is_file()):
        click.echo(path)
    if own.is_file():
        click.echo(f"note: materials and stock are those of {shown(own)}", err=True)


@main.command()
@click.argument("key", required=False, default="")
def explain(key: str) -> None:
    """Say what a KEY of a job ticket means, what it accepts, its default and an example; without KEY, of all."""
    from nameplate.roster.headings import meaning_of
    from nameplate.ticket.explain import explain as in_words

    click.echo(in_words(key, column=meaning_of(key)))
    must_be_printed()


@main.command("open")
@click.argument("folder", type=PLACE, default=Path(), required=False)
@click.option(
    "--no-browser", is_flag=True, help="Only show the address; open it in a browser on this machine yourself."
)
@click.pass_obj
def open_page(left: Left, folder: Path, *, no_browser: bool) -> None:
    """Open the job in FOLDER (this one if left out) in the browser: see, correct, approve, make and tick its plates.

    The page is for this machine alone. It ends with its Close button or with Ctrl-C.
    """
    from nameplate.page.opened import open_job
    from nameplate.page.serving import serve

    def say(address: str) -> None:
        click.echo(address)
        click.echo("the page closes with its Close button, or with Ctrl-C here", err=True)

    job = open_job(folder)
    left.ask = "what was saved on the page is in the files of the job"
    try:
        serve(job, browse=not no_browser, say=say)
    except KeyboardInterrupt:
        click.echo("closed", err=True)


main.add_command(proof)
main.add_command(approve)


@main.command()
@job_options
@click.option("-o", "--out", type=PLACE, default=Path("out"), show_default=True)
@click.option(
    "--layout", "layout_file", type=FILE, help="Use the layout.json of an earlier run instead of nesting anew."
)
@NOTES
@click.option(
    "--again",
    metavar="PLATES",
    default="",
    help="Make plates anew that were cut: 017,020-025, or all. Good plaques without a name stay.",
)
@click.option("--only", metavar="PLATES", default="", help="Make only these plates now: 017,020-025.")
@click.pass_obj
def make(
    left: Left, job: JobCall, out: Path, layout_file: Path | None, *, every_note: bool, again: str, only: str
) -> None:
    """Make cut files, jigs and paperwork from SOURCE: a job ticket (.toml) or a list of names (.csv, .xlsx)."""
    from nameplate.cli import screen
    from nameplate.job.desk import desk_of
    from nameplate.job.pools import make_pool
    from nameplate.job.prepare import all_made
    from nameplate.job.progress import say_start_up
    from nameplate.job.run import make_job
    from nameplate.record.clock import today
    from nameplate.ticket.checks import stale_kerfs, unmeasured_kerfs

    say_start_up()
    _put_back(out)
    ticket = job.ticket()
    told = screen.warn_of_sides(ticket)
    with (
        desk_of(job.record, wish_of(again, only), say=screen.warn) as desk,
        make_pool(*job.hands, warn=screen.warn) as pool,
        screen.progress() as progress,
    ):
        batch, _ = make_job(
            ticket, out, progress=progress, workers=pool, layout_file=layout_file, placed=left.placed, desk=desk
        )
    left.say()
    cut = [sheet.material for sheet in batch.layout.uncut.sheets] if batch.before.is_first_run else []
    for kerfs in filter(None, (stale_kerfs(ticket, today()), unmeasured_kerfs(ticket, cut))):
        click.echo(f"note: {kerfs}", err=True)
    new = [finding for finding in batch.findings if finding.message not in told]
    screen.show_findings(new, every=every_note, where=f"{out / 'notes.html'}, or --notes")
    screen.show_result(batch, out)
    if batch.left_out:
        sys.exit(EXIT_INSPECTION)
    sys.exit(EXIT_OK if all_made(batch) else EXIT_SOME_REFUSED)


@main.command()
@job_options
@click.option("--json", "as_json", is_flag=True, help="Print the figures as JSON.")
@click.option("--exact", is_flag=True, help="Go by the finished lettering instead of a draft; takes longer.")
@NOTES
@click.option("--only", metavar="PLATES", default="", help="Only for these plates: 017,020-025.")
def estimate(job: JobCall, *, as_json: bool, exact: bool, every_note: bool, only: str) -> None:
    """Say how many sheets to buy for SOURCE, and what they cost, without writing anything."""
    from nameplate.cli import screen
    from nameplate.job.pools import HIRED_AHEAD, draft_ready, make_pool
    from nameplate.pool.processes import get_ready

    ready = get_ready if exact else draft_ready
    with make_pool(*job.hands, ready=ready, warn=screen.warn) as pool:
        pool.hire(HIRED_AHEAD)  # they load while this process does
        from nameplate.cli.estimate_table import show_answer
        from nameplate.job.desk import before_of
        from nameplate.job.estimate import work_out
        from nameplate.job.prepare import all_made

        ticket = job.ticket()
        told = screen.warn_of_sides(ticket)
        with screen.progress() as progress:
            before = before_of(job.record, wish_of("", only))
            answer = work_out(ticket, exact=exact, progress=progress, workers=pool, before=before)
    new = [finding for finding in answer.batch.findings if finding.message not in told]
    screen.show_findings(new, every=every_note, where="with --notes")
    show_answer(answer, as_json=as_json)
    must_be_printed()
    sys.exit(EXIT_OK if all_made(answer.batch) else EXIT_SOME_REFUSED)


main.add_command(coupon)
main.add_command(time)
main.add_command(mark)
main.add_command(status)
main.add_command(record)


@main.command()
@TICKET
@click.option("-o", "--out", type=PLACE, default=Path("wall"), show_default=True)
@NOTES
@click.pass_obj
def wall(left: Left, ticket: Path, out: Path, *, every_note: bool) -> None:
    """Make the hanging plan of TICKET alone, without cut files of plates: where each hangs, where to drill."""
    from nameplate.cli import screen
    from nameplate.errors import TicketError
    from nameplate.findings import counted, has_errors
    from nameplate.job.desk import before_of
    from nameplate.job.wall_plan import leave_wall

    if ticket.suffix.lower() != ".toml":
        raise TicketError(f"{shown(ticket)} is no job ticket; the wall is said in one (.toml), below [wall]")
    _put_back(out)
    job = JobCall(ticket)
    plan, findings = leave_wall(job.ticket(), out, before=before_of(job.record), placed=left.placed)
    left.say()
    screen.show_findings(findings, every=every_note, where="with --notes")
    click.echo(f"{counted(len(plan.hangings), 'plate')} on {len(plan.grid.places)} places; written to {out}")
    sys.exit(EXIT_SOME_REFUSED if has_errors(findings) else EXIT_OK)


@main.command()
@click.argument("out", type=_EarlierRun(exists=True, file_okay=False, path_type=Path))
def inspect(out: Path) -> None:
    """Read the files of an earlier run in OUT back, simulate burning them, and say what was changed since.

    The seal that it prints at the end stands for every byte of the run: note it down, and a folder with another seal
    is another run's, or was rewritten.
    """
    from nameplate.cli import screen
    from nameplate.findings import counted
    from nameplate.job.inspect_folder import look_over

    report = look_over(out)
    findings = report.findings
    screen.show_findings(findings)
    count = counted(len(findings), "fault")
    told = f"{count}; cut nothing from a file that is named here, nameplate make writes it anew"
    click.echo(f"{out}: {told if findings else 'every file is as the run left it, and cuts what it should'}")
    if report.seal is not None:
        click.echo(f"seal {report.seal[:16]}: note it down; a folder changed as a whole has another")
    sys.exit(EXIT_INSPECTION if findings else EXIT_OK)


@main.command()
@click.option(
    "--web",
    default="1.5",
    show_default=True,
    metavar="MM",
    help="Least width of a stroke (min_web) to judge the fonts by.",
)
def fonts(web: str) -> None:
    """List the bundled fonts: licence, letters, and the smallest capitals that hold the minimum web.

    Those that can be pierced are found by piercing "Adele" in each font, which takes some seconds.
    """
    from nameplate.cli import screen
    from nameplate.ticket.keys import read_value
    from nameplate.ticket.words import show

    try:
        least = read_value(web, {"kind": "length", "above": 0, "most": 50}, Path())
    except ValueError as error:
        raise click.BadParameter(f"{show(web)}: {error}", param_hint="--web") from error
    screen.show_fonts(least)
    must_be_printed()
