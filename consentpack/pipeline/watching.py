"""Figures of the whole clinic: the rate sheet, watching over time, techniques side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path

from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import ClinicError, Problem, RegisterError, did_you_mean
from consentpack.export import rate_sheet as sheets
from consentpack.files import write_file
from consentpack.model import WatchRules
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.registers import audit_as_it_stands, existing_register
from consentpack.rates import Comparing
from consentpack.rates.adjusting import Cell, adjusted_funnels, cell_namer
from consentpack.rates.beside import pairs
from consentpack.rates.counting import window_of
from consentpack.rates.standing_out import Sheet
from consentpack.rates.survey import Funnel, Line, funnels, survey
from consentpack.rates.watching import Unwatched, Watched, gather, watch
from consentpack.register import (
    Comparison,
    Grouping,
    Part,
    course,
    order_of,
    tally_all,
    tally_parted,
)


def rate_sheet(place: Workplace, today: date) -> tuple[list[Line], list[Funnel]]:
    """Every technique's figures, and its operators and sites side by side."""
    window = window_of(today, place.clinic.window_months)
    register, days, strata = existing_register(place), _watch_days(place), _strata(place)
    with register.connect() as connection:
        found = tally_all(connection, window, days)
        more = tally_parted(connection, window, days, strata=strata, operators=True)
        parts = list(more) if _adjust_for(place) else []

    def groups(grouping: Grouping, comparison: Comparison, outcome: str) -> Mapping[str, tuple[int, int]]:
        return found.by[grouping].of(comparison, outcome)

    side_by_side = _adjusted(place, parts) if _adjust_for(place) else funnels(place.library, groups)
    return survey(place.library, found.each), list(side_by_side)


def _watch_days(place: Workplace) -> dict[str, int]:
    return {id: outcome.watch_days for id, outcome in place.library.outcomes.items()}


def _adjust_for(place: Workplace) -> tuple[str, ...]:
    return place.clinic.watch.adjust_for if place.clinic.watch else ()


def _strata(place: Workplace) -> tuple[str, ...]:
    return tuple(id for id in _adjust_for(place) if id != "site")


def _adjusted(place: Workplace, parts: list[Part]) -> Iterator[Funnel]:
    """Operators and sites against what their treatments led one to expect."""
    adjust_for, strata = _adjust_for(place), _strata(place)
    name = cell_namer(place.clinic, adjust_for)

    def cell_of(part: Part) -> Cell:
        values = dict(zip(strata, part.strata, strict=True)) | {"site": part.site}
        return name([values[id] for id in adjust_for])

    return adjusted_funnels(place.library, parts, cell_of, adjust_for)


def whole_sheet(place: Workplace, today: date) -> Sheet:
    """All figures, over time too where the clinic has said by which rules."""
    lines, found = rate_sheet(place, today)
    rules = place.clinic.watch
    watched, without = _over_time(place, rules, today) if rules else ([], [])
    return Sheet(lines, found, watched, without, rules, frozenset(place.library.risks))


def write_rate_sheet(place: Workplace, out: Path, today: date) -> None:
    """The rate sheet as a file: .csv, .json or .html by its ending."""
    sheet = whole_sheet(place, today) if out.suffix == ".html" else Sheet(rate_sheet(place, today)[0])
    write_file(out, sheets.as_file(out.suffix, sheet, titles(place), **sheet_caption(place, today)))


def rate_table(place: Workplace, today: date) -> str:
    """The rate sheet as text for a terminal."""
    return sheets.as_table(rate_sheet(place, today)[0], titles(place))


def titles(place: Workplace) -> Callable[[str], str]:
    """Gives the name a person reads for a technique or outcome id."""
    known = {**place.library.outcomes, **place.library.techniques}
    return lambda id: known[id].title


def sheet_caption(place: Workplace, today: date) -> dict[str, str]:
    note = f"As of {today}, the {place.clinic.window_months} months before. Per treatment session."
    if place.clinic.invented:
        note += " Invented clinic, invented people, invented figures."
    return {"heading": f"Rate sheet: {place.clinic.name}", "note": note}


def watch_over_time(place: Workplace, today: date) -> Sheet:
    """All figures, with the signals over time and who stands apart.

    Raises ClinicError when clinic.toml does not say by which rules.
    """
    if place.clinic.watch is None:
        what = "the table [watch] is missing: from when on, and for what change, is not known."
        fix = "Add [watch] with baseline_until, odds_ratio and run_length."
        raise ClinicError(Problem(SETTINGS_FILE, what, fix))
    return whole_sheet(place, today)


def _over_time(place: Workplace, rules: WatchRules, today: date) -> tuple[list[Watched], list[Unwatched]]:
    days, adjust_for = _watch_days(place), rules.adjust_for
    with existing_register(place).connect() as connection:
        order = order_of(connection, days)
        batches = course(connection, order, days, today, parted_by=adjust_for)
        return watch(place.library, gather(order, batches, cell_namer(place.clinic, adjust_for)), rules)


def compare_techniques(place: Workplace, first: str, second: str, outcome: str, today: date) -> Comparing:
    """Two techniques side by side for one outcome. Raises RegisterError for unknown words."""
    library = place.library
    problems = [
        Problem("technique", f"there is no technique '{id}'.", did_you_mean(id, library.techniques))
        for id in (first, second)
        if id not in library.techniques
    ]
    if outcome not in library.outcomes:
        near = did_you_mean(outcome, library.outcomes)
        problems.append(Problem("outcome", f"there is no outcome '{outcome}'.", near))
    if problems:
        raise RegisterError(problems)
    existing_register(place)
    window = window_of(today, place.clinic.window_months)
    days = {outcome: library.outcomes[outcome].watch_days}
    with audit_as_it_stands(place) as audit:
        assert audit.source is not None  # without a register, `existing_register` has raised
        return next(pairs(first, second, days, library, audit.source, window))
