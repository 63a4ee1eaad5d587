"""`consentpack print-set`."""

from __future__ import annotations

from pathlib import Path

import click

from consentpack.cli.edge import clinic_option, guarded, opened


@click.command("print-set")
@click.argument("plan")
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--version", type=click.IntRange(min=1), help="Of what was given; the newest without it.")
@click.option("--large-print", is_flag=True, help="The papers in large print.")
@clinic_option
@guarded
def print_set(plan: str, out: Path, version: int | None, large_print: bool, clinic_dir: Path | None) -> None:
    """Put all papers of a PLAN's pack into the one PDF OUT, in the order in which they are used.

    PLAN is its reference. The pack must have been made or given with --pdf. Each paper begins on a new
    sheet, so that both sides can be printed.

    Example: consentpack print-set HS-P-101 all.pdf
    """
    from consentpack import pipeline  # noqa: PLC0415

    place = opened(clinic_dir)
    pipeline.save_print_set(place, plan, out, version=version or 0, large_print=large_print)
    click.echo(str(out))
