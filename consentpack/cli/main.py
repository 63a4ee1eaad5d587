"""The group of commands. Each command's module is imported only when it is called, so that --help
and --version stay fast."""

from __future__ import annotations

import gc
import importlib
from collections.abc import Mapping

import click

from consentpack import __version__

COMMANDS: Mapping[str, tuple[str, str]] = {
    "demo": ("consentpack.cli.demo:demo", "Make an invented clinic and its packs, to look around."),
    "build": ("consentpack.cli.build:build", "Make the pack of one plan."),
    "audit": ("consentpack.cli.audit:audit", "Import the audit and look at its figures."),
    "library": ("consentpack.cli.library:library", "Look at, check and approve the modules."),
    "translate": ("consentpack.cli.translate:translate", "Bring the texts into other languages."),
    "score": ("consentpack.cli.score:score", "Show how hard the documents are to read."),
    "accessible": ("consentpack.cli.accessible:accessible", "Check whether Word files are accessible."),
}
"""Command -> where it is, and its line in the help."""


GARBAGE_AFTER = 50_000
"""New objects after which Python looks for garbage (its own habit is 700)."""


class _Lazy(click.Group):
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
def main() -> None:
    """Consent and aftercare packs whose figures come from the clinic's own audit.

    The commands work inside a clinic folder (one that holds clinic.toml), or with --clinic DIR.

    Example: consentpack demo demo-clinic
    """
    # a command lives for a second: looking for garbage among all that is being loaded is a tenth of it
    gc.set_threshold(GARBAGE_AFTER)
