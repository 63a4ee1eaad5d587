"""Document tree to files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from typing import TYPE_CHECKING

from consentpack.tree import Document

if TYPE_CHECKING:
    from consentpack.export.look import Look


@dataclass(frozen=True)
class Paper:
    """What a file needs beside its document."""

    day: date
    """Goes into the properties of a file, where it has some."""
    look: Look


@dataclass(frozen=True)
class Exporter:
    """One format of a document."""

    ending: str
    """How the names of its files end, after the kind of document."""
    module: str
    """A module with a function `write(document, paper) -> bytes`, loaded when the first file is made."""
    always: bool = True
    """Whether each pack has it; else only where it is asked for by its name."""

    def export(self, document: Document, paper: Paper) -> bytes:
        """The file of a document."""
        made: bytes = import_module(self.module).write(document, paper)
        return made


EXPORTERS: Mapping[str, Exporter] = {
    "docx": Exporter(".docx", "consentpack.export.docx"),
    "large-print": Exporter("-large-print.docx", "consentpack.export.large_print", always=False),
    "html": Exporter(".html", "consentpack.export.html"),
}
"""Name -> format, in the order in which a manifest lists them."""

__all__ = ["EXPORTERS", "Exporter", "Paper"]
