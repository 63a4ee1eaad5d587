"""`consentpack desk`."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import click

from consentpack.cli.edge import clinic_option, guarded, start_of


@click.command()
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, help="Of this computer; any free one without it."
)
@click.option("--no-browser", is_flag=True, help="Print the link, and open nothing.")
@clinic_option
@guarded
def desk(port: int, no_browser: bool, clinic_dir: Path | None) -> None:
    """Open the desk: everything these commands do, as pages in your browser.

    It answers this computer alone. Its link works once, in one browser. Ctrl-C stops it.

    Example: consentpack desk
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.desk.serving import open_desk  # noqa: PLC0415

    folder = pipeline.find_clinic(start_of(clinic_dir))
    opened = open_desk(folder, port=port, say=lambda line: click.echo(line, err=True))
    click.echo(opened.link)
    click.echo("The desk is open, for this computer alone. Ctrl-C stops it.", err=True)
    if not no_browser:
        webbrowser.open(opened.link)
    try:
        opened.run()
    finally:
        opened.close()
