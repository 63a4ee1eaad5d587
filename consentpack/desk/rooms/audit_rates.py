"""Figures: what stands out first, then each technique; any figure opens to what is behind it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, cast

from flask import Blueprint, Response, abort, make_response, request

from consentpack import pipeline
from consentpack.desk.page import place, view
from consentpack.errors import RegisterError

if TYPE_CHECKING:
    from consentpack.register import RowPart

audit_rates = Blueprint("audit_rates", __name__)
_PARTS = {
    "seen": "Seen, and counted",
    "counted": "All that count",
    "left-out": "Not counted, and why",
    "all": "All of them",
}


def day_asked() -> date:
    """As of which day, by the address; today without one."""
    try:
        return date.fromisoformat(request.args.get("on", "") or date.today().isoformat())
    except ValueError:
        abort(400)


@audit_rates.get("/audit/rates")
def rates() -> str:
    today = day_asked()
    return view(
        "audit/rates.html",
        title="Figures",
        figures=pipeline.figures_on(place(), today),
        today=today,
        clinic=place().clinic,
    )


@audit_rates.get("/audit/rates/sheet")
def whole() -> Response:
    """The rate sheet with all its pictures, as the page that a command writes: it can do nothing."""
    page, policy = pipeline.figures_page(place(), day_asked())
    answer = make_response(page)
    answer.headers["Content-Security-Policy"] = policy
    return answer


@audit_rates.get("/audit/rates/<technique>")
def technique(technique: str) -> str:
    today = day_asked()
    figures = pipeline.figures_on(place(), today)
    found = next((each for each in figures.techniques if each.id == technique), None)
    if found is None:
        abort(404)
    return view("audit/technique.html", title=found.title, technique=found, today=today)


@audit_rates.get("/audit/rates/<technique>/<outcome>")
def figure(technique: str, outcome: str) -> str:
    part, today = request.args.get("rows", "seen"), day_asked()
    page = request.args.get("page", 1, type=int)
    if part not in _PARTS or not 1 <= page <= 1_000_000:
        abort(404)
    try:
        opened = pipeline.open_figure(
            place(), technique, outcome, today, part=cast("RowPart", part), page=page
        )
    except RegisterError as error:
        if error.problems[0].where == "figure":
            abort(404)
        raise
    return view(
        "audit/figure.html",
        title=f"{opened.told.outcome}, after: {opened.told.technique}",
        opened=opened,
        part=part,
        parts=_PARTS,
        page=page,
        last_page=-(-opened.rows.numbers[cast("RowPart", part)] // pipeline.ROWS_ON_A_PAGE),
        today=today,
        grades={None: "not recorded", 0: "no", 1: "yes"},
        techniques={id: each.title for id, each in place().library.techniques.items()},
    )
