"""What was to be expected of treatments by who was treated: the groups that a clinic has declared.

Each declared group of people and places has the figure that the whole register gives it; who treats the
riskier ones is then compared with what they bring. Indirect standardisation; what is not declared is not
adjusted for.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from consentpack.library import Library
from consentpack.model import Clinic
from consentpack.rates.funnel import FEWEST as FEWEST_PLACED
from consentpack.rates.funnel import place_adjusted
from consentpack.rates.reliability import FEWEST
from consentpack.rates.survey import GROUPINGS, Funnel
from consentpack.register import Grouping, Part

Cell = tuple[str, ...]
"""The declared groups that a treatment is in, one for each thing adjusted for."""
Counted = Mapping[Cell, tuple[int, int]]
"""Cell -> events and watched treatments."""


def cell_namer(clinic: Clinic, adjust_for: Sequence[str]) -> Callable[[Sequence[str]], Cell]:
    """Gives the cell of the values that a treatment has for what is adjusted for."""
    groups = [clinic.site_groups if id == "site" else clinic.stratum_groups.get(id, {}) for id in adjust_for]
    return lambda values: tuple(known.get(value, value) for known, value in zip(groups, values, strict=True))


def judged_by(counted: Counted) -> dict[Cell, tuple[int, int]]:
    """The counts that give each cell its figure: its own, or where these are under 30 treatments those of
    all such cells, and where these too are under 30 together, those of all."""
    small = {cell: found for cell, found in counted.items() if found[1] < FEWEST}
    together = _sum(small.values())
    rest = together if together[1] >= FEWEST else _sum(counted.values())
    return {cell: rest if cell in small else found for cell, found in counted.items()}


def _sum(found: Collection[tuple[int, int]]) -> tuple[int, int]:
    return sum(events for events, _ in found), sum(n for _, n in found)


@dataclass
class _Groups:
    """Operators or sites, each with what was counted in its cells."""

    found: dict[str, dict[Cell, tuple[int, int]]] = field(default_factory=dict)

    def add(self, group: str, cell: Cell, counts: tuple[int, int]) -> None:
        cells = self.found.setdefault(group, {})
        events, n = cells.get(cell, (0, 0))
        cells[cell] = events + counts[0], n + counts[1]

    @property
    def all(self) -> dict[Cell, tuple[int, int]]:
        together = _Groups()
        for cells in self.found.values():
            for cell, counts in cells.items():
                together.add("", cell, counts)
        return together.found.get("", {})


def adjusted_funnels(
    library: Library, parts: Iterable[Part], cell_of: Callable[[Part], Cell], adjust_for: tuple[str, ...]
) -> Iterator[Funnel]:
    """Operators and sites side by side, each against what its treatments led one to expect.

    Where it is adjusted for the site, sites are compared without that: it would explain itself away.
    """
    known = list(parts)
    for technique in library.techniques.values():
        mine = [part for part in known if technique.id in part.techniques]
        for outcome in technique.risks:
            for grouping in GROUPINGS:
                kept = [at for at, id in enumerate(adjust_for) if id != grouping]
                groups = _grouped(mine, outcome, grouping, lambda part, k=kept: _only(cell_of(part), k))  # type: ignore[misc]
                names = tuple(adjust_for[at] for at in kept)
                yield from _funnel(technique.id, outcome, grouping, groups, names)


def _only(cell: Cell, kept: Sequence[int]) -> Cell:
    return tuple(cell[at] for at in kept)


def _grouped(
    parts: Iterable[Part], outcome: str, grouping: Grouping, cell_of: Callable[[Part], Cell]
) -> _Groups:
    groups = _Groups()
    for part in parts:
        events, n = part.counts.get(outcome, (0, 0))
        if n:
            groups.add(part.operator if grouping == "operator" else part.site, cell_of(part), (events, n))
    return groups


def _funnel(
    technique: str, outcome: str, grouping: Grouping, groups: _Groups, adjust_for: tuple[str, ...]
) -> Iterator[Funnel]:
    numbers = {name: sum(n for _, n in cells.values()) for name, cells in groups.found.items()}
    events, basis = sum(k for k, _ in groups.all.values()), judged_by(groups.all)
    if not events or sum(n >= FEWEST_PLACED for n in numbers.values()) < 2:
        return
    places = tuple(
        place_adjusted(
            name,
            sum(k for k, _ in cells.values()),
            tuple((n, basis[cell][0] / basis[cell][1]) for cell, (_, n) in sorted(cells.items())),
        )
        for name, cells in sorted(groups.found.items())
    )
    yield Funnel(technique, outcome, grouping, events / sum(numbers.values()), places, adjust_for)
