"""What was found of a ledger as one HTML file that needs nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Line:
    """One pack that was given."""

    reference: str
    version: int
    code: str
    state: str
    steps: tuple[str, ...]
    """What was entered, the oldest first."""


@dataclass(frozen=True)
class LedgerPage:
    """All that stands on the page."""

    title: str
    verdict: str
    """One sentence."""
    holds: bool
    facts: tuple[tuple[str, str], ...]
    faults: tuple[tuple[str, str], ...]
    """Where, and what is not as it was given."""
    warnings: tuple[tuple[str, str], ...]
    packs: tuple[Line, ...]


def ledger_page(page: LedgerPage) -> str:
    """The page as HTML."""
    import jinja2  # noqa: PLC0415

    text = (Path(__file__).parent / "ledger_page.html.j2").read_text(encoding="utf-8")
    environment = jinja2.Environment(autoescape=True, trim_blocks=True, undefined=jinja2.StrictUndefined)
    return environment.from_string(text).render(page=page)
