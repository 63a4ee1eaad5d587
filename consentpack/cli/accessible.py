"""`consentpack accessible`."""

from __future__ import annotations

from dataclasses import asdict
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from consentpack.cli.edge import counted, guarded, json_option, print_json
from consentpack.errors import AccessibilityError

if TYPE_CHECKING:
    from consentpack.accessibility import Finding

_SHOWN = 3
"""Places of each rule, unless all are asked for: an old form breaks one rule in every paragraph."""


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--large-print", is_flag=True, help="Ask for text of 16 points or more, not 12.")
@click.option("--all", "show_all", is_flag=True, help="Show every place, not the first three of each rule.")
@json_option
@guarded
def accessible(files: tuple[Path, ...], large_print: bool, show_all: bool, as_json: bool) -> None:
    """Check Word files by the rules for accessible documents that a machine can check.

    FILES are any .docx, from here or elsewhere. Exits with 20 when something is found.

    Example: consentpack accessible old-form.docx
    """
    from consentpack.accessibility import check_file  # noqa: PLC0415 - keeps --help fast

    found = {str(path): check_file(path, shown=str(path), large_print=large_print) for path in files}
    if as_json:
        print_json([{"file": name, "findings": [asdict(f) for f in each]} for name, each in found.items()])
    for name, findings in {}.items() if as_json else found.items():
        _print(name, findings, most=len(findings) if show_all else _SHOWN)
    if any(found.values()):
        raise SystemExit(AccessibilityError.exit_code)


def _print(name: str, findings: tuple[Finding, ...], *, most: int) -> None:
    """Findings by rule, each with its place and what to do."""
    from consentpack.accessibility import RULES  # noqa: PLC0415

    if not findings:
        click.echo(f"{name}: nothing found by {len(RULES)} rules.")
        return
    broken = len({finding.rule for finding in findings})
    click.echo(
        f"{name}: {counted(len(findings), 'finding', 'findings')} by {counted(broken, 'rule', 'rules')}"
    )
    for rule, group in groupby(findings, key=lambda finding: finding.rule):
        places = list(group)
        click.echo(f"\n  {rule}: {RULES[rule].asks}\n  source: {RULES[rule].source}")
        for fix, same in groupby(places[:most], key=lambda finding: finding.fix):
            for finding in same:
                click.echo(f"    {finding.where}: {finding.what}")
            click.echo(f"      {fix}")
        if len(places) > most:
            click.echo(f"    … and {len(places) - most} more; --all shows them")
