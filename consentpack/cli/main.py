"""The group of commands. Each command's module is imported only when it is called, so that --help
and --version stay fast."""

from __future__ import annotations

import gc
import importlib
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from consentpack import __version__
from consentpack.cli.edge import Edge, NobodyReads
from consentpack.cli.fault import REPORT_VARIABLE

COMMANDS: Mapping[str, tuple[str, str]] = {
    "demo": ("consentpack.cli.demo:demo", "Make an invented clinic and its packs, to look around."),
    "start": ("consentpack.cli.start:start", "Make the folder of your clinic, and a first plan."),
    "desk": ("consentpack.cli.desk:desk", "Open the desk: all of this as pages in your browser."),
    "worklist": ("consentpack.cli.worklist:worklist", "List what needs somebody, the worst first."),
    "build": ("consentpack.cli.build:build", "Make the packs of plans."),
    "give": ("consentpack.cli.give:give", "Give a pack: freeze it, and enter it in the ledger."),
    "print-set": ("consentpack.cli.print_set:print_set", "Put all papers of a pack into one PDF to print."),
    "mark": ("consentpack.cli.give:mark", "Enter what came of it: signed, refused, treated …"),
    "verify": ("consentpack.cli.verify:verify", "Say whether a paper is exactly what was given."),
    "issued": ("consentpack.cli.issued:issued", "List the packs that were given."),
    "stale": ("consentpack.cli.issued:stale", "List given packs that no longer hold."),
    "recall": ("consentpack.cli.issued:recall", "List who was given a certain text."),
    "story": ("consentpack.cli.issued:story", "Tell what was said, done and seen of one plan."),
    "ledger": ("consentpack.cli.ledger:ledger", "Look at the ledger's head, and sign it."),
    "audit": ("consentpack.cli.audit:audit", "Import the audit and look at its figures."),
    "talk-back": ("consentpack.cli.talk_back:talk_back", "Enter what people could say back, and count it."),
    "library": ("consentpack.cli.library:library", "Look at, check and approve the modules."),
    "translate": ("consentpack.cli.translate:translate", "Bring the texts into other languages."),
    "score": ("consentpack.cli.score:score", "Show how hard the documents are to read."),
    "reader-test": ("consentpack.cli.reader_test:reader_test", "Test a text with readers."),
    "backup": ("consentpack.cli.backup:backup", "Save the clinic folder and its register into one file."),
    "restore": ("consentpack.cli.restore:restore", "Bring a clinic folder back from a backup."),
    "migrate": ("consentpack.cli.migrate:migrate", "Bring a folder of an older consentpack up to date."),
    "check": ("consentpack.cli.check:check", "Check the whole clinic folder."),
    "accessible": ("consentpack.cli.accessible:accessible", "Check whether Word files are accessible."),
}
"""Command -> where it is, and its line in the help."""


GARBAGE_AFTER = 200_000
"""New objects after which Python looks for garbage (its own habit is 700)."""


class _Lazy(click.Group):
    def main(self, args: Sequence[str] | None = None, *rest: Any, **extra: Any) -> Any:
        """As click does it, but whatever goes wrong ends at the edge as a sentence and an exit code."""
        given = list(sys.argv[1:] if args is None else args)
        edge = Edge(self, given)
        run = super().main
        sys.exit(edge.run(lambda: run(given, *rest, **{**extra, "standalone_mode": False, "obj": edge})))

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            raise NobodyReads from None

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        module, _, attribute = COMMANDS[name][0].partition(":")
        command: click.Command = getattr(importlib.import_module(module), attribute)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="consentpack")
@click.option(
    "--fault-report",
    type=click.Path(path_type=Path, dir_okay=False),
    envvar=REPORT_VARIABLE,
    help="After a fault of the program: keep in this file where in the program it was, and nothing of yours.",
)
@click.option(
    "--clinic",
    "clinic_dir",
    type=click.Path(path_type=Path),
    help="The clinic folder. It may stand here or after the command.",
)
@click.pass_context
def main(ctx: click.Context, fault_report: Path | None, clinic_dir: Path | None) -> None:
    """Consent and aftercare packs whose figures come from the clinic's own audit.

    The commands work inside a clinic folder (one that holds clinic.toml), or with --clinic DIR.

    Example: consentpack demo demo-clinic
    """
    # a command lives for a second: looking for garbage among all that is being loaded is a tenth of it
    gc.set_threshold(GARBAGE_AFTER)
    edge = ctx.ensure_object(Edge)
    edge.report, edge.clinic_dir = fault_report, clinic_dir
    command = main.get_command(ctx, ctx.invoked_subcommand or "")
    takes = command is None or isinstance(command, click.Group) or _takes_clinic(command)
    if clinic_dir and not takes:
        raise click.UsageError(f"'{ctx.invoked_subcommand}' takes no --clinic.")


def _takes_clinic(command: click.Command) -> bool:
    return any(option.name == "clinic_dir" for option in command.params)
