"""The rate sheet as a table, CSV, JSON and a page with dots and intervals, readable without colour."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable
from html import escape
from typing import Any

from consentpack.export.funnel_plot import funnel_svg
from consentpack.model import Interval, Rate
from consentpack.rates.funnel import ALARM, ALERT, FEWEST, limits
from consentpack.rates.survey import Funnel, Line

Titles = Callable[[str], str]
"""Gives the name a person reads for a technique or outcome id."""

COLUMNS = (
    "technique", "outcome", "events", "watched", "low_95", "high_95", "due", "followed_up",
    "clark_c", "quotable", "why_not", "published_events", "published_n", "published_source", "verdict",
)  # fmt: skip


def as_file(
    ending: str,
    lines: list[Line],
    funnels: Iterable[Funnel],
    title: Titles,
    *,
    heading: str,
    note: str,
) -> str:
    """The sheet as text for a file ending in .csv, .json or .html."""
    if ending == ".csv":
        return as_csv(lines)
    if ending == ".json":
        return as_json(lines)
    return as_html(lines, funnels, title, heading=heading, note=note)


def as_rows(lines: Iterable[Line]) -> list[dict[str, Any]]:
    """The lines with plain values, one per column."""
    return [_row(line) for line in lines]


def _row(line: Line) -> dict[str, Any]:
    counts, printed = line.counts, line.published
    values = (
        line.technique, line.outcome, counts.events, counts.watched,
        round(line.interval.low, 6) if line.interval else None,
        round(line.interval.high, 6) if line.interval else None,
        counts.due, counts.due_watched,
        None if counts.person_time is None else round(counts.person_time, 4),
        line.quotable, line.why_not,
        printed.events if printed else None, printed.n if printed else None,
        printed.source if printed else None, line.verdict,
    )  # fmt: skip
    return dict(zip(COLUMNS, values, strict=True))


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
        return "nothing watched"
    low, high = 100 * line.interval.low, 100 * line.interval.high
    figure = f"{counts.events:4} of {counts.watched:5}  {low:5.1f} to {high:5.1f}%"
    said = f"  own is {line.verdict}" if line.verdict in ("higher", "lower") else ""
    if line.verdict == "mixed":
        said = "  mixed: the methods disagree on own and published"
    return figure + ("" if line.quotable else f"  not quoted: {line.why_not}") + said


_WIDTH, _ROW, _LEFT, _RIGHT = 1000, 38, 305, 340
_PLOT = _WIDTH - _LEFT - _RIGHT
_STYLE = (
    "body{font:16px/1.5 Arial,sans-serif;color:#111;background:#fff;max-width:960px;margin:2rem auto;"
    "padding:0 1rem}svg{width:100%;height:auto}text{font:14px Arial,sans-serif;fill:#111}"
    "table{border-collapse:collapse}td,th{padding:.2rem .8rem;border-bottom:1px solid #777;"
    "text-align:left}"
)


def as_html(lines: list[Line], funnels: Iterable[Funnel], title: Titles, *, heading: str, note: str) -> str:
    """One page without scripts: dots with 95% intervals, published ones below, and the funnels."""
    parts = [
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">',
        f"<title>{escape(heading)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{escape(heading)}</h1><p>{escape(note)}</p>",
        "<p>● the clinic’s own figure with its 95% interval. ◇ published, with its interval. "
        "○ own figure that is too thin to quote.</p>",
    ]
    for technique in dict.fromkeys(line.technique for line in lines):
        mine = [line for line in lines if line.technique == technique and line.interval]
        if mine:
            parts += [f"<h2>{escape(title(technique))}</h2>", _dots(mine, title)]
    found = [_funnel(funnel, title) for funnel in funnels]
    if found:
        parts.append(f"<h2>Operators and sites side by side</h2><p>{_FUNNEL_NOTE}</p>")
    parts += found
    return "".join(parts) + "</body></html>\n"


_FUNNEL_NOTE = (
    f"No ranking. A group of under {FEWEST} is not placed. Where a group stands goes by its exact chance. "
    "The limits are drawn between whole numbers of treatments, so a figure just past one may still be inside."
)


def _dots(lines: list[Line], title: Titles) -> str:
    """Dots and intervals of one technique, on a scale from 0 to 100 in 100."""
    height = _ROW * (len(lines) + 1) + 10
    said = f"{len(lines)} figures with 95% intervals; each also stands as text at the right."
    parts = [f'<svg viewBox="0 0 {_WIDTH} {height}" role="img" aria-label="{escape(said)}">']
    for tick in range(0, 101, 20):
        x = _x(tick / 100)
        parts.append(f'<line x1="{x}" y1="20" x2="{x}" y2="{height - 20}" stroke="#bbb"/>')
        parts.append(f'<text x="{x}" y="14" text-anchor="middle">{tick}%</text>')
    for number, line in enumerate(lines, 1):
        parts.append(_dot_row(line, title(line.outcome), _ROW * number + 4))
    return "".join(parts) + "</svg>"


def _x(share: float) -> float:
    return round(_LEFT + _PLOT * share, 1)


def _dot_row(line: Line, name: str, y: int) -> str:
    counts = line.counts
    assert line.interval is not None
    fill = "#111" if line.quotable else "#fff"
    x, low, high = _x(counts.events / counts.watched), _x(line.interval.low), _x(line.interval.high)
    row = (
        f'<text x="0" y="{y + 5}">{escape(name[:44])}</text>'
        f'<line x1="{low}" y1="{y}" x2="{high}" y2="{y}" stroke="#111" stroke-width="2"/>'
        f'<circle cx="{x}" cy="{y}" r="5" fill="{fill}" stroke="#111" stroke-width="2"/>'
        f'<text x="{_WIDTH - _RIGHT + 20}" y="{y + 5}">{counts.events} of {counts.watched}, '
        f"{_percents(line.interval)}</text>"
    )
    return row + (_published_mark(line.published, line.verdict, y + 15) if line.published else "")


def _percents(interval: Interval) -> str:
    return f"{100 * interval.low:.1f} to {100 * interval.high:.1f}%"


def _published_mark(rate: Rate, said: str | None, y: int) -> str:
    x, low, high = _x(rate.proportion), _x(rate.interval.low), _x(rate.interval.high)
    diamond = f"M{x} {y - 5}l5 5l-5 5l-5 -5z"
    return (
        f'<line x1="{low}" y1="{y}" x2="{high}" y2="{y}" stroke="#555" stroke-dasharray="3 2"/>'
        f'<path d="{diamond}" fill="#fff" stroke="#555"/>'
        f'<text style="font-size:12px" x="{_WIDTH - _RIGHT + 20}" y="{y + 5}">'
        f"published {rate.events} of {rate.n}, {_percents(rate.interval)}; own: {said}</text>"
    )


def _funnel(funnel: Funnel, title: Titles) -> str:
    """Groups of one outcome, drawn and as a table with their exact limits; no ranking."""
    heading = f"{title(funnel.technique)}: {title(funnel.outcome)}, by {funnel.grouping}"
    rows = []
    for place in funnel.places:
        alert, alarm = limits(funnel.target, place.n, ALERT), limits(funnel.target, place.n, ALARM)
        cells = (
            place.group,
            f"{place.events} of {place.n}",
            f"{100 * alert[0]:.1f} to {100 * alert[1]:.1f}%",
            f"{100 * alarm[0]:.1f} to {100 * alarm[1]:.1f}%",
            place.state,
        )
        rows.append("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in cells) + "</tr>")
    head = "".join(
        f"<th>{name}</th>"
        for name in (funnel.grouping, "seen", "95% limits", "99.8% limits", "where it stands")
    )
    drawing = f"<h3>{escape(heading)}</h3>{funnel_svg(funnel, heading)}"
    return f"{drawing}<table><tr>{head}</tr>{''.join(rows)}</table>"
