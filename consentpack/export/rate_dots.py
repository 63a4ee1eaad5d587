"""One figure drawn as a dot with its interval, and the published one below it; across as a share of 100."""

from __future__ import annotations

from html import escape

from consentpack.model import Interval, Rate
from consentpack.rates.survey import Line

CEILINGS = (0.05, 0.2, 1.0)
"""Ends of the scale. On one that always ends at 100 in 100 a harm of 1 and one of 4 are the same dot."""
_OWN, _OTHER = 12, 26


def ceiling_of(line: Line) -> float:
    """The shortest scale that holds the whole of an own interval, and the published figure."""
    assert line.interval is not None
    furthest = max(line.interval.high, line.published.proportion if line.published else 0)
    return next(each for each in CEILINGS if furthest <= each)


def percents(interval: Interval) -> str:
    return f"{100 * interval.low:.1f} to {100 * interval.high:.1f}%"


def dots(line: Line, ceiling: float) -> str:
    """The drawing. Its text stands beside it, so that nobody needs to see it."""
    assert line.interval is not None
    counts = line.counts
    said = f"{counts.events} of {counts.watched}, {percents(line.interval)}"
    thin = "" if line.quotable else " thin"
    at = _across(counts.events / counts.watched, ceiling)
    parts = [
        _bar(line.interval, ceiling, _OWN, "own"),
        f'<circle class="dot{thin}" cx="{at}" cy="{_OWN}" r="5"><title>{said}</title></circle>',
    ]
    if line.published:
        parts.append(_published(line.published, ceiling))
    return f'<svg aria-hidden="true">{"".join(parts)}</svg>'


def _published(rate: Rate, ceiling: float) -> str:
    said = escape(f"published: {rate.events} of {rate.n}, {percents(rate.interval)}, {rate.source}")
    at = _across(rate.proportion, ceiling)
    lozenge = f'<svg x="{at}" y="{_OTHER}"><path class="lozenge" d="M0-5l5 5l-5 5l-5-5z"/></svg>'
    return f"<g><title>{said}</title>{_bar(rate.interval, ceiling, _OTHER, 'other')}{lozenge}</g>"


def _bar(interval: Interval, ceiling: float, y: int, kind: str) -> str:
    low, high = _across(interval.low, ceiling), _across(interval.high, ceiling)
    return f'<line class="{kind}" x1="{low}" x2="{high}" y1="{y}" y2="{y}"/>'


def _across(share: float, ceiling: float) -> str:
    """How far across, as a share of the drawing's width: the page decides how wide that is."""
    return f"{100 * min(share, ceiling) / ceiling:.2f}%"
