"""A spreadsheet that was dropped: what its columns hold, how its words are read, and keeping it.

It has an address of its own, so that a page loaded again and a second window lose nothing.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from flask import Blueprint, Response, abort, redirect, request, send_file
from werkzeug.wrappers import Response as AnyResponse

from consentpack import pipeline
from consentpack.desk.page import place, view
from consentpack.desk.rooms.audit_words import answers_for
from consentpack.errors import Problem, RegisterError

audit_sheet = Blueprint("audit_sheet", __name__)
_AT = "/audit/sheets/<id>"
_REFUSED, _CHANGED = 422, 409
_ROWS = re.compile(r"(\d{1,7})(?:\s*-\s*(\d{1,7}))?")
Page = str | AnyResponse | tuple[str, int]


def _found(id: str) -> pipeline.Dropped:
    dropped = pipeline.dropped_sheet(place().folder, id)
    return dropped if dropped is not None else abort(404)


@audit_sheet.get(_AT)
def sheet(id: str) -> Page:
    return _page(_found(id))


def _page(
    dropped: pipeline.Dropped,
    problems: tuple[Problem, ...] = (),
    *,
    typed: pipeline.Choices | None = None,
    status: int = 200,
) -> Page:
    if dropped.kept is not None:
        return view("audit/kept.html", title=f"{dropped.name}: imported", dropped=dropped, kept=dropped.kept)
    where, today = place(), datetime.now().date()
    look = pipeline.look_at(where, dropped, today)
    page = view(
        "audit/sheet.html",
        title=f"{dropped.name}: before anything is kept",
        dropped=dropped,
        look=look,
        chosen=typed or dropped.choices,
        told=pipeline.imported_words(look.result) if look.result else None,
        meanings=_meanings(where),
        answers=answers_for(where, look.questions, typed or dropped.choices),
        order=(typed or dropped.choices).dates or where.clinic.date_order or "",
        people=where.clinic.people,
        by=request.form.get("by", ""),
        problems=problems,
        again=request.args.get("again", ""),
    )
    return (page, status) if status != 200 else page


def _meanings(where: pipeline.Workplace) -> list[tuple[str, dict[str, str]]]:
    """What a column may hold, in groups of a list to choose from."""
    columns = {id: f"{id.replace('_', ' ')}: {what}" for id, what in pipeline.column_meanings(where).items()}
    return [
        ("The treatment", columns),
        ("Seen or not seen", pipeline.outcome_meanings(where)),
        ("The day on which it was first noticed", pipeline.noticed_meanings(where)),
    ]


@audit_sheet.post(_AT)
def say(id: str) -> Page:
    """What was chosen is kept; the import itself only where nothing was chosen since it was looked at."""
    dropped, by = _found(id), request.form.get("by", "").strip()
    if dropped.kept is not None:
        return redirect(f"/audit/sheets/{id}", 303)
    typed = _typed(dropped)
    if isinstance(typed, Problem):
        return _page(dropped, (typed,), status=_REFUSED)
    if request.form.get("choices") != dropped.choices.mark and typed != dropped.choices:
        return _page(dropped, _differing(dropped.choices, typed), typed=typed, status=_CHANGED)
    keeping = request.form.get("do") == "keep"
    if typed != _as_shown(dropped):
        with pipeline.held(dropped) as now_held:
            pipeline.say_of(now_held, typed)
        return redirect(f"/audit/sheets/{id}" + ("?again=chosen" if keeping else ""), 303)
    if not keeping:
        return redirect(f"/audit/sheets/{id}", 303)
    if not by:
        blank = Problem("Who is doing this", "is blank; choose or type a name.")
        return _page(dropped, (blank,), status=_REFUSED)
    return _keep(dropped, by)


def _keep(dropped: pipeline.Dropped, by: str) -> Page:
    try:
        done = pipeline.keep_dropped(
            place(),
            dropped,
            mark=request.form.get("mark", ""),
            now=datetime.now(),
            by=by,
            overwrite_by_hand="overwrite" in request.form,
        )
    except RegisterError as error:
        return _page(dropped, error.problems, status=_REFUSED)
    return redirect(f"/audit/sheets/{dropped.id}" + ("" if done else "?again=changed"), 303)


def _as_shown(dropped: pipeline.Dropped) -> pipeline.Choices:
    """The choices that the form stands at when nobody touches it."""
    look = pipeline.look_at(place(), dropped, datetime.now().date())
    chosen = dropped.choices
    columns = {header: look.columns.get(header, "") for header in look.headers}
    dates = chosen.dates or place().clinic.date_order or ""
    return pipeline.Choices(
        chosen.sheet, chosen.header_rows, _without_blank(columns), dict(chosen.words), dates
    )


def _without_blank(values: dict[str, str]) -> dict[str, str]:
    return {name: value for name, value in values.items() if value}


def _typed(dropped: pipeline.Dropped) -> pipeline.Choices | Problem:
    """What the form says."""
    form, before = request.form, dropped.choices
    rows = _header_rows(form.get("header_rows", "").strip())
    if rows is None:
        return Problem("Row of the headers", "should be a number, such as 3, or two together: 2-3.")
    sheet = form.get("sheet", before.sheet).strip()
    headers, meant = form.getlist("header"), form.getlist("means")
    columns = _without_blank(dict(zip(headers, meant, strict=False)))
    if (sheet, rows) != (before.sheet, before.header_rows):
        columns = {}  # other headers
    return pipeline.Choices(sheet, rows, columns, _words(form), form.get("dates", ""))


def _header_rows(text: str) -> tuple[int, ...] | None:
    found = _ROWS.fullmatch(text) if text else None
    if text and (found is None or (found[2] and int(found[2]) != int(found[1]) + 1)):
        return None
    return tuple(int(number) for number in found.groups() if number) if found else ()


def _words(form: Any) -> dict[str, str]:
    """What words were said to mean: several ids with ';' between."""
    said: dict[str, str] = {}
    for number, word in enumerate(form.getlist("word")):
        meant = dict.fromkeys(each for each in form.getlist(f"word{number}") if each)
        if meant:
            said[word] = "; ".join(meant)
    return said


def _differing(held: pipeline.Choices, typed: pipeline.Choices) -> tuple[Problem, ...]:
    """What another window has chosen in the meantime."""
    fix = "Nothing was changed. Below stand your own choices: choose again, then look."
    found = [
        Problem(name, f"was set to '{there or 'as it is found'}' in another window.", fix)
        for kind in ("columns", "words")
        for name in {**getattr(held, kind), **getattr(typed, kind)}
        if (there := getattr(held, kind).get(name, "")) != getattr(typed, kind).get(name, "")
    ]
    return tuple(found) or (Problem("This sheet", "was changed in another window.", fix),)


@audit_sheet.post(f"{_AT}/away")
def away(id: str) -> Page:
    pipeline.take_away(_found(id))
    return redirect("/audit", 303)


@audit_sheet.get(f"{_AT}/set-aside.csv")
def aside(id: str) -> Response:
    """The rows set aside, to be mended: a file that no program takes for formulas."""
    path = _found(id).aside
    if path is None:
        abort(404)
    return send_file(path, mimetype="text/csv", as_attachment=True, download_name=path.name)
