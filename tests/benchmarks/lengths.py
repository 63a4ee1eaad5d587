"""How long every document of the demo's plans is, in every language and two sizes of print, by its limits.

    python tests/benchmarks/lengths.py [--drawn] [--out FILE]

Writes docs/reference/lengths.md, and ends with 1 where a document is over a limit. Sides are reckoned from
the Word files; with --drawn LibreOffice draws every one of them, which takes minutes, and its pages stand
there, with what was reckoned beside them where that differs.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from consentpack import pipeline, shipped
from consentpack.catalogues import SOURCE_LANGUAGE, available
from consentpack.export.pdf import export_pdf
from consentpack.length import pages_in
from consentpack.model import SLOW, USUAL, Length

PAGE = Path(__file__).parents[2] / "docs/reference/lengths.md"
DAY = date(2026, 11, 28)
"""Of the table: who approved what, and which figures count, do not depend on the day it is made."""


@dataclass(frozen=True)
class Row:
    """One document of one plan in one language."""

    plan: str
    length: Length
    drawn: int = 0
    """Pages that were drawn; 0 where none were."""
    large_drawn: int = 0

    @property
    def over(self) -> bool:
        limits, length = self.length.limits, self.length
        sides = ((self.drawn or length.sides, limits.sides), (self.large_drawn or length.large_print_sides,
                                                              limits.large_print_sides))  # fmt: skip
        return "words" in length.over or any(limit and (there or 0) > limit for there, limit in sides)


def measured(*, drawn: bool) -> Iterator[Row]:
    """Each language with each plan. What is in the clinic's own language is there once."""
    with tempfile.TemporaryDirectory() as folder:
        place = pipeline.open_workplace(pipeline.copy_demo(Path(folder) / "demo"))
        pipeline.import_audit(place, place.folder / "audit.csv", now=datetime(2026, 11, 25, 9), by="bench")
        for language in (place.clinic.language, *available([shipped.locales()])):
            print(f"… {language}", file=sys.stderr)
            for plan in pipeline.plan_files(place):
                yield from _of_one(place, plan, language, drawn=drawn)


def _of_one(place: pipeline.Workplace, plan: Path, language: str, *, drawn: bool) -> Iterator[Row]:
    pack = pipeline.make_pack(place, plan, language=language, large_print=True, today=DAY)
    pages = _pages(pack) if drawn else {}
    for length in pack.measures.lengths:
        if language == place.clinic.language or length.language == language:
            kind = length.kind
            yield Row(plan.stem, length, pages.get((kind, "docx"), 0), pages.get((kind, "large-print"), 0))


def _pages(pack: pipeline.Pack) -> dict[tuple[str, str], int]:
    """Format and kind -> pages, of what limits are about: before the annex, where they say so."""
    names = {f"{kind}.{form}.docx": (kind, form) for form, kind in pack.measures.files}
    files = {name: pack.measures.files[form, kind].content for name, (kind, form) in names.items()}
    found = export_pdf(files)
    return {names[f"{Path(name).stem}.docx"]: pages_in(data) for name, data in found.items()}


def _shown(number: float | None, limit: int) -> str:
    """A number, beside its limit where it has one; in bold where it is over it."""
    if number is None:
        return "–"
    said = f"{number:,}{f' / {limit:,}' if limit else ''}"
    return f"**{said}**" if limit and number > limit else said


def _sides(drawn: int, reckoned: int | None, limit: int) -> str:
    differs = f" (reckoned {reckoned})" if drawn and reckoned and drawn != reckoned else ""
    return _shown(drawn or reckoned, limit) + differs


def table(rows: list[Row]) -> str:
    lines = [
        f"| plan | language | document | words | sides | in large print | minutes at {USUAL} | at {SLOW} |",
        "|---|---|---|---:|---:|---:|---:|---:|",
    ]
    for row in rows:
        length, limits = row.length, row.length.limits
        usual, slow = length.minutes
        cells = (
            row.plan,
            length.language,
            f"{length.kind}{', before its annex' if limits.before_annex else ''}",
            _shown(length.words, limits.words),
            _sides(row.drawn, length.sides, limits.sides),
            _sides(row.large_drawn, length.large_print_sides, limits.large_print_sides),
            f"{usual:.1f}",
            f"{slow:.1f}",
        )
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


def page(rows: list[Row], *, drawn: bool) -> str:
    """The whole page."""
    limited = [row for row in rows if row.length.limited]
    over = sum(row.over for row in rows)
    how = "as LibreOffice draws them" if drawn else "reckoned from the Word files"
    languages = len({row.length.language for row in rows if row.length.language[:2] != SOURCE_LANGUAGE}) + 1
    return (
        "<!-- Built by tests/benchmarks/lengths.py. Do not edit. -->\n\n"
        "# How long the documents are\n\n"
        f"The demo's plans in {languages} languages. Its clinic, people and figures are invented. Words are "
        f"all words that are read; sides are of A4, {how}; minutes are at {USUAL} and {SLOW} words a minute "
        "(Brysbaert 2019). A number after a stroke is the limit (`content/length_targets.toml`); what is "
        "over it is in bold. [How this is measured](../why/length.md).\n\n"
        f"{len(rows)} documents, {len(limited)} of them with a limit; **{over} over it**.\n\n{table(rows)}\n"
    )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--drawn", action="store_true", help="pages that LibreOffice draws, in some minutes")
    options.add_argument("--out", type=Path, default=PAGE, help="the file that is written")
    asked = options.parse_args()
    rows = list(measured(drawn=asked.drawn))
    asked.out.write_text(page(rows, drawn=asked.drawn), encoding="utf-8")
    print(asked.out)
    sys.exit(any(row.over for row in rows))


if __name__ == "__main__":
    main()
