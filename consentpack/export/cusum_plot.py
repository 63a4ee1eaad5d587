"""A sum over time drawn as SVG, with its limit and where it crossed it. Its days stand beside it as text."""

from __future__ import annotations

from datetime import date
from html import escape

from consentpack.rates.cusum import Chart, Signal

_WIDTH, _HEIGHT = 320, 100
_LEFT, _RIGHT, _TOP, _BOTTOM = 6, 6, 12, 4
_POINTS = 150
"""No more can be told apart at this size; a large register has one for each of a thousand days."""
_MOST_MARKS = 20


def cusum_svg(chart: Chart, heading: str) -> str:
    """One chart; each signal says its counts when it is pointed at."""
    first, last = chart.path[0][0], chart.path[-1][0]
    days = max(1, (last - first).days)
    tallest = 1.08 * max(chart.limit, *(value for _, value in chart.path))

    def x(day: date) -> float:
        return round(_LEFT + (_WIDTH - _LEFT - _RIGHT) * (day - first).days / days, 1)

    def y(value: float) -> float:
        return round(_HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * value / tallest, 1)

    count = len(chart.signals)
    said = f"{heading}, sum over time from {first} to {last}, crossed its limit {count} times."
    points = " ".join(f"{x(day)},{y(value)}" for day, value in _fewer(chart.path))
    base, limit = y(0), y(chart.limit)
    marks = (_mark(signal, x(signal.day), limit) for signal in chart.signals[-_MOST_MARKS:])
    return (
        f'<svg viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{escape(said)}">'
        f'<path class="frame" d="M{_LEFT} {base}H{_WIDTH - _RIGHT}"/>'
        f'<path class="far" d="M{_LEFT} {limit}H{_WIDTH - _RIGHT}"/>'
        f'<polyline class="run" points="{points}"/>{"".join(marks)}</svg>'
    )


def _fewer(path: tuple[tuple[date, float], ...]) -> list[tuple[date, float]]:
    """The path in so many stretches, each by its highest point: no crossing is lost."""
    width = -(-len(path) // _POINTS)
    stretches = (path[at : at + width] for at in range(0, len(path), width))
    return [max(stretch, key=lambda point: point[1]) for stretch in stretches]


def _mark(signal: Signal, x: float, y: float) -> str:
    said = (
        f"{signal.day}: {signal.events} seen in {signal.treatments} treatments since {signal.since}, "
        f"{signal.expected:.1f} expected"
    )
    return f'<path class="out" d="M{x - 5} {y - 3}h10l-5-9z"><title>{said}</title></path>'
