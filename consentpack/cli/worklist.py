"""`consentpack worklist`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from consentpack.cli.edge import (
    clinic_option,
    counted,
    guarded,
    json_option,
    opened,
    print_json,
    today_option,
)


@click.command()
@today_option
@clinic_option
@json_option
@guarded
def worklist(today: datetime, clinic_dir: Path | None, as_json: bool) -> None:
    """List what needs somebody, the worst first: what the first page of the desk shows.

    Texts with mistakes, approvals that end, packs that no longer hold, signals of the audit, who is due,
    languages, targets and backups. Each is named by what it is about, which is where it is mended.

    Example: consentpack worklist
    """
    from consentpack import pipeline  # noqa: PLC0415

    found = pipeline.needing(opened(clinic_dir), today.date())
    if as_json:
        print_json([vars(need) | {"urgency": pipeline.HEADINGS[need.urgency][0].lower()} for need in found])
        return
    for group in pipeline.grouped(found):
        click.echo(f"{group.heading}{': ' if group.hint else ''}{group.hint}")
        for need in (*group.shown, *group.folded):
            click.echo(f"  {need.what}")
    click.echo(f"{counted(len(found), 'thing needs', 'things need')} somebody.")
