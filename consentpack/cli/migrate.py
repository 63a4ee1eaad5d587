"""`consentpack migrate`."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

import click

from consentpack.cli.edge import clinic_option, guarded
from consentpack.cli.sheet_answers import pairs_of


@click.command()
@click.option(
    "--say",
    "said",
    multiple=True,
    metavar="[PLAN:]KEY=VALUE",
    help="What a plan must say now and does not: of one plan, by its name or reference, or of all.",
)
@click.option("--dry-run", is_flag=True, help="Say what would change, and change nothing.")
@clinic_option
@guarded
def migrate(said: tuple[str, ...], dry_run: bool, clinic_dir: Path | None) -> None:
    """Bring a clinic folder that an older consentpack made to what this one reads.

    Settings, plans and modules of your own are changed where a key is called otherwise now, and the register
    is brought forward. Each file is kept as it was. What only a clinician knows is asked and never guessed:
    say it with --say, as often as is needed. A folder of today is left as it is.

    Example: consentpack migrate --say p-104:indication=boxcar --say indication=rolling
    """
    from consentpack import pipeline  # noqa: PLC0415
    from consentpack.errors import PlanError  # noqa: PLC0415

    answers = pairs_of(said, "--say", "'KEY=VALUE', such as --say 'indication=rolling'", save=True)
    done = pipeline.migrate(clinic_dir or Path.cwd(), said=answers, now=datetime.now(), dry_run=dry_run)
    for change in done.changes:
        click.echo(str(change))
    if done.before and dry_run:
        click.echo("Nothing was changed, as you asked.")
    elif done.before:
        click.echo(f"The files as they were are in {done.before}.")
    elif not done.left:
        click.echo("Nothing here is called otherwise now: nothing was changed.")
    for problem in done.left:
        click.echo(str(problem), err=True)
    if done.left:
        sys.exit(PlanError.exit_code)
