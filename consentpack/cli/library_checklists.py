"""`consentpack library check --checklists`."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import opened
from consentpack.errors import ContentError

if TYPE_CHECKING:
    from consentpack.model import ItemResult


def print_checklists(clinic_dir: Path | None) -> None:
    """Every item of every list, plan by plan; exit code 10 when one that a program can check fails."""
    from consentpack import pipeline  # noqa: PLC0415

    if clinic_dir:
        reports = pipeline.checklists_of_plans(opened(clinic_dir))
    else:
        reports = pipeline.checklists_of_library(pipeline.open_library(None))
    total: Counter[str] = Counter()
    for name, results in reports:
        click.echo(f"{name}")
        _print_results(results)
        total.update(each.status for each in results)
    counts = ", ".join(f"{status}: {number}" for status, number in total.items())
    click.echo(f"All together: {counts}.")
    if total["fails"]:
        raise SystemExit(ContentError.exit_code)


def _print_results(results: tuple[ItemResult, ...]) -> None:
    checklist = ""
    for each in results:
        if each.checklist != checklist:
            checklist = each.checklist
            click.echo(f"  {each.title}")
        by = f", by {each.held_by}" if each.held_by else ""
        click.echo(f"    {each.item}: {each.status.upper() if each.status == 'fails' else each.status}{by}")
        click.echo(f"      {each.says}. {each.source}")
        click.echo(f"      {each.why}")
