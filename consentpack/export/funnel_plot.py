"""A funnel drawn as SVG: figure against number of treatments, with exact limits around the target."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from consentpack.rates.funnel import ALARM, ALERT, FEWEST, Place, limits
from consentpack.rates.survey import Funnel

_WIDTH, _HEIGHT = 290, 150
_RIGHT = 8
_CURVE_POINTS = 24
_CEILINGS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)

Scale = Callable[[float], float]


def funnel_svg(funnel: Funnel, heading: str) -> str:
    """One funnel. Limits are told apart by their dashes, who is outside by shape; no ranking.

    From top to bottom it goes from `ceiling_of` to 0; what the scale says stands beside it as text.
    """
    most, ceiling = max(place.n for place in funnel.places), ceiling_of(funnel)

    def x(n: float) -> float:
        return round((_WIDTH - _RIGHT) * n / most, 1)

    def y(share: float) -> float:
        return round(_HEIGHT - _HEIGHT * min(share, ceiling) / ceiling, 1)

    said = f"{heading}. Figures against number of treatments; the table below holds them."
    parts = [
        f'<svg viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" aria-label="{escape(said)}">',
        f'<path class="frame" d="M0 0V{_HEIGHT}H{_WIDTH}"/>',
        f'<path class="target" d="M0 {y(funnel.target)}H{_WIDTH}"/>',
    ]
    if not funnel.adjusted_for:  # else each group has limits of its own
        for share, kind in ((ALERT, "near"), (ALARM, "far")):
            parts.append(_curves(funnel.target, most, share, x, y, kind=kind))
    parts += [_mark(place, x(place.n), y(height_of(funnel, place))) for place in funnel.places]
    return "".join(parts) + "</svg>"


def height_of(funnel: Funnel, place: Place) -> float:
    """A group's figure; where it is adjusted, what was seen beside what was expected, times the target."""
    if place.expected is None:
        return place.events / place.n
    return min(1.0, place.events / place.expected * funnel.target) if place.expected else 0.0


def ceiling_of(funnel: Funnel) -> float:
    """The end of the scale: groups too small to be placed do not stretch it, they are drawn at its top."""
    placed = [place for place in funnel.places if place.state != "too few"]
    tallest = max(height_of(funnel, place) for place in placed)
    widest = limits(funnel.target, max(place.n for place in placed), ALARM)[1]
    return next(each for each in _CEILINGS if each >= min(1.0, max(1.1 * tallest, 1.2 * widest)))


def _mark(place: Place, x: float, y: float) -> str:
    said = f"{place.group}: {place.events} of {place.n}, {place.state}"
    if place.expected is not None:
        said += f", {place.expected:.1f} expected"
    title = f"<title>{escape(said)}</title>"
    if place.state in ("inside", "too few"):
        kind, size = ("dot", 4) if place.state == "inside" else ("dot thin", 3)
        return f'<circle class="{kind}" cx="{x}" cy="{y}" r="{size}">{title}</circle>'
    way = -1 if place.state.startswith("above") else 1
    kind = "out" if place.state.endswith("99.8%") else "dot thin"
    return f'<path class="{kind}" d="M{x - 5:.1f} {y - 4 * way}h10l-5 {9 * way}z">{title}</path>'


def _curves(target: float, most: int, share: float, x: Scale, y: Scale, *, kind: str) -> str:
    """Lower and upper limit from the smallest group that is placed to the largest."""
    first = min(FEWEST, most)
    step = max(1, (most - first) // _CURVE_POINTS)
    found = [(n, *limits(target, n, share)) for n in (*range(first, most, step), most)]
    sides = (" ".join(f"{x(each[0])},{y(each[side])}" for each in found) for side in (1, 2))
    return "".join(f'<polyline class="{kind}" points="{points}"/>' for points in sides)
