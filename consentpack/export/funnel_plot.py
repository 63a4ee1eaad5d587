"""A funnel drawn as SVG: figure against number of treatments, with exact limits around the target."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from consentpack.rates.funnel import ALARM, ALERT, FEWEST, limits
from consentpack.rates.survey import Funnel

_WIDTH, _HEIGHT = 640, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 60, 110, 14, 44
_CURVE_POINTS = 40

Scale = Callable[[float], float]


def funnel_svg(funnel: Funnel, heading: str) -> str:
    """One funnel. Limits are told apart by their dashes, groups by their names; no ranking."""
    most = max(place.n for place in funnel.places)
    tallest = max(place.events / place.n for place in funnel.places)
    ceiling = min(1.0, max(0.05, 1.1 * tallest, 1.5 * limits(funnel.target, most, ALARM)[1]))

    def x(n: float) -> float:
        return round(_LEFT + (_WIDTH - _LEFT - _RIGHT) * n / (1.05 * most), 1)

    def y(share: float) -> float:
        inside = min(share, ceiling) / ceiling
        return round(_HEIGHT - _BOTTOM - (_HEIGHT - _TOP - _BOTTOM) * inside, 1)

    said = f"{heading}. Figures against number of treatments; the table below holds them."
    parts = [
        f'<svg viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{escape(said)}">',
        _axes(x, y, most, ceiling),
        f'<line x1="{_LEFT}" y1="{y(funnel.target)}" x2="{x(1.05 * most)}" y2="{y(funnel.target)}" '
        'stroke="#111"/>',
        _curves(funnel.target, most, ALERT, x, y, dashes="6 3"),
        _curves(funnel.target, most, ALARM, x, y, dashes="1 3"),
    ]
    for place in funnel.places:
        at_x, at_y = x(place.n), y(place.events / place.n)
        parts.append(f'<circle cx="{at_x}" cy="{at_y}" r="5" fill="#111"/>')
        parts.append(f'<text x="{at_x + 8}" y="{at_y + 5}">{escape(place.group)}</text>')
    return "".join(parts) + "</svg>"


def _axes(x: Scale, y: Scale, most: int, ceiling: float) -> str:
    base, end = y(0), x(1.05 * most)
    parts = [f'<path d="M{_LEFT} {_TOP}V{base}H{end}" fill="none" stroke="#777"/>']
    for step in range(5):
        share = ceiling * step / 4
        label = f"{100 * share:.0f}" if ceiling >= 0.1 else f"{100 * share:.1f}"
        parts.append(f'<text x="{_LEFT - 8}" y="{y(share) + 5}" text-anchor="end">{label}</text>')
    parts.append(f'<text x="{x(most)}" y="{base + 18}" text-anchor="middle">{most}</text>')
    parts.append(f'<text x="{_LEFT}" y="{base + 36}">treatments →   up: seen in every 100</text>')
    return "".join(parts)


def _curves(target: float, most: int, share: float, x: Scale, y: Scale, *, dashes: str) -> str:
    """Lower and upper limit from the smallest group that is placed to the largest."""
    first = min(FEWEST, most)
    step = max(1, (most - first) // _CURVE_POINTS)
    numbers = [*range(first, most, step), most]
    found = [(n, *limits(target, n, share)) for n in numbers]
    paths = []
    for side in (1, 2):
        points = " ".join(f"{x(each[0])},{y(each[side])}" for each in found)
        paths.append(f'<polyline points="{points}" fill="none" stroke="#111" stroke-dasharray="{dashes}"/>')
    return "".join(paths)
