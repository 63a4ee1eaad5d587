"""The command line: options, help and exit codes. Nothing but a layer; the work is in `pipeline`."""

from consentpack.cli.main import main

__all__ = ["main"]
