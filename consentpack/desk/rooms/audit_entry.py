"""Entering by hand: what was seen at a visit, and a treatment."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, abort, redirect, request
from werkzeug.wrappers import Response

from consentpack import pipeline
from consentpack.desk.page import place, view
from consentpack.errors import Problem, RegisterError

audit_entry = Blueprint("audit_entry", __name__)
_REFUSED, _CHANGED = 422, 409
_BLANK_NAME = Problem("Who is doing this", "is blank; choose or type a name.")
_WORDS = {"no": "no: looked for", "yes": "yes", "moderate": "yes, moderate", "severe": "yes, severe"}
Page = str | Response | tuple[str, int]


@audit_entry.get("/audit/case")
def case() -> Page:
    typed, session = request.args.get("case", "").strip(), request.args.get("session", type=int)
    if typed and session:
        return _visit(typed, session)
    found = pipeline.cases_found(place(), typed) if typed else []
    sessions = pipeline.case_sessions(place(), found[0]) if len(found) == 1 else ()
    if len(sessions) == 1:
        return redirect(_at(sessions[0].case, sessions[0].session), 303)
    return view("audit/find.html", title="Enter outcomes", typed=typed, found=found, sessions=sessions)


def _at(case: str, session: int, **more: str) -> str:
    return f"/audit/case?{urlencode({'case': case, 'session': session, **more})}"


def _visit(
    case: str, session: int, problems: tuple[Problem, ...] = (), *, typed: Mapping[str, Any] | None = None,
    status: int = _REFUSED,
) -> Page:  # fmt: skip
    where = place()
    visit = pipeline.visit_of(where, case, session)
    if visit is None:
        abort(404)
    page = view(
        "audit/visit.html",
        title=f"{visit.treatment.case}, session {session}: what was seen",
        visit=visit,
        groups=pipeline.GROUPS,
        words=_WORDS,
        grades={None: "not recorded", 0: "no", 1: "yes"},
        techniques={id: each.title for id, each in where.library.techniques.items()},
        people=where.clinic.people,
        typed=typed or {},
        today=date.today(),
        problems=problems,
        saved=request.args.get("saved"),
    )
    return (page, status) if problems else page


@audit_entry.post("/audit/case")
def enter() -> Page:
    form = request.form
    case, session = form.get("case", ""), form.get("session", 0, type=int)
    visit = pipeline.visit_of(place(), case, session)
    if visit is None:
        abort(404)
    if form.get("mark") != visit.mark:
        what = "something was entered or imported since this page was opened; what it is stands below."
        changed = Problem(f"{case}, session {session}", what, "Nothing was changed. Look, and save again.")
        return _visit(case, session, (changed,), typed=form, status=_CHANGED)
    problems = [_BLANK_NAME] if not form.get("by", "").strip() else []
    seen_on = _typed_day("Seen on", "seen_on", problems)
    again = _typed_day("Treated again on", "again", problems)
    seen = _seen(visit, problems)
    if seen_on is None and not any(each.where == "Seen on" for each in problems):
        problems.append(Problem("Seen on", "is blank; it is the day somebody looked."))
    if problems or seen_on is None:
        return _visit(case, session, tuple(problems), typed=form)
    try:
        pipeline.record_visit(
            place(), visit, seen, seen_on=seen_on, now=datetime.now(), by=form["by"].strip(),
            diary="diary" in form, retreated_on=again, rest_not_seen="rest" in form,
        )  # fmt: skip
    except RegisterError as error:
        return _visit(case, session, error.problems, typed=form)
    return redirect(_at(visit.treatment.case, session, saved="1"), 303)


def _typed_day(label: str, name: str, problems: list[Problem]) -> date | None:
    text = request.form.get(name, "").strip()
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        problems.append(Problem(label, f"'{text}' is no day; write it as 2026-11-25."))
        return None


def _seen(visit: Any, problems: list[Problem]) -> dict[str, pipeline.Seen]:
    found = {}
    for each in visit.asked:
        word = request.form.get(f"seen:{each.id}", "")
        day = _typed_day(f"First noticed on ({each.title})", f"noticed:{each.id}", problems)
        if word:
            found[each.id] = pipeline.Seen(word, day)
        elif day:
            what = "a day was typed, and not what was seen."
            problems.append(Problem(each.title, what, "Choose yes or a grade, or leave the day out."))
    return found


@audit_entry.get("/audit/add")
def add() -> Page:
    return _add()


def _add(problems: tuple[Problem, ...] = ()) -> Page:
    where, form = place(), request.form
    library, medicine = where.library, where.library.field
    page = view(
        "audit/add.html",
        title="Enter a treatment",
        kinds=[
            (kind.meaning, [each for each in library.techniques.values() if each.kind == kind.id])
            for kind in medicine.kinds.values()
        ],
        strata=medicine.strata.values(),
        places=sorted({word for region in library.regions.values() for word in region.words}),
        people=where.clinic.people,
        typed=form,
        done=form.getlist("technique"),
        today=date.today(),
        problems=problems,
    )
    return (page, _REFUSED) if problems else page


@audit_entry.post("/audit/add")
def added() -> Page:
    form, problems = request.form, list[Problem]()
    by, case = form.get("by", "").strip(), form.get("case", "")
    if not by:
        problems.append(_BLANK_NAME)
    day = _typed_day("Day", "day", problems)
    if day is None and not problems[bool(not by) :]:
        problems.append(Problem("Day", "is blank; it is the day of the treatment."))
    if not form.getlist("technique"):
        problems.append(Problem("What was done", "nothing was chosen."))
    if problems or day is None:
        return _add(tuple(problems))
    session = form.get("session", 0, type=int)
    strata = {id: form[f"stratum:{id}"] for id in place().library.field.strata if form.get(f"stratum:{id}")}
    try:
        pipeline.add(
            place(), case=case, session=session, day=day, techniques=form.getlist("technique"),
            site=form.get("site", ""), strata=strata, now=datetime.now(), by=by,
        )  # fmt: skip
    except RegisterError as error:
        return _add(error.problems)
    return redirect(_at(" ".join(case.split()), session, saved="added"), 303)
