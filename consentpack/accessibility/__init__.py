"""Whether a Word file can be used by who cannot see it well, or at all: what a machine can tell of it.

`package` the parts of the file -> `file` paragraphs, runs and tables with their `looks` -> one small
function for each rule, in `about`, `structure`, `tables`, `pictures`, `links`, `scripts`, `letters`.
"""

from __future__ import annotations

from pathlib import Path

from consentpack.accessibility import about, letters, links, pictures, scripts, structure, tables
from consentpack.accessibility.file import WordFile, open_file
from consentpack.accessibility.finding import RULES, Fault, Finding, Rule

NORMAL_PRINT, LARGE_PRINT = 12.0, 16.0
"""Points that text must have at least (UKAAF G003, 2019)."""


def check_file(path: Path, *, shown: str = "", large_print: bool = False) -> tuple[Finding, ...]:
    """Every finding in one Word file, rule by rule. `shown` is the file's name in messages.

    Raises ReadError when the file is not there, is of another kind, or cannot be read.
    """
    least = LARGE_PRINT if large_print else NORMAL_PRINT
    file = open_file(path, shown=shown, least_size=least)
    return tuple(finding for rule in RULES.values() for finding in rule.findings(file))


__all__ = [
    "LARGE_PRINT", "NORMAL_PRINT", "RULES", "Fault", "Finding", "Rule", "WordFile", "about", "check_file",
    "letters", "links", "open_file", "pictures", "scripts", "structure", "tables",
]  # fmt: skip
