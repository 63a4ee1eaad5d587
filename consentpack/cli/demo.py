"""`consentpack demo`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from consentpack.cli.edge import guarded, progress


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=Path("demo-clinic"))
@click.option("--field", default="", help="A field of medicine beside the usual one, by its name.")
@guarded
def demo(folder: Path, field: str) -> None:
    """Copy an invented clinic to FOLDER, import its audit and build its packs.

    Clinic, people and figures are invented.

    Example: consentpack demo demo-clinic
    """
    from consentpack import pipeline  # noqa: PLC0415 - keeps --help fast

    progress(f"copying the invented clinic to {folder}")
    place = pipeline.open_workplace(pipeline.copy_demo(folder, field))
    progress("importing its audit")
    result, aside = pipeline.import_audit(place, folder / "audit.csv", now=datetime.now(), by="demo")
    click.echo(f"{result.added} treatments imported; {result.rows_set_aside} rows set aside.")
    if aside:
        click.echo(f"  Why each row was set aside: {aside}")
    for plan in pipeline.plan_files(place):
        progress(f"building {plan.name}")
        pack, target = pipeline.build(place, plan)
        mark = "draft, not approved for patients" if pack.draft else "approved"
        click.echo(f"{target}: {', '.join(name for name in pack.files if name.endswith('.docx'))} ({mark})")
    click.echo(f"Everything here is invented. Next: cd {folder} && consentpack score")
