"""The rate sheet as a table for a terminal, as CSV and JSON; the page is in `rate_page`."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from typing import Any

from consentpack.export.rate_page import Titles, as_html
from consentpack.rates.intervals import mid_p
from consentpack.rates.needed import needed
from consentpack.rates.standing_out import Sheet
from consentpack.rates.survey import Line

COLUMNS = (
    "technique", "outcome", "events", "watched", "low_95", "high_95", "mid_p_low_95",
    "mid_p_high_95", "due", "followed_up",
    "clark_c", "quotable", "why_not", "still_needed", "to_follow_up", "published_events", "published_n",
    "published_source", "verdict",
)  # fmt: skip


def as_file(ending: str, sheet: Sheet, title: Titles, *, heading: str, note: str) -> str:
    """The sheet as text for a file ending in .csv, .json or .html."""
    if ending == ".csv":
        return as_csv(sheet.lines)
    if ending == ".json":
        return as_json(sheet.lines)
    return as_html(sheet, title, heading=heading, note=note)


def as_rows(lines: Iterable[Line]) -> list[dict[str, Any]]:
    """The lines with plain values, one per column."""
    return [_row(line) for line in lines]


def _row(line: Line) -> dict[str, Any]:
    counts, printed, lacking = line.counts, line.published, needed(line.counts)
    values = (
        line.technique, line.outcome, counts.events, counts.watched,
        round(line.interval.low, 6) if line.interval else None,
        round(line.interval.high, 6) if line.interval else None,
        *_mid_p(line), counts.due, counts.due_watched,
        None if counts.person_time is None else round(counts.person_time, 4),
        line.quotable, line.why_not, lacking.treatments, lacking.looks,
        printed.events if printed else None, printed.n if printed else None,
        printed.source if printed else None, line.verdict,
    )  # fmt: skip
    return dict(zip(COLUMNS, values, strict=True))


def _mid_p(line: Line) -> tuple[float | None, float | None]:
    """The interval for those who want an exact one beside Wilson's."""
    if not line.interval:
        return None, None
    found = mid_p(line.counts.events, line.counts.watched)
    return round(found.low, 6), round(found.high, 6)


def as_json(lines: Iterable[Line]) -> str:
    return json.dumps(as_rows(lines), indent=2, ensure_ascii=False) + "\n"


def as_csv(lines: Iterable[Line]) -> str:
    stream = io.StringIO()
    writer = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(as_rows(lines))
    return stream.getvalue()


def as_table(lines: Iterable[Line], title: Titles) -> str:
    """The lines as text for a terminal, by technique."""
    found, technique = [], ""
    for line in lines:
        if line.technique != technique:
            technique = line.technique
            found.append(f"\n{title(technique)}")
        found.append(f"  {title(line.outcome)[:36]:36} {_figure(line)}")
    return "\n".join(found).lstrip("\n")


def _figure(line: Line) -> str:
    counts = line.counts
    if not line.interval:
        return f"nothing watched; {needed(counts).said}"
    low, high = 100 * line.interval.low, 100 * line.interval.high
    figure = f"{counts.events:4} of {counts.watched:5}  {low:5.1f} to {high:5.1f}%"
    said = f"  own is {line.verdict}" if line.verdict in ("higher", "lower") else ""
    if line.verdict == "mixed":
        said = "  mixed: the methods disagree on own and published"
    if line.quotable:
        return figure + said
    lacking = needed(counts).said
    return f"{figure}  not quoted: {line.why_not}" + (f"; {lacking}" if lacking else "") + said
