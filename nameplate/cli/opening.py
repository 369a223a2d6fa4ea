"""`nameplate open`: the job in the browser."""

from __future__ import annotations

from pathlib import Path

import click

from nameplate.cli.source import PLACE, Left


@click.command("open")
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

    job = open_job(folder)
    left.ask = "what was saved on the page is in the files of the job"
    try:
        serve(job, browse=not no_browser, say=_say)
    except KeyboardInterrupt:
        click.echo("closed", err=True)


def _say(address: str) -> None:
    click.echo(address)
    click.echo("the page closes with its Close button, or with Ctrl-C here", err=True)
