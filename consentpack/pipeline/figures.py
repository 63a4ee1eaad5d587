"""All figures of the clinic for pages: what stands out, each technique, and one figure opened.

Behind a figure are its counts, what it is compared with, and the treatments.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from threading import Lock
from typing import Any

from consentpack.errors import Problem, RegisterError, did_you_mean
from consentpack.export.rate_dots import ceiling_of, percents
from consentpack.export.rate_page import as_page, standing_first
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.registers import existing_register
from consentpack.pipeline.watching import sheet_caption, titles, whole_sheet
from consentpack.rates.counting import window_of
from consentpack.rates.needed import needed
from consentpack.rates.standing_out import Sheet
from consentpack.rates.survey import Funnel, Line
from consentpack.register import PARTS, RowPart, Rows, file_of, moment_of, rows_behind

ROWS_ON_A_PAGE = 50


@dataclass(frozen=True)
class Drawn:
    """Where a figure, its interval and the published ones lie on a scale, in percent of its length."""

    ceiling: float
    """What the scale ends at, in every 100."""
    at: float
    low: float
    high: float
    other: tuple[float, float, float] | None
    """The published figure, and its interval."""


@dataclass(frozen=True)
class Told:
    """One figure in words."""

    line: Line
    technique: str
    """The technique's name; `line` has its id."""
    outcome: str
    counts: str
    interval: str
    published: str
    """'' where none is published."""
    verdict: str
    lacking: str
    """Why it may not be quoted, and what is needed; '' where it may be."""
    stands_out: bool
    drawn: Drawn | None


@dataclass(frozen=True)
class TechniqueFigures:
    """The figures of one technique."""

    id: str
    title: str
    harms: tuple[Told, ...]
    gains: tuple[Told, ...]
    unseen: tuple[Told, ...]
    """Outcomes of which nothing was watched to the end."""
    out: int
    """How many places of it stand out."""


@dataclass(frozen=True)
class Figures:
    """All figures on one day."""

    sheet: Sheet
    first: Mapping[str, Any]
    """What stands out, as the rate sheet's own page has it."""
    techniques: tuple[TechniqueFigures, ...]


@dataclass(frozen=True)
class Opened:
    """One figure, and what lies behind it."""

    told: Told
    days: int
    """The outcome's watching time."""
    window: tuple[date, date]
    source: str
    """Where the published figure stands, in full."""
    others: tuple[Told, ...]
    """The same outcome after other techniques."""
    groups: tuple[Funnel, ...]
    """Operators and places side by side."""
    rows: Rows


_KEPT: dict[tuple[Any, ...], tuple[Workplace, Figures]] = {}
_LOCK = Lock()
_REMEMBERED = 3


def figures_on(place: Workplace, today: date) -> Figures:
    """All figures, counted once for as long as neither the audit nor the settings change."""
    key = (today, *_standing(place))
    with _LOCK:  # two windows wait for one count instead of making two
        kept = _KEPT.get(key)
        if kept and kept[0] is place:
            return kept[1]
        found = _figures(place, whole_sheet(place, today))
        while len(_KEPT) >= _REMEMBERED:
            del _KEPT[next(iter(_KEPT))]
        _KEPT[key] = (place, found)
        return found


def _standing(place: Workplace) -> tuple[Any, ...]:
    """Where the register stands; of a file also when it was written, by whatever program."""
    file = file_of(place.clinic.register_url)
    seen = Path(file).stat() if file and Path(file).exists() else None
    with existing_register(place).connect() as connection:
        moment = moment_of(connection)
    return (place.clinic.register_url, moment, (seen.st_mtime_ns, seen.st_size) if seen else None)


def _figures(place: Workplace, sheet: Sheet) -> Figures:
    title, out = titles(place), sheet.standing_out()
    by_technique: dict[str, list[Told]] = {}
    for line in sheet.lines:
        flagged = (line.technique, line.outcome, "figure") in out
        by_technique.setdefault(line.technique, []).append(_told(line, title, flagged=flagged))
    return Figures(
        sheet,
        standing_first(sheet, title),
        tuple(
            _of_technique(id, title(id), told, sheet, sum(key[0] == id for key in out))
            for id, told in by_technique.items()
        ),
    )


def _of_technique(id: str, title: str, told: list[Told], sheet: Sheet, out: int) -> TechniqueFigures:
    seen = [each for each in told if each.drawn]
    harms = tuple(each for each in seen if each.line.outcome in sheet.harms)
    gains = tuple(each for each in seen if each.line.outcome not in sheet.harms)
    return TechniqueFigures(id, title, harms, gains, tuple(t for t in told if not t.drawn), out)


def _told(line: Line, title: Any, *, flagged: bool) -> Told:
    counts, study, lacking = line.counts, line.published, needed(line.counts).said
    why = "" if line.quotable else "; ".join(filter(None, (line.why_not, lacking)))
    return Told(
        line,
        title(line.technique),
        title(line.outcome),
        f"{counts.events} of {counts.watched}",
        percents(line.interval) if line.interval else "",
        f"{study.events} of {study.n}, {percents(study.interval)}" if study else "",
        _verdict(line),
        why,
        flagged,
        _drawn(line) if line.interval else None,
    )


_VERDICTS = {"higher": "own is higher", "lower": "own is lower", "mixed": "the methods disagree"}


def _verdict(line: Line) -> str:
    """How the own figure stands to the published one, by exact tests at 5%."""
    if line.verdict is None:
        return ""
    return _VERDICTS.get(line.verdict, "no difference could be shown")


def _drawn(line: Line) -> Drawn:
    assert line.interval is not None
    ceiling = ceiling_of(line)

    def across(share: float) -> float:
        return round(100 * min(share, ceiling) / ceiling, 2)

    study = line.published
    other = (study.proportion, study.interval.low, study.interval.high) if study else None
    return Drawn(
        100 * ceiling,
        across(line.counts.events / line.counts.watched),
        across(line.interval.low),
        across(line.interval.high),
        tuple(map(across, other)) if other else None,  # type: ignore[arg-type]
    )


def open_figure(
    place: Workplace, technique: str, outcome: str, today: date, *, part: RowPart = "seen", page: int = 1
) -> Opened:
    """One figure of the rate sheet and what is behind it. Raises RegisterError where there is none."""
    all_figures = figures_on(place, today)
    told = [t for each in all_figures.techniques for t in (*each.harms, *each.gains, *each.unseen)]
    found = next((t for t in told if (t.line.technique, t.line.outcome) == (technique, outcome)), None)
    if found is None or part not in PARTS:
        near = did_you_mean(outcome, place.library.outcomes)
        raise RegisterError(
            Problem("figure", f"there is no figure of '{outcome}' after '{technique}'.", near)
        )
    window = window_of(today, place.clinic.window_months)
    days = place.library.outcomes[outcome].watch_days
    with existing_register(place).connect() as connection:
        rows = rows_behind(
            connection, technique, outcome, window=window, days=days, part=part,
            first=(page - 1) * ROWS_ON_A_PAGE, most=ROWS_ON_A_PAGE,
        )  # fmt: skip
    study = found.line.published
    return Opened(
        found,
        days,
        (window.first, window.last),
        study.source if study else "",
        tuple(t for t in told if t.line.outcome == outcome and t is not found and t.drawn),
        tuple(f for f in all_figures.sheet.funnels if (f.technique, f.outcome) == (technique, outcome)),
        rows,
    )


def figures_page(place: Workplace, today: date) -> tuple[str, str]:
    """The rate sheet as the page that `audit sheet --out` writes, without its script; and the policy under
    which it may be shown."""
    sheet = figures_on(place, today).sheet
    return as_page(sheet, titles(place), **sheet_caption(place, today))
