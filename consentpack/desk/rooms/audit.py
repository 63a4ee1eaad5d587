"""The audit's first page: dropping a spreadsheet, what waits, what was imported, and taking it back."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from flask import Blueprint, abort, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.desk.page import here, place, view
from consentpack.errors import ConsentpackError, Problem, RegisterError

if TYPE_CHECKING:
    from consentpack.register import Entry

audit = Blueprint("audit", __name__)
_SHOWN = 10
_REFUSED = 422
Page = str | Response | tuple[str, int]


@audit.get("/audit")
def first() -> Page:
    return _first()


def _first(problems: tuple[Problem, ...] = ()) -> Page:
    where = place()
    entries, without = _history(where)
    page = view(
        "audit/first.html", title="Audit", problems=problems, entries=entries[:_SHOWN], without=without,
        more=max(0, len(entries) - _SHOWN), sheets=pipeline.dropped_sheets(where.folder, now=datetime.now()),
    )  # fmt: skip
    return (page, _REFUSED) if problems else page


def _history(where: pipeline.Workplace) -> tuple[list[Entry], tuple[Problem, ...]]:
    """All that was done, the newest first; and why there is nothing, which is no fault of a new clinic."""
    try:
        return pipeline.past_imports(where)[::-1], ()
    except RegisterError as error:
        return [], error.problems


@audit.post("/audit/drop")
def drop() -> Page:
    sent = request.files.get("sheet")
    if sent is None or not sent.filename:
        return _first((Problem("the spreadsheet", "no file was chosen.", "Choose one, then read it."),))
    where, now = place(), datetime.now()
    try:
        dropped = pipeline.drop_sheet(where.folder, sent.filename, sent.stream, now=now)
    except ConsentpackError as error:
        return _first(error.problems)
    look = pipeline.look_at(where, dropped, now.date())
    if look.proposal is None and dropped.choices == pipeline.Choices():
        pipeline.take_away(dropped)  # what cannot be read at all does not wait for anything
        return _first(look.problems)
    return redirect(f"/audit/sheets/{dropped.id}", 303)


@audit.get("/audit/history")
def history() -> Page:
    entries, without = _history(place())
    return view("audit/history.html", title="What was imported and entered", entries=entries, without=without)


@audit.get("/audit/history/<int:number>")
def entry(number: int) -> Page:
    return _entry(number)


def _entry(number: int, problems: tuple[Problem, ...] = ()) -> Page:
    entries, _ = _history(place())
    found = next((each for each in entries if each.id == number), None)
    if found is None:
        abort(404)
    page = view(
        "audit/entry.html",
        title=f"Number {number}: {_name(found)}",
        entry=found,
        people=place().clinic.people,
        chosen=request.form.get("by", ""),
        problems=problems,
    )
    return (page, _REFUSED) if problems else page


def _name(entry: Entry) -> str:
    return entry.file_name or _BY.get(entry.kind, "entered by hand")


_BY = {"diary": "from a diary", "talk-back": "from a talk", "follow-up": "about follow-up"}


@audit.post("/audit/history/<int:number>/undo")
def undo(number: int) -> Page:
    by = request.form.get("by", "").strip()
    if not by:
        return _entry(number, (Problem("Who is doing this", "is blank; choose or type a name."),))
    try:
        pipeline.take_back(place(), now=datetime.now(), by=by, number=number)
    except RegisterError as error:
        return _entry(number, error.problems)
    here().say("An import or entry of the audit was taken back.")
    return redirect(f"/audit/history/{number}", 303)
