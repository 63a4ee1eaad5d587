"""Figures of the whole clinic: the rate sheet, watching over time, techniques side by side."""

from __future__ import annotations

from collections.abc import Callable, Mapping
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
from consentpack.rates.beside import pairs
from consentpack.rates.counting import window_of
from consentpack.rates.survey import Funnel, Line, Watched, funnels, survey, watch
from consentpack.register import Comparison, Grouping, Window, series, tally_all


def rate_sheet(place: Workplace, today: date) -> tuple[list[Line], list[Funnel]]:
    """Every technique's figures, and its operators and sites side by side."""
    window = window_of(today, place.clinic.window_months)
    register = existing_register(place)
    days = {id: outcome.watch_days for id, outcome in place.library.outcomes.items()}
    with register.connect() as connection:
        found = tally_all(connection, window, days)

    def groups(grouping: Grouping, comparison: Comparison, outcome: str) -> Mapping[str, tuple[int, int]]:
        return found.by[grouping].of(comparison, outcome)

    return survey(place.library, found.each), list(funnels(place.library, groups))


def write_rate_sheet(place: Workplace, out: Path, today: date) -> None:
    """The rate sheet as a file: .csv, .json or .html by its ending."""
    lines, found = rate_sheet(place, today)
    write_file(out, sheets.as_file(out.suffix, lines, found, titles(place), **_caption(place, today)))


def rate_table(place: Workplace, today: date) -> str:
    """The rate sheet as text for a terminal."""
    return sheets.as_table(rate_sheet(place, today)[0], titles(place))


def titles(place: Workplace) -> Callable[[str], str]:
    """Gives the name a person reads for a technique or outcome id."""
    known = {**place.library.outcomes, **place.library.techniques}
    return lambda id: known[id].title


def _caption(place: Workplace, today: date) -> dict[str, str]:
    note = f"As of {today}, the {place.clinic.window_months} months before. Per treatment session."
    if place.clinic.invented:
        note += " Invented clinic, invented people, invented figures."
    return {"heading": f"Rate sheet: {place.clinic.name}", "note": note}


def watch_over_time(
    place: Workplace, today: date
) -> tuple[WatchRules, list[Watched], list[tuple[str, str]], list[Funnel]]:
    """Signals over time, outcomes without a baseline, and the funnels.

    Raises ClinicError when clinic.toml does not say by which rules.
    """
    rules = place.clinic.watch
    if rules is None:
        what = "the table [watch] is missing: from when on, and for what change, is not known."
        fix = "Add [watch] with baseline_until, odds_ratio and run_length."
        raise ClinicError(Problem(SETTINGS_FILE, what, fix))
    register = existing_register(place)

    def in_order(comparison: Comparison, window: Window, outcome: str, days: int) -> list[tuple[date, bool]]:
        with register.connect() as connection:
            return list(series(connection, comparison, window, outcome, days))

    with audit_as_it_stands(place) as audit:
        assert audit.source is not None  # without a register, `existing_register` has raised
        watched, without = watch(place.library, audit.source, in_order, rules, today)
    _, found = rate_sheet(place, today)
    return rules, watched, without, found


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
